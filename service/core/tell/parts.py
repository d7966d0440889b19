"""The sets of a session taken apart: how far each was from what was expected, and what that was put down to."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from math import floor, log

from service.core.model.heard import Heard, Lesson
from service.core.model.levels import LEAST_FACTOR
from service.core.model.shape import h
from service.core.model.state import Person, Row
from service.core.words import number

Told = tuple[Heard, Lesson]

_NAMES = ("", "single", "double", "triple", "four", "five", "six", "seven", "eight", "nine", "ten")


@dataclass(slots=True)
class Session:
    """One session of a lift, as the model took it in. Treated as if it were frozen."""

    on: date
    before: Row | None
    """The lift opened on the day, before its first set; None or empty: nothing was known of it."""
    before_person: Person
    after: Row
    """After its last set."""
    person: Person
    sets: tuple[Told, ...]
    """In the order in which they were taken in."""


@dataclass(frozen=True, slots=True)
class Parts:
    """What the sets of a session were put down to, as logs of the load; above 0: stronger, fresher, ..."""

    strength: float = 0.0
    curve: float = 0.0
    """How many repetitions go at a percentage, and the bend of the curve."""
    day: float = 0.0
    reports: float = 0.0
    """How the athlete reports."""

    @property
    def whole(self) -> float:
        """All parts, whatever their sign."""
        return sum(map(abs, (self.strength, self.curve, self.day, self.reports)))

    def share(self, part: float) -> float:
        """A part of the whole, with its sign; 0 where nothing moved. [1]"""
        return part / self.whole if self.whole > 1e-9 else 0.0


def parts_of(before: Row | None, used: Iterable[Told]) -> Parts:
    """Share out what sets said among the causes: what each number's change adds to what is expected of that set.

    With the level written as `factor x t`, a set is expected at `factor (t - u) + day - fatigue - bend h - g' bias`; so
    a change of the level at a fixed factor is strength, and a change of the factor counts by `t - u`. [log]
    """
    if before is None or before.reference is None:
        return Parts()
    strength = curve = day = reports = 0.0
    t = before.m[0] / max(LEAST_FACTOR, before.m[1])
    for heard, lesson in used:
        level, factor, today, _, bend, bias, _ = lesson.moved
        u = log(heard.kg) - before.reference
        n = heard.reps + (0.0 if lesson.left is None else lesson.left)
        strength += level - t * factor
        curve += (t - u) * factor - h(max(n, 0.5)) * bend
        day += today
        reports -= lesson.worth * bias
    return Parts(strength, curve, day, reports)


def by_repetitions(used: Iterable[Told]) -> dict[int, list[Told]]:
    """Sets by the repetitions that were tried."""
    found: dict[int, list[Told]] = {}
    for heard, lesson in used:
        found.setdefault(heard.reps + (1 if heard.failed else 0), []).append((heard, lesson))
    return found


def name_of(reps: int, sets: Sequence[Told]) -> str:
    """Sets by their repetitions, as lifters call them: `single`, `fives`, `set of 12`."""
    many = len(sets) > 1
    if reps < len(_NAMES):
        name = _NAMES[reps]
        if reps <= 3:
            return name + ("s" if many else "")
        return (f"{name}es" if name == "six" else f"{name}s") if many else f"set of {name}"
    return f"sets of {reps}" if many else f"set of {reps}"


def surprise(sets: Sequence[Told]) -> float:
    """Mean of how much lighter (above 0) sets were than expected, in points. [RPE]"""
    off = [lesson.surprise / lesson.worth for _, lesson in sets if lesson.worth > 0]
    return sum(off) / len(off) if off else 0.0


def points(off: float) -> str:
    """How far off an effort was, in words, to the nearest half. [RPE].

    >>> points(0.6), points(1.1), points(2.6)
    ('half a point', 'a point', '2.5 points')
    """
    half = max(floor(2 * off + 0.5) / 2, 0.5)
    return {0.5: "half a point", 1.0: "a point", 1.5: "one and a half points", 2.0: "two points"}.get(
        half, f"{number(half)} points"
    )
