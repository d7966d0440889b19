"""Kvernholt, an invented quarry town: its club, six people who train there, and what they train. Data only.

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
                "count": 2,
                "lifts": ["snatch", "power-snatch", "snatch-pull", "clean-and-jerk", "clean-pull"],
            },
            {"name": "bar", "load": kg(20), "count": 3},
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


def percent(reps: int, part: float, basis: str, **more: Any) -> Json:
    """A target: repetitions at a percentage of a max."""
    return {"kind": "percent", "reps": reps, "percent": part, "basis": basis, **more}


def legs_of_everything() -> Json:
    """Back-off sets until an effort, bands of percentages, slow and paused work, a superset, a carry."""
    until = {"less_percent": 3, "until_rpe": 7.5, "fewest": 1, "most": 4}
    return {
        "name": "Legs",
        "slots": [
            {
                "lift": "squat",
                "priority": 1,
                "rest_seconds": 240,
                "scheme": {"kind": "top_set", "back_off": until, "build_up": {"rpes": [5, 6.5]}},
                "target": effort(3, 7.5),
            },
            even("tempo-squat", 2, percent(4, 70, "rolling", percent_to=75), tempo="5-0-3-0", priority=4),
            even("pause-squat", 2, percent(2, 75, "day", of="squat", valid_days=1), tempo="3-2-x-0", priority=3),
            even("split-squat", 2, {"kind": "free", "reps": 10}, accessory=True, with_next=True),
            even("plank", 2, {"kind": "time", "seconds": 40}, accessory=True),
            even("farmers-carry", 2, {"kind": "distance", "metres": 30, "load": kg(25)}, accessory=True, optional=True),
        ],
    }


def press_of_everything() -> Json:
    """Same-load sets, a cluster, loads that grow from session to session by either rule, an open set alone."""
    complete = {"when": "all_sets_complete", "step": kg(2.5), "after_failures": 2, "less_percent": 10}
    return {
        "name": "Press",
        "slots": [
            {
                "lift": "bench-press",
                "priority": 1,
                "scheme": {"kind": "top_set", "same_load": {"sets": 2}},
                "target": {"kind": "effort", "reps": 4, "rir": 3},
            },
            {
                "lift": "long-pause-bench-press",
                "scheme": {"kind": "cluster", "sets": 2, "parts": 3, "rest_seconds": 20},
                "target": percent(2, 80, "training"),
            },
            {
                "lift": "overhead-press",
                "scheme": {"kind": "sets_at_target", "sets": 3, "add_load": complete},
                "target": {"kind": "load", "reps": 6, "reps_to": 8, "load": kg(32.5)},
            },
            {
                "lift": "barbell-curl",
                "accessory": True,
                "scheme": {
                    "kind": "sets_at_target",
                    "sets": 2,
                    "add_load": {"when": "two_more_twice", "step": kg(2.5)},
                },
                "target": {"kind": "load", "reps": 8, "load": kg(22.5)},
            },
            {
                "lift": "dumbbell-row",
                "accessory": True,
                "optional": True,
                "scheme": {"kind": "open_last_set", "sets_before": 0, "most_reps": 20, "stop_rpe": 8},
                "target": {"kind": "free", "reps": 12},
            },
        ],
    }


def platform_of_everything() -> Json:
    """A complex, pulls above the max, ascending sets."""
    row = [{"lift": "clean", "reps": 1}, {"lift": "jerk", "reps": 2}]
    return {
        "name": "Platform",
        "slots": [
            even("clean-and-jerk", 3, percent(1, 72.5, "tested"), complex=row, priority=1),
            even("clean-pull", 2, percent(3, 105, "tested", of="clean-and-jerk")),
            {
                "lift": "front-squat",
                "scheme": {"kind": "ascending_sets", "percents": [80, 90, 100]},
                "target": effort(3, 7),
            },
        ],
    }


def pull_of_everything() -> Json:
    """An open last set, a load that grows until the lift is known, and a new lift: a ladder finds a load for it."""
    return {
        "name": "Pull",
        "slots": [
            {
                "lift": "deadlift",
                "priority": 1,
                "scheme": {"kind": "open_last_set", "sets_before": 2, "most_reps": 6, "stop_rpe": 8.5},
                "target": percent(4, 75, "training"),
            },
            {
                "lift": "barbell-row",
                "scheme": {
                    "kind": "sets_at_target",
                    "sets": 2,
                    "add_load": {"when": "all_sets_complete", "step": kg(2.5), "until_sure": True},
                },
                "target": {"kind": "effort", "reps": 8, "rir": 3},
            },
            {
                "lift": "hip-thrust",
                "scheme": {"kind": "ladder"},
                "target": {"kind": "effort", "reps": 5, "rir": 3},
            },
        ],
    }


def everything() -> Json:
    """Six weeks in three parts, with each scheme, target and progression that a template can have."""
    lighter = {"kind": "lighter_weeks", "sets_percent": 60, "percent_points": -10, "rpe_points": -1}
    week = [legs_of_everything(), press_of_everything(), platform_of_everything(), pull_of_everything()]
    test = even("squat", 1, effort(1, 9.5)) | {"scheme": {"kind": "test", "attempts": 4}}
    return {
        "name": "A bit of everything",
        "parts": [
            {
                "name": "Broad",
                "weeks": 3,
                "week": {"sessions": week},
                "progressions": [
                    {"kind": "each_week", "change": "percent", "by": 2.5},
                    {"kind": "from_to", "change": "rpe", "to": 8, "lift": "squat"},
                    {"kind": "each_week", "change": "seconds", "by": 10, "lift": "plank"},
                    {**lighter, "every": 3},
                ],
            },
            {
                "name": "Narrow",
                "weeks": 2,
                "week": {"sessions": [week[0], week[2]]},
                "progressions": [
                    {"kind": "from_to", "change": "sets", "to": 4, "lift": "clean-and-jerk"},
                    {"kind": "each_week", "change": "reps", "by": -1, "lift": "squat"},
                ],
            },
            {"name": "Test", "weeks": 1, "week": {"sessions": [{"name": "Test", "kind": "test", "slots": [test]}]}},
        ],
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
    "everything": everything(),
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
    weeks_behind: int = WEEKS_BEHIND
    """So long the log is on the first day."""
    chosen: dict[str, Json] = field(default_factory=dict)
    """What is taken where the lifter chooses the load."""
    finds: dict[str, float] = field(default_factory=dict)
    """Where a ladder finds its load: with so much, three repetitions are left. [kg]"""
    all_of_it: tuple[str, ...] = ()
    """Lifts in which a range of repetitions is done to its top."""
    short: tuple[int, int, int] | None = None
    """A session for which the time is short: week, number, minutes."""
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
    Person(
        ref="vigdis",
        name="Vigdis Holtan",
        place="sawing-shed",
        template="everything",
        days=(0, 1, 3, 5),
        about={"unit": "kg", "experience": "intermediate", "sex": "female"},
        born_years_ago=29,
        weight=kg(70.4),
        maxes=(
            ("squat", kg(110)),
            ("bench-press", kg(65)),
            ("deadlift", kg(135)),
            ("overhead-press", kg(42.5)),
            ("clean-and-jerk", kg(72)),
        ),
        felt=(0, 0.5, -0.5, 0),
        weeks_behind=1,
        chosen={"split-squat": kg(12.5), "dumbbell-row": kg(17.5), "barbell-row": kg(40)},
        finds={"hip-thrust": 35},
        all_of_it=("overhead-press",),
        short=(2, 2, 40),
        happened={
            (1, 2, "bench-press", "same_load"): {
                "method": "drop_set",
                "note": "Took plates off twice and went on without a rest",
            },
        },
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

GROUP, GROUP_NAME, MEMBERS = "shed-evening", "Evening in the shed", ("ragna", "noor", "vigdis")
"""Who trains together."""
NOTE = "I was away on Thursday; Noor kept an eye on the platform. The second 15 kg plate has a crack: leave it."
"""For whoever takes over, from yesterday."""
AWAY, ABSENCE = "imre", ("holiday", 12, 28)
"""Who will be away: why, and from and until how many days ahead."""
