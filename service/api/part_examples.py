"""Examples of templates that are written by parts, for the API document; a test sends each of them."""

from __future__ import annotations

from typing import Any

from service.api.plan_examples import WEEKS

SQUAT: dict[str, Any] = {
    "lift": "squat",
    "scheme": {"kind": "sets_at_target", "sets": 4},
    "target": {"kind": "percent", "reps": 5, "percent": 70, "basis": "tested"},
}
BENCH: dict[str, Any] = {
    "lift": "bench-press",
    "scheme": {"kind": "top_set", "back_off": {"sets": 2, "less_percent": 8}},
    "target": {"kind": "effort", "reps": 5, "rpe": 7},
}
BUILD: dict[str, Any] = {
    "name": "Build",
    "weeks": 6,
    "week": {"sessions": [{"name": "Legs", "slots": [SQUAT]}, {"name": "Push", "slots": [BENCH]}]},
    "progressions": [
        {"kind": "each_week", "change": "percent", "by": 2.5, "lift": "squat"},
        {"kind": "from_to", "change": "sets", "to": 6, "sessions": ["Legs"]},
        {"kind": "each_week", "change": "rpe", "by": 0.5, "lift": "bench-press"},
        {"kind": "lighter_weeks", "every": 3, "sets_percent": 60, "percent_points": -10, "rpe_points": -1},
    ],
}
HEAVY: dict[str, Any] = {
    "name": "Heavy",
    "weeks": 3,
    "week": {
        "sessions": [
            {
                "name": "Legs",
                "slots": [SQUAT | {"target": {"kind": "percent", "reps": 2, "percent": 85, "basis": "tested"}}],
            },
            {"name": "Push", "slots": [BENCH | {"target": {"kind": "effort", "reps": 2, "rpe": 8}}]},
        ]
    },
    "progressions": [
        {"kind": "each_week", "change": "percent", "by": 2.5},
        {"kind": "lighter_weeks", "weeks": [3], "sets_percent": 50, "rpe_points": -1.5, "name": "Lighter"},
    ],
}
PART_TEMPLATES: dict[str, Any] = {
    "nine weeks in two parts": {
        "summary": "Nine weeks in two parts, each written once with what changes from week to week",
        "value": {"name": "Nine weeks to spring", "parts": [BUILD, HEAVY]},
    }
}
PART_VERSIONS: dict[str, Any] = {
    "written by parts": {
        "summary": "The next version, written by a part",
        "value": {"parts": [HEAVY], "note": "Shorter, and heavier at once"},
    }
}
DRAFTS: dict[str, Any] = {
    "parts": {"summary": "Parts, to see their weeks", "value": {"parts": [BUILD, HEAVY]}},
    "weeks": {"summary": "Weeks, to see the parts that they could be written by", "value": {"weeks": WEEKS * 3}},
}
