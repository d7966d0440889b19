"""The built-in lifts: what every gym knows from its first day.

Ratios are those of the maxes of a variation and of the lift it is based on. No publication gives them for these
bars and rules: they are what coaches commonly start from (common practice, no source), and a max of the variation's
own always goes before. Pulls carry the trade's convention: they are planned in percent of the whole lift.
"""

from __future__ import annotations

from service.core.records import CurveGroup, Lift, LoadKind

PRACTICE = "common practice, no source"
PULLS = "pulls are planned in percent of the whole lift: common practice, no source"

# id, name, based on, ratio
_SQUATS = (
    ("high-bar-squat", "High-bar squat", "squat", 0.95),
    ("pause-squat", "Pause squat", "squat", 0.90),
    ("tempo-squat", "Tempo squat", "squat", 0.85),
    ("box-squat", "Box squat", "squat", 0.92),
    ("pin-squat", "Pin squat", "squat", 0.85),
    ("safety-bar-squat", "Safety-bar squat", "squat", 0.90),
    ("front-squat", "Front squat", "squat", 0.80),
    ("pause-front-squat", "Pause front squat", "front-squat", 0.92),
)
_PRESSES = (
    ("touch-and-go-bench-press", "Touch-and-go bench press", "bench-press", 1.03),
    ("long-pause-bench-press", "Long-pause bench press", "bench-press", 0.95),
    ("close-grip-bench-press", "Close-grip bench press", "bench-press", 0.92),
    ("incline-bench-press", "Incline bench press", "bench-press", 0.80),
    ("floor-press", "Floor press", "bench-press", 0.92),
    ("pin-press", "Pin press", "bench-press", 0.95),
    ("push-press", "Push press", "overhead-press", 1.25),
    ("seated-overhead-press", "Seated overhead press", "overhead-press", 0.93),
)
_PULLS_FROM_FLOOR = (
    ("sumo-deadlift", "Sumo deadlift", "deadlift", 1.00),
    ("pause-deadlift", "Pause deadlift", "deadlift", 0.88),
    ("deficit-deadlift", "Deficit deadlift", "deadlift", 0.92),
    ("block-pull", "Block pull", "deadlift", 1.05),
    ("romanian-deadlift", "Romanian deadlift", "deadlift", 0.75),
    ("stiff-leg-deadlift", "Stiff-leg deadlift", "deadlift", 0.75),
    ("snatch-grip-deadlift", "Snatch-grip deadlift", "deadlift", 0.85),
    ("trap-bar-deadlift", "Trap-bar deadlift", "deadlift", 1.05),
)
_TECHNIQUE = (
    ("snatch", "Snatch", None, None),
    ("power-snatch", "Power snatch", "snatch", 0.85),
    ("hang-snatch", "Hang snatch", "snatch", 0.92),
    ("snatch-pull", "Snatch pull", "snatch", 1.00),
    ("overhead-squat", "Overhead squat", None, None),
    ("clean-and-jerk", "Clean and jerk", None, None),
    ("clean", "Clean", "clean-and-jerk", 1.03),
    ("power-clean", "Power clean", "clean", 0.85),
    ("hang-clean", "Hang clean", "clean", 0.92),
    ("clean-pull", "Clean pull", "clean", 1.00),
    ("jerk", "Jerk", "clean-and-jerk", 1.03),
    ("power-jerk", "Power jerk", "jerk", 0.92),
)

