"""Parts in words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from service.core import words
from service.core.progressions.chosen import chosen, grows
from service.core.progressions.members import growth_off, with_lighter_load
from service.core.progressions.numbers import Member, value_of
from service.core.progressions.records import EachWeek, FromTo, LighterWeeks, Part, Progression, Where
from service.core.records import Lift
from service.core.slots import PercentTarget, Slot
from service.core.units import Number, say

_NAMES: dict[Member, str] = {
    "percent": "the percentage",
    "rpe": "RPE",
    "rir": "the repetitions left",
    "reps": "the repetitions",
    "sets": "the sets",
    "back_off_sets": "the back-off sets",
    "same_load_sets": "the same-load sets",
    "load": "the load",
    "less_percent": "the percentage taken off",
    "seconds": "the time",
    "metres": "the distance",
    "rest_seconds": "the rest",
}
_UNITS: dict[Member, tuple[str, str]] = {
    "percent": ("point", "points"),
    "less_percent": ("point", "points"),
    "seconds": ("second", "seconds"),
    "rest_seconds": ("second", "seconds"),
    "metres": ("metre", "metres"),
}
_MANY = frozenset({"rir", "reps", "sets", "back_off_sets", "same_load_sets"})


def part_text(part: Part, lifts: Mapping[str, Lift] = words.NO_LIFTS) -> str:
    """What a part is, in one sentence, with lifts by their names.

    >>> from service.core.slots import PercentTarget, SessionPlan, SetsAtTarget, Slot, WeekPlan
    >>> slot = Slot(
    ...     lift="squat", scheme=SetsAtTarget(sets=5), target=PercentTarget(reps=3, percent=70, basis="tested")
    ... )
    >>> week = WeekPlan(sessions=(SessionPlan(name="Squat", slots=(slot,)),))
    >>> more = EachWeek(change="percent", by=2.5)
    >>> lighter = LighterWeeks(weeks=(3,), sets_percent=60, percent_points=-10)
    >>> part_text(Part(name="Build", weeks=3, week=week, progressions=(more, lighter)))
    'Build: 3 weeks; the percentage rises by 2.5 points a week; week 3 is lighter: 60 % of the sets, 10 points less'
    """
    name = part.name if part.name is not None else part.week.name
    start = "" if name is None else f"{name}: "
    said = [words.plural(part.weeks, "week"), *(_progression(one, part, lifts) for one in part.progressions)]
    return start + "; ".join(said)


def _progression(one: Progression, part: Part, lifts: Mapping[str, Lift]) -> str:
    if isinstance(one, LighterWeeks):
        return _lighter(one, part, lifts)
    verb = _goes(one, part) if isinstance(one, FromTo) else _rises(one)
    return f"{_about(one, lifts)}{_NAMES[one.change]} {verb}"


def _goes(one: FromTo, part: Part) -> str:
    """From where, if that is the same in all slots, and to where."""
    slots = [part.week.sessions[s].slots[i] for s, i in chosen(part.week, one)]
    starts = {value for slot in slots if (value := value_of(slot, one.change)) is not None}
    start = f" from {words.number(starts.pop(), 3)}" if len(starts) == 1 else ""
    end = words.number(one.end, 3) if one.to_load is None else say(one.to_load)
    unit = " %" if one.change in ("percent", "less_percent") else _unit(one.change, one.end)
    return f"{'go' if one.change in _MANY else 'goes'}{start} to {end}{unit}"


def _rises(one: EachWeek) -> str:
    several = one.change in _MANY
    amount = abs(one.amount)
    shown = words.number(amount, 3)
    if one.by_load is not None:
        shown = f"{shown} {'steps' if one.by_load.unit == 'step' else one.by_load.unit}"
    way = "rise" if one.amount > 0 else "fall"
    return f"{way if several else way + 's'} by {shown}{_unit(one.change, amount)} a week"


def _unit(change: Member, amount: float) -> str:
    if change not in _UNITS:
        return ""
    one, many = _UNITS[change]
    return f" {one if amount == 1 else many}"


def _lighter(one: LighterWeeks, part: Part, lifts: Mapping[str, Lift]) -> str:
    numbers = one.numbers(part.weeks)
    listed = words.listing(tuple(str(number) for number in numbers)) if numbers else ""
    which = f"week {listed} is" if len(numbers) == 1 else f"weeks {listed} are"
    if one.name is not None:
        which += f" called {one.name} and"
    how = []
    if one.sets_percent is not None:
        how.append(f"{words.number(one.sets_percent, 3)} % of the sets")
    if one.percent_points is not None:
        how += _lower(one.percent_points, [part.week.sessions[s].slots[i] for s, i in chosen(part.week, one)])
    if one.rpe_points is not None:
        how.append(f"RPE {words.number(-one.rpe_points)} lower")
    how += _growth(one, [part.week.sessions[s].slots[i] for s, i in chosen(part.week, one)])
    still = ", and the count of weeks stands still" if one.pause else ""
    return f"{_about(one, lifts)}{which} lighter: {', '.join(how)}{still}"


def _lower(points: Number, slots: Sequence[Slot]) -> list[str]:
    """What points come to: of percentages so many, of fixed loads as many percent."""
    fixed = any(with_lighter_load(slot, points) != slot for slot in slots)
    shown = words.number(-points, 3)
    told = [f"{shown} {'point' if points == -1 else 'points'} less"]
    if (fixed or any(grows(slot) for slot in slots)) and not any(
        isinstance(one.target, PercentTarget) for one in slots
    ):
        told = []
    return [*told, f"fixed loads {shown} % lower"] if fixed else told


def _growth(one: LighterWeeks, slots: Sequence[Slot]) -> list[str]:
    """What becomes of loads that grow by rule: nothing is added, or they are lower."""
    off = sorted({growth_off(slot, one.percent_points or 0, one.rpe_points or 0) for slot in slots if grows(slot)})
    if not off:
        return []
    if not off[-1]:
        return ["nothing added to loads that grow"]
    shown = words.number(off[0], 3) if len(off) == 1 else f"{words.number(off[0], 3)} to {words.number(off[-1], 3)}"
    return [f"loads that grow {shown} % under the last"]


def _about(where: Where, lifts: Mapping[str, Lift]) -> str:
    """Which slots, at the beginning of what is said about them."""
    places = []
    if where.slots:
        numbers = words.listing(tuple(str(number) for number in where.slots))
        places.append(f"slot {numbers}" if len(where.slots) == 1 else f"slots {numbers}")
    if where.lift is not None:
        places.append(f"the {words.lift_words(where.lift, lifts)}")
    sessions = (*where.sessions, *(f"number {number}" for number in where.session_numbers))
    if sessions:
        places.append(f"session{'s' if len(sessions) > 1 else ''} {words.listing(sessions)}")
    return f"in {' of '.join(places)} " if places else ""
