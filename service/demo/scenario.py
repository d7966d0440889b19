"""Kvernholt, an invented quarry town: its club, five people who train there, and what they train. Data only.

Nobody here exists. The figures are chosen to show what the service does: kilograms and pounds, small plates and mixed
ones, technique lifts, a schoolchild, and somebody of whom nothing is known yet.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

Json = dict[str, Any]

GYM = "Kvernholt Barbell Club (demo)"
TIME_ZONE = "Europe/Oslo"
WEEKS_BEHIND = 4
"""So long the log is on the first day."""


def kg(value: float) -> Json:
    """A load in kilograms."""
    return {"value": value, "unit": "kg"}


def lb(value: float) -> Json:
    """A load in pounds."""
    return {"value": value, "unit": "lb"}


def plates(unit: str, **counts: int) -> list[Json]:
    """Plates by their masses, with how many there are: `plates("kg", _25=6, _1_25=2)`."""
    return [
        {"load": {"value": float(name[1:].replace("_", ".")), "unit": unit}, "count": count}
        for name, count in counts.items()
    ]


PLACES: dict[str, Json] = {
    "sawing-shed": {
        "name": "Old sawing shed",
        "bars": [
            {
                "name": "light bar",
                "load": kg(15),
                "lifts": ["snatch", "power-snatch", "snatch-pull", "clean-and-jerk", "clean-pull"],
            },
            {"name": "bar", "load": kg(20)},
        ],
        "plates": plates("kg", _25=8, _20=4, _15=4, _10=4, _5=4, _2_5=4, _1_25=4),
        "dumbbells": [kg(value) for value in (10, 12.5, 15, 17.5, 20, 22.5, 25, 30)],
    },
    "cellar": {
        "name": "Cellar under the bakery",
        "bars": [{"name": "bar", "load": kg(20)}],
        "plates": plates("kg", _15=2, _10=2, _5=2, _2_5=2, _1_25=2),
        "dumbbells": [kg(value) for value in (4, 6, 8, 10, 12)],
    },
    "boathouse": {
        "name": "Boathouse",
        "bars": [{"name": "bar", "load": lb(45)}],
        "plates": [*plates("lb", _45=4, _25=2, _10=4, _5=2, _2_5=2), *plates("kg", _20=2, _10=2)],
        "dumbbells": [lb(value) for value in (20, 30, 40, 50, 60, 70)],
    },
    "school": {
        "name": "School gym",
        "bars": [{"name": "short bar", "load": kg(10)}, {"name": "bar", "load": kg(20)}],
        "plates": plates("kg", _10=2, _5=4, _2_5=4, _1_25=4),
        "stacks": [{"name": "leg press", "lifts": ["leg-press"], "steps": [kg(step) for step in range(20, 101, 10)]}],
    },
}


def effort(reps: int, rpe: float) -> Json:
    """A target: repetitions at an effort."""
    return {"kind": "effort", "reps": reps, "rpe": rpe}


def spare(lift: str, sets: int = 2) -> Json:
    """Supporting work: 8 to 12 repetitions that leave two."""
    target = {"kind": "effort", "reps": 8, "reps_to": 12, "rir": 2}
    return {"lift": lift, "accessory": True, "scheme": {"kind": "sets_at_target", "sets": sets}, "target": target}


def even(lift: str, sets: int, target: Json, **more: Any) -> Json:
    """Sets at a target."""
    return {"lift": lift, "scheme": {"kind": "sets_at_target", "sets": sets}, "target": target, **more}


def top(lift: str, target: Json, back_off: int = 0, **more: Any) -> Json:
    """A top set, with back-off sets 8 % lighter."""
    following = {"back_off": {"sets": back_off, "less_percent": 8}} if back_off else {}
    return {"lift": lift, "scheme": {"kind": "top_set", **following}, "target": target, **more}


def strength_week(reps: int, rpe: float) -> Json:
    """Three days: squat, press, pull."""
    pause = {"kind": "percent", "reps": 3, "percent": 70, "percent_to": 75, "basis": "day", "of": "squat"}
    bench = {"kind": "percent", "reps": 5, "percent": 75, "basis": "tested"}
    hold = {"kind": "time", "seconds": 40}
    return {
        "sessions": [
            {
                "name": "Squat",
                "slots": [
                    top("squat", effort(reps, rpe), 2, rest_seconds=240),
                    even("pause-squat", 2, pause, tempo="3-2-x-0"),
                    spare("dumbbell-row"),
                ],
            },
            {
                "name": "Press",
                "slots": [
                    {
                        "lift": "bench-press",
                        "scheme": {"kind": "open_last_set", "sets_before": 2, "most_reps": 8, "stop_rpe": 9},
                        "target": bench,
                    },
                    even("overhead-press", 2, effort(6, rpe - 0.5)),
                ],
            },
            {
                "name": "Pull",
                "slots": [top("deadlift", effort(reps, rpe), 1), even("plank", 2, hold, accessory=True, optional=True)],
            },
        ]
    }


def first_week(rpe: float) -> Json:
    """Two days for somebody who began this year."""
    return {
        "sessions": [
            {
                "name": "First day",
                "slots": [even("squat", 3, effort(5, rpe)), even("overhead-press", 3, effort(5, rpe))],
            },
            {"name": "Second day", "slots": [even("deadlift", 2, effort(5, rpe)), spare("dumbbell-row")]},
        ]
    }


def platform_week(percent: int) -> Json:
    """Two days of technique lifts, by percentages of the tested max."""

    def part(share: int, lift: str) -> Json:
        return {"kind": "percent", "reps": 2, "percent": share, "basis": "tested", "of": lift}

    return {
        "sessions": [
            {
                "name": "Snatch",
                "slots": [even("snatch", 3, part(percent, "snatch")), top("front-squat", effort(2, 7.5), 1)],
            },
            {
                "name": "Clean and jerk",
                "slots": [
                    even("clean-and-jerk", 3, part(percent, "clean-and-jerk")),
                    even("snatch-pull", 2, part(percent + 10, "snatch")),
                ],
            },
        ]
    }


def school_week() -> Json:
    """Two days at a low effort, with nothing tested."""
    return {
        "sessions": [
            {"name": "Legs", "slots": [even("squat", 2, effort(8, 6)), even("leg-press", 2, effort(10, 6))]},
            {"name": "Press", "slots": [even("bench-press", 2, effort(8, 6))]},
        ]
    }


TEMPLATES: dict[str, Json] = {
    "seven-weeks": {
        "name": "Seven weeks to the stone fair",
        "weeks": [
            strength_week(reps, rpe) for reps, rpe in ((4, 7), (3, 7.5), (3, 8), (2, 7), (3, 8), (2, 8.5), (1, 8))
        ],
    },
    "first-steps": {"name": "First steps", "weeks": [first_week(rpe) for rpe in (6.5, 7, 7, 7.5, 7.5, 7.5, 8)]},
    "platform": {"name": "On the platform", "weeks": [platform_week(part) for part in (72, 76, 80, 72, 78, 82, 85)]},
    "school-club": {"name": "School club", "weeks": [school_week()] * 7},
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Person:
    """Somebody who trains, and how the weeks behind went."""

    ref: str
    name: str
    place: str
    template: str
    days: tuple[int, ...]
    """Training days, counted from the weekday on which the demo is first started."""
    about: Json
    """Further members of the athlete."""
    born_years_ago: int | None = None
    weight: Json | None = None
    maxes: tuple[tuple[str, Json], ...] = ()
    """Tested before the block: lift and load."""
    felt: tuple[float | None, ...]
    """How far the effort of each set lies off what was expected, in turn; None: no effort was told. [RPE]"""
    chosen: dict[str, Json] = field(default_factory=dict)
    """What is taken where the lifter chooses the load."""
    happened: dict[tuple[int, int, str, str], Json] = field(default_factory=dict)
    """What was logged otherwise, by week, session, lift and role; `unit`: the load's number in a wrong one."""