# id, name, load kind, curve group
_OTHERS: tuple[tuple[str, str, LoadKind, CurveGroup], ...] = (
    ("barbell-row", "Barbell row", "total", "other"),
    ("barbell-curl", "Barbell curl", "total", "other"),
    ("lying-triceps-extension", "Lying triceps extension", "total", "other"),
    ("good-morning", "Good morning", "total", "deadlift_like"),
    ("hip-thrust", "Hip thrust", "total", "deadlift_like"),
    ("barbell-lunge", "Barbell lunge", "total", "squat_like"),
    ("shrug", "Shrug", "total", "other"),
    ("dumbbell-bench-press", "Dumbbell bench press", "per_hand", "other"),
    ("incline-dumbbell-press", "Incline dumbbell press", "per_hand", "other"),
    ("dumbbell-overhead-press", "Dumbbell overhead press", "per_hand", "other"),
    ("dumbbell-row", "Dumbbell row", "per_hand", "other"),
    ("dumbbell-curl", "Dumbbell curl", "per_hand", "other"),
    ("lateral-raise", "Lateral raise", "per_hand", "other"),
    ("dumbbell-romanian-deadlift", "Dumbbell Romanian deadlift", "per_hand", "deadlift_like"),
    ("split-squat", "Split squat", "per_hand", "squat_like"),
    ("step-up", "Step-up", "per_hand", "squat_like"),
    ("farmers-carry", "Farmer's carry", "per_hand", "other"),
    ("pull-up", "Pull-up", "bodyweight", "other"),
    ("chin-up", "Chin-up", "bodyweight", "other"),
    ("dip", "Dip", "bodyweight", "other"),
    ("push-up", "Push-up", "bodyweight", "other"),
    ("inverted-row", "Inverted row", "bodyweight", "other"),
    ("back-extension", "Back extension", "bodyweight", "deadlift_like"),
    ("leg-press", "Leg press", "stack", "squat_like"),
    ("leg-extension", "Leg extension", "stack", "squat_like"),
    ("leg-curl", "Leg curl", "stack", "other"),
    ("calf-raise", "Calf raise", "stack", "other"),
    ("lat-pulldown", "Lat pulldown", "stack", "other"),
    ("cable-row", "Cable row", "stack", "other"),
    ("chest-press", "Chest press", "stack", "other"),
    ("triceps-pushdown", "Triceps pushdown", "stack", "other"),
    ("face-pull", "Face pull", "stack", "other"),
    ("plank", "Plank", "none", "other"),
    ("side-plank", "Side plank", "none", "other"),
    ("hanging-leg-raise", "Hanging leg raise", "none", "other"),
    ("box-jump", "Box jump", "none", "other"),
)


def _made() -> dict[str, Lift]:
    made = [
        Lift(id="squat", name="Squat", load_kind="total", curve_group="squat_like"),
        Lift(id="bench-press", name="Bench press", load_kind="total"),
        Lift(id="overhead-press", name="Overhead press", load_kind="total"),
        Lift(id="deadlift", name="Deadlift", load_kind="total", curve_group="deadlift_like"),
    ]
    groups: tuple[tuple[CurveGroup, tuple[tuple[str, str, str, float], ...]], ...] = (
        ("squat_like", _SQUATS),
        ("other", _PRESSES),
        ("deadlift_like", _PULLS_FROM_FLOOR),
    )
    for group, rows in groups:
        made += [
            Lift(
                id=word,
                name=name,
                load_kind="total",
                curve_group=group,
                based_on=parent,
                ratio=ratio,
                ratio_source=PRACTICE,
            )
            for word, name, parent, ratio in rows
        ]
    made += [
        Lift(
            id=word,
            name=name,
            load_kind="total",
            technique=True,
            based_on=parent,
            ratio=ratio,
            ratio_source=None if ratio is None else PULLS if word.endswith("-pull") else PRACTICE,
        )
        for word, name, parent, ratio in _TECHNIQUE
    ]
    made += [Lift(id=word, name=name, load_kind=kind, curve_group=group) for word, name, kind, group in _OTHERS]
    return {lift.id: lift for lift in made}


BUILT_IN: dict[str, Lift] = _made()
"""All built-in lifts by their word. A lift stands after the one that it is based on."""


def with_parents(word: str) -> dict[str, Lift] | None:
    """A built-in lift with all lifts that it is based on, by word; None for a word that is not built in.

    >>> list(with_parents("power-clean"))
    ['power-clean', 'clean', 'clean-and-jerk']
    """
    lift = BUILT_IN.get(word)
    if lift is None:
        return None
    found = {word: lift}
    while lift.based_on is not None:
        lift = BUILT_IN[lift.based_on]
        found[lift.id] = lift
    return found
