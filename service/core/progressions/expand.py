"""Parts become visible weeks."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from service.core.errors import DomainError
from service.core.progressions.chosen import Spot, chosen, not_chosen
from service.core.progressions.members import lighter as lighter_slot
from service.core.progressions.numbers import (
    LIMITS,
    Member,
    OutOfLimits,
    checked,
    load_unit,
    nearest,
    thousandths,
    value_of,
    with_values,
)
from service.core.progressions.records import (
    MOST_WEEKS,
    Count,
    EachWeek,
    FromTo,
    LighterWeeks,
    Part,
    counted,
)
from service.core.slots import SessionPlan, Slot, WeekPlan
from service.core.templates import MOST_FAULTS, Fault
from service.core.units import Number

Mover = EachWeek | FromTo


class Unwritable(DomainError):
    """Parts that cannot be written out; `faults` has everything that is wrong, at most 50."""

    code = "unwritable"

    def __init__(self, faults: Sequence[Fault]) -> None:
        super().__init__(f"{faults[0].pointer} {faults[0].text}")
        self.faults = tuple(faults[:MOST_FAULTS])


def expand(parts: Sequence[Part], at: str = "#/parts") -> tuple[WeekPlan, ...]:
    """The weeks that parts stand for, one after the other.

    Slots, sessions and lists that are alike from week to week are the same objects.

    Parameters
    ----------
    parts : sequence of Part
        As bodies are read: each number of the weeks and progressions lies in its own limits.
    at : str
        Pointer to the list of parts, for faults.

    Raises
    ------
    Unwritable
        With all faults at once: a progression that is about no slot, two that move the same number, a week that the
        part does not have, a number that leaves in some week what a slot may hold, more than 104 weeks.
    """
    total = sum(part.weeks for part in parts)
    if total > MOST_WEEKS:
        raise Unwritable([Fault(at, "wrong_count", f"must have 1 to {MOST_WEEKS} weeks together, not {total}")])
    faults: list[Fault] = []
    weeks: list[WeekPlan] = []
    for number, part in enumerate(parts):
        writing = Writing(part, f"{at}/{number}/progressions")
        weeks += writing.weeks()
        faults += writing.faults
    if faults:
        raise Unwritable(faults)
    return tuple(weeks)


class Writing:
    """One part, being written out."""

    def __init__(self, part: Part, at: str) -> None:
        self.part, self.at = replace(part, week=_once(part.week)), at
        self.faults: list[Fault] = []
        self._moves: dict[Spot, list[tuple[int, Mover]]] = {}
        self._lighter: dict[tuple[int, Spot], tuple[int, LighterWeeks]] = {}
        self._names: dict[int, str] = {}
        self._told: set[int] = set()
        self._acting: set[int] = set()
        self._made: dict[object, Slot] = {}
        self._sessions: dict[tuple[int, ...], SessionPlan] = {}
        lighter = [one for one in part.progressions if isinstance(one, LighterWeeks)]
        self.lighter = frozenset(week for one in lighter for week in one.numbers(part.weeks))
        pausing = frozenset(week for one in lighter if one.pause for week in one.numbers(part.weeks))
        self.count = counted(part.weeks, self.lighter, pausing)
        for index, progression in enumerate(part.progressions):
            here = f"{at}/{index}"
            self.faults += not_chosen(part.week, progression, here)
            spots = chosen(part.week, progression)
            if isinstance(progression, LighterWeeks):
                self.faults += self._lighten(index, progression, spots)
            else:
                self.faults += self._move(index, progression, spots)

    def weeks(self) -> list[WeekPlan]:
        """Its weeks."""
        weeks = [self._week(number) for number in range(1, self.part.weeks + 1)]
        for index in sorted({index for index, _ in self._lighter.values()} - self._acting - self._told):
            rule = "makes nothing lighter: what it is about has no more sets, percentage, load or effort that it lowers"
            self.faults.append(Fault(f"{self.at}/{index}", "nothing_lighter", rule))
        return weeks

    def _move(self, index: int, mover: Mover, spots: Sequence[Spot]) -> Iterator[Fault]:
        """Note which slots it moves; what is wrong with it."""
        here = f"{self.at}/{index}"
        limit = LIMITS[mover.change]
        if self.count.last == 0:
            yield Fault(here, "no_week", "changes nothing: the part has no second week that is not lighter")
        if isinstance(mover, FromTo) and mover.to is not None and not _can_be(mover.change, mover.to):
            steps = " as a whole number" if limit.step == 1 else f" in steps of {limit.step:g}"
            rule = f"must be from {limit.low:g} to {limit.high:g}{steps}: it is {limit.words}"
            self._told.add(index)  # the weeks would say the same
            yield Fault(f"{here}/to", "out_of_range", rule)
        for spot in spots:
            there = self._moves.setdefault(spot, [])
            before = next((number for number, one in there if one.change == mover.change), None)
            if before is not None:
                s, i = spot
                rule = f"moves {limit.words} of session {s + 1}, slot {i + 1}, as {self.at}/{before} does already"
                yield Fault(here, "repeated", rule)
                return
            there.append((index, mover))
        yield from self._units(here, mover, spots)

    def _units(self, here: str, mover: Mover, spots: Sequence[Spot]) -> Iterator[Fault]:
        """Loads move in the unit in which they are written."""
        sent = mover.by_load if isinstance(mover, EachWeek) else mover.to_load
        if sent is None:
            return
        name = "by_load" if isinstance(mover, EachWeek) else "to_load"
        for s, i in spots:
            unit = load_unit(self.part.week.sessions[s].slots[i])
            if unit != sent.unit:
                rule = f"must be {unit}, as the load of session {s + 1}, slot {i + 1} is written"
                yield Fault(f"{here}/{name}/unit", "wrong_unit", rule)
                return

    def _lighten(self, index: int, lighter: LighterWeeks, spots: Sequence[Spot]) -> Iterator[Fault]:
        """Note which slots it makes lighter in which weeks; what is wrong with it."""
        here, weeks = f"{self.at}/{index}", self.part.weeks
        numbers = lighter.numbers(weeks)
        if not numbers:
            yield Fault(f"{here}/every", "out_of_range", f"must be at most {weeks}: the part has no more weeks")
        for place, number in enumerate(numbers):
            if number > weeks:
                yield Fault(f"{here}/weeks/{place}", "out_of_range", f"must be from 1 to {weeks}, the part's weeks")
                continue
            if lighter.name is not None:
                self._names[number] = lighter.name
            for spot in spots:
                before = self._lighter.setdefault((number, spot), (index, lighter))
                if before[0] != index:
                    rule = f"makes week {number} lighter, as {self.at}/{before[0]} does already"
                    yield Fault(here, "repeated", rule)
                    return

    def _week(self, number: int) -> WeekPlan:
        pattern = self.part.week
        sessions = tuple(self._session(number, s, session) for s, session in enumerate(pattern.sessions))
        return WeekPlan(
            sessions=sessions,
            name=self._names.get(number, pattern.name if pattern.name is not None else self.part.name),
            note=pattern.note,
            lighter=pattern.lighter or number in self.lighter,
        )

    def _session(self, week: int, s: int, session: SessionPlan) -> SessionPlan:
        slots = tuple([self._slot(week, (s, i), slot) for i, slot in enumerate(session.slots)])
        key = (s, *map(id, slots))
        made = self._sessions.get(key)
        if made is None:
            made = self._sessions[key] = replace(session, slots=slots)
        return made

    def _slot(self, week: int, spot: Spot, slot: Slot) -> Slot:
        moves = self._moves.get(spot, ())
        lighter = self._lighter.get((week, spot))
        if not moves and lighter is None:
            return slot
        step = self.count.steps[week - 1]
        values = tuple([(index, self._value(slot, mover, step)) for index, mover in moves])
        key = (id(slot), values, -1 if lighter is None else lighter[0])
        made = self._made.get(key)
        if made is None:
            made = self._made[key] = self._changed(week, spot, slot, values, lighter)
        return made

    def _value(self, slot: Slot, mover: Mover, step: int) -> Number:
        return value_at(mover, value_of(slot, mover.change) or 0, step, self.count)

    def _changed(
        self,
        week: int,
        spot: Spot,
        slot: Slot,
        values: Sequence[tuple[int, Number]],
        lighter: tuple[int, LighterWeeks] | None,
    ) -> Slot:
        """The slot as it stands in a week; a number that leaves its limits is told once for each progression."""
        named = [mover.change for _, mover in self._moves.get(spot, ())]
        moved = with_values(slot, zip(named, [value for _, value in values], strict=True))
        shown = moved if lighter is None else lightened_by(moved, lighter[1])
        if lighter is not None and shown != moved:
            self._acting.add(lighter[0])
        try:
            return checked(shown, named if lighter is None else None)
        except OutOfLimits as error:
            self._tell(week, spot, moved, lighter, error)
            return slot

    def _tell(
        self, week: int, spot: Spot, moved: Slot, lighter: tuple[int, LighterWeeks] | None, error: OutOfLimits
    ) -> None:
        """Blame what moved the number, or where that alone would do, what made the week lighter."""
        movers = [index for index, one in self._moves.get(spot, ()) if one.change == error.member]
        blamed = movers[0] if movers else None
        if lighter is not None:
            try:
                checked(moved)
                blamed = lighter[0]
            except OutOfLimits:
                blamed = lighter[0] if blamed is None else blamed
        if blamed is None or blamed in self._told:
            return
        self._told.add(blamed)
        s, i = spot
        text = f"does not work in week {week}, session {s + 1}, slot {i + 1}: {error}"
        self.faults.append(Fault(f"{self.at}/{blamed}", error.code, text))


def _once(week: WeekPlan) -> WeekPlan:
    """The week with one object for slots that are alike: what becomes of them is worked out once."""
    known: dict[Slot, Slot] = {}
    sessions = [
        replace(session, slots=tuple([known.setdefault(slot, slot) for slot in session.slots]))
        for session in week.sessions
    ]
    return replace(week, sessions=tuple(sessions))


def value_at(mover: Mover, start: Number, step: int, count: Count) -> Number:
    """A moved number after so many steps, rounded to what its member may hold.

    >>> count = counted(3, frozenset(), frozenset())
    >>> [value_at(FromTo(change="sets", to=5), 4, step, count) for step in count.steps]  # 4, 4.5, 5
    [4, 5, 5]
    """
    first = thousandths(start)
    if isinstance(mover, EachWeek):
        return nearest(mover.change, first + thousandths(mover.amount) * step)
    last = max(count.last, 1)
    return nearest(mover.change, first * last + (thousandths(mover.end) - first) * min(step, last), last)


def lightened_by(slot: Slot, lighter: LighterWeeks) -> Slot:
    """A slot in one of these weeks, without a look at the limits."""
    return lighter_slot(
        slot,
        sets_percent=lighter.sets_percent,
        percent_points=lighter.percent_points,
        rpe_points=lighter.rpe_points,
    )


def _can_be(member: Member, value: Number) -> bool:
    limit = LIMITS[member]
    low = 0 if member == "sets" else limit.low  # before an open last set there may be none; others are told by week
    return low <= value <= limit.high and thousandths(value) % thousandths(limit.step) == 0