PEOPLE = (
    Person(
        ref="ragna",
        name="Ragna Steinvik",
        place="sawing-shed",
        template="seven-weeks",
        days=(0, 2, 4),
        about={"unit": "kg", "experience": "advanced", "sex": "female"},
        born_years_ago=34,
        weight=kg(76.8),
        maxes=(("squat", kg(145)), ("bench-press", kg(82.5)), ("deadlift", kg(172.5)), ("overhead-press", kg(52.5))),
        felt=(0, 0.5, 0, -0.5, 0, None, 0.5, 0, -0.5, 0.5, 0),
        chosen={"dumbbell-row": kg(22.5)},
        happened={
            (3, 3, "deadlift", "top_set"): {"made": False, "note": "The last one stopped at the knee"},
            (2, 1, "pause-squat", "target_set"): {"pain": "some", "note": "Left hip, in the pause"},
        },
    ),
    Person(
        ref="imre",
        name="Imre Solbakk",
        place="cellar",
        template="first-steps",
        days=(1, 4),
        about={"unit": "kg", "experience": "beginner"},
        weight=kg(69),
        maxes=(("squat", kg(70)), ("overhead-press", kg(35)), ("deadlift", kg(90))),
        felt=(0, -0.5, 0, 0, -0.5, 0.5, None),
        chosen={"dumbbell-row": kg(12)},
    ),
    Person(
        ref="dell",
        name="Dell Hathersage",
        place="boathouse",
        template="seven-weeks",
        days=(0, 2, 5),
        about={"unit": "lb", "experience": "intermediate", "sex": "male"},
        born_years_ago=41,
        weight=lb(205),
        maxes=(("squat", lb(365)), ("bench-press", lb(255)), ("deadlift", lb(430)), ("overhead-press", lb(150))),
        felt=(0.5, 0, 0, 0, -0.5, 0.5, 0, None, -0.5),
        chosen={"dumbbell-row": lb(60)},
        happened={
            (4, 3, "deadlift", "top_set"): {"unit": "kg", "note": "On a borrowed phone"},
        },
    ),
    Person(
        ref="noor",
        name="Noor Vandeli",
        place="sawing-shed",
        template="platform",
        days=(0, 3),
        about={"unit": "kg", "experience": "advanced", "sex": "female"},
        born_years_ago=26,
        weight=kg(63.2),
        maxes=(("snatch", kg(74)), ("clean-and-jerk", kg(92)), ("front-squat", kg(105))),
        felt=(0, 0, 0.5, -0.5),
    ),
    Person(
        ref="pip",
        name="Pip Aaltonen",
        place="school",
        template="school-club",
        days=(1, 4),
        about={"unit": "kg", "experience": "beginner", "settings": {"effort_limit": 8}},
        born_years_ago=14,
        felt=(0, None, 0.5),
        chosen={"squat": kg(25), "bench-press": kg(20), "leg-press": kg(50)},
    ),
)
LEAD, IN_POUNDS = PEOPLE[0], PEOPLE[2]

OVERRIDE: Json = {
    "kind": "cap",
    "lift": "deadlift",
    "load": lb(365),
    "reason": "Torn callus: nothing heavier until it has closed",
}
"""The coach's decision about `IN_POUNDS`, from some days ago to a week ahead."""
