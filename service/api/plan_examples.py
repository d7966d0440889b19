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
