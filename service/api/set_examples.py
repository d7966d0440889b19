"""Examples of sets, as the API document shows them."""

from __future__ import annotations

from typing import Any

_SESSION = "019a5c19-02d4-7e0b-8a55-0c9be7712d10"
_SLOT = "019a5c19-0c11-7d20-9b1e-2f3a4b5c6d7e"
_KG = {"value": 127.5, "unit": "kg"}

LOG: dict[str, Any] = {
    "top_set": {
        "summary": "A top set that was harder than asked",
        "value": {
            "slot": _SLOT,
            "role": "top_set",
            "load": _KG,
            "reps": 3,
            "rpe": 8.5,
            "at": "2026-11-25T18:21:40+01:00",
            "shown": {"load": _KG, "reps": 3},
        },
    },
    "words": {
        "summary": "A build-up set, in words",
        "value": {"slot": _SLOT, "load": {"value": 117.5, "unit": "kg"}, "reps": 3, "felt": "heavier"},
    },
    "missed": {
        "summary": "The third repetition was missed",
        "value": {"slot": _SLOT, "role": "top_set", "load": _KG, "reps": 2, "made": False},
    },
    "painful": {
        "summary": "It hurt",
        "value": {"slot": _SLOT, "load": _KG, "reps": 2, "ended_by": "pain", "pain": "some"},
    },
    "carry": {
        "summary": "A carry of 30 metres, 24 kg in each hand",
        "value": {"slot": _SLOT, "load": {"value": 24, "unit": "kg"}, "metres": 30, "rpe": 7},
    },
}
FREE: dict[str, Any] = {
    "pull_ups": {
        "summary": "Pull-ups with 10 lb added",
        "value": {"lift": "pull-up", "load": {"value": 10, "unit": "lb"}, "reps": 6, "rir": 2},
    },
    "timed": {"summary": "A plank of 40 seconds", "value": {"lift": "plank", "seconds": 40}},
}
PUT: dict[str, Any] = {
    "in_a_session": {
        "summary": "A set of a session",
        "value": {
            "session": _SESSION,
            "slot": _SLOT,
            "role": "back_off",
            "load": {"value": 117.5, "unit": "kg"},
            "reps": 3,
            "rpe": 6,
            "at": "2026-11-25T18:26:10+01:00",
        },
    },
    "outside": {
        "summary": "A set outside of a session",
        "value": {
            "athlete": "ref:mira-7",
            "lift": "deadlift",
            "load": {"value": 315, "unit": "lb"},
            "reps": 5,
            "rir": 3,
            "at": "2026-11-24T17:02:00+01:00",
        },
    },
}
PATCH: dict[str, Any] = {
    "slip": {"summary": "A slip of the finger", "value": {"load": {"value": 125, "unit": "kg"}}},
    "effort": {"summary": "The effort, entered later", "value": {"rpe": 8}},
    "leave_out": {"summary": "Asked about it: to be left out", "value": {"doubt": "excluded"}},
}
SYNC: dict[str, Any] = {
    "queue": {
        "summary": "Two sets that waited for reception",
        "value": {
            "sets": [
                {"id": "019a5c1e-7b3a-7c41-9f20-4f8d2e6a1b77", **PUT["in_a_session"]["value"]},
                {"id": "019a5c1f-0d52-7a1b-b3c4-5d6e7f809182", **PUT["outside"]["value"]},
            ]
        },
    }
}
