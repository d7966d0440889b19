"""Examples of templates, blocks and sessions for the API document; a test sends each of them."""

from __future__ import annotations

from typing import Any

SLOTS: list[dict[str, Any]] = [
    {
        "lift": "squat",
        "scheme": {"kind": "top_set", "back_off": {"sets": 2, "less_percent": 8}},
        "target": {"kind": "effort", "reps": 3, "rpe": 7.5},
        "rest_seconds": 240,
    },
    {
        "lift": "pause-squat",
        "tempo": "3-2-x-0",
        "scheme": {"kind": "sets_at_target", "sets": 3},
        "target": {"kind": "percent", "reps": 3, "percent": 60, "percent_to": 65, "basis": "day", "of": "squat"},
    },
    {
        "lift": "plank",
        "accessory": True,
        "optional": True,
        "scheme": {"kind": "sets_at_target", "sets": 3},
        "target": {"kind": "time", "seconds": 40},
    },
]
WEEKS: list[dict[str, Any]] = [
    {
        "name": "Start light",
        "sessions": [
            {"name": "Legs", "slots": SLOTS},
            {
                "name": "Push",
                "slots": [
                    {
                        "lift": "bench-press",
                        "scheme": {"kind": "open_last_set", "sets_before": 3, "most_reps": 10, "stop_rpe": 9},
                        "target": {"kind": "percent", "reps": 6, "percent": 72.5, "basis": "tested"},
                    }
                ],
            },
        ],
    }
]

TEMPLATES: dict[str, Any] = {
    "a week of two sessions": {
        "summary": "A week of two sessions",
        "value": {"name": "Eight weeks to spring", "weeks": WEEKS},
    }
}
VERSIONS: dict[str, Any] = {
    "one more week": {
        "summary": "A second week like the first",
        "value": {"weeks": [*WEEKS, {**WEEKS[0], "name": "A little more"}]},
    }
}
ARCHIVE: dict[str, Any] = {"archive": {"summary": "Take it out of the lists", "value": {"archived": True}}}
BLOCKS: dict[str, Any] = {
    "one athlete": {
        "summary": "One athlete, on Mondays and Thursdays",
        "value": {
            "template": "ref:spring",
            "athletes": ["ref:mira-7"],
            "start": "2026-11-30",
            "weekdays": ["monday", "thursday"],
        },
    },
    "a group": {
        "summary": "Several athletes; who cannot be found is passed over",
        "value": {
            "template": "ref:spring",
            "version": 1,
            "athletes": ["ref:mira-7", "ref:odd"],
            "start": "2026-11-30",
            "weekdays": ["tuesday", "friday"],
            "name": "Spring, small group",
            "on_fault": "skip",
        },
    },
    "to a date": {
        "summary": "Backwards from a competition, round holidays, the heavy days apart, Saturdays in another place",
        "value": {
            "template": "ref:spring",
            "athletes": ["ref:mira-7"],
            "end": "2027-03-20",
            "weekdays": ["monday", "wednesday", "saturday"],
            "wishes": {
                "never_on": ["sunday"],
                "holidays": [{"from": "2026-12-24", "until": "2026-12-26"}],
                "apart": [{"lifts": ["squat", "deadlift"], "days": 2}, {"sessions": ["Legs"], "days": 1, "must": True}],
                "light_before": [{"date": "2027-03-20", "days": 2}],
                "most_a_week": 3,
            },
            "places": {"saturday": "ref:quarry"},
            "spread": True,
        },
    },
}
RENAME: dict[str, Any] = {"another name": {"summary": "Another name", "value": {"name": "Spring, second try"}}}
NEW_SESSIONS: dict[str, Any] = {
    "free": {"summary": "A day without a plan", "value": {"kind": "free", "date": "2026-11-25"}},
    "a first session": {
        "summary": "A newcomer's first session: it finds a working load for each lift",
        "value": {"kind": "first", "date": "2026-11-25", "lifts": ["squat", "bench-press", "lat-pulldown"]},
    },
    "a test by the protocol": {
        "summary": "A test of two lifts by the published protocol",
        "value": {"kind": "test", "date": "2026-11-28", "lifts": ["squat", "snatch"]},
    },
    "a test": {
        "summary": "A test with a slot of its own",
        "value": {
            "kind": "test",
            "date": "2026-11-28",
            "name": "Test the squat",
            "slots": [
                {
                    "lift": "squat",
                    "scheme": {"kind": "top_set"},
                    "target": {"kind": "effort", "reps": 1, "rpe": 10},
                }
            ],
        },
    },
}
SESSION_CHANGES: dict[str, Any] = {
    "open": {"summary": "Open it: its loads are kept", "value": {"state": "open"}},
    "finish": {
        "summary": "Finish it",
        "value": {"state": "finished", "session_rpe": 7, "minutes": 65, "note": "Slept badly"},
    },
    "skip": {"summary": "Skip it", "value": {"state": "skipped"}},
    "move": {"summary": "Move it within its week", "value": {"date": "2026-11-27"}},
    "shorten": {"summary": "Only 45 minutes today", "value": {"minutes_available": 45}},
}
