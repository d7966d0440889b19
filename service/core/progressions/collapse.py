"""From weeks to the parts that they could be written by."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from service.core.progressions.chosen import Spot, chosen
from service.core.progressions.expand import Mover, Unwritable, expand, value_at
from service.core.progressions.fit import fitted, lighter_weeks, where_is
from service.core.progressions.numbers import load_unit, value_of, with_values
from service.core.progressions.records import (
    MOST_PROGRESSIONS,
    Count,
    LighterWeeks,
    Part,
    Progression,
    Where,
    counted,
)
from service.core.progressions.shape import Key, numbers_of, shape_of
from service.core.slots import Slot, WeekPlan
from service.core.units import Unit


def collapse(weeks: Sequence[WeekPlan]) -> tuple[Part, ...]:
    """Parts that these weeks could have been written by: `expand` gives the same weeks again, whatever they are.

    From the first week on, each part takes as many weeks as one part can; a week that goes with no other is a part of
    its own. What comes out is the plainest form, and written in that form parts come back as they were:

    - neighbouring parts could not be one, nor could the first of them take weeks of the next;
    - the name is the part's, and the week has none; a lighter week with a name of its own has it by `lighter_weeks`;
    - a number that goes up or down by the same amount every week is `each_week`, in whole steps of what it counts;
      what does not is `from_to`, which ends at the number of the last week that is not lighter;
    - slots are named as broadly as they can be: all, a lift, sessions, a lift in sessions, single slots;
    - progressions stand in the order of the first slot that they change, then lighter weeks in the order of theirs;
    - lighter weeks are about all slots; they are told by `every` where that names two or more of them; `sets_percent`
      is the multiple of ten nearest to what was done, else of five, else whole; they `pause` only where they must.
    """
    shapes = _numbered([shape_of(week) for week in weeks])
    numbers = [numbers_of(week)[1] for week in weeks]
    parts: list[Part] = []
    start = 0
    while start < len(weeks):
        end = start + 1
        while end < len(weeks) and shapes[end] == shapes[start]:
            end += 1
        part = _longest(weeks[start:end], numbers[start:end])
        parts.append(part)
        start += part.weeks
    return tuple(parts)


def _numbered(shapes: Sequence[object]) -> list[int]:
    """A number for each different shape: cheaper to compare."""
    known: dict[object, int] = {}
    return [known.setdefault(shape, len(known)) for shape in shapes]


def _longest(weeks: Sequence[WeekPlan], numbers: Sequence[Sequence[int]]) -> Part:
    """The longest part that begins with the first of these weeks, which are of one shape."""
    keys, _ = numbers_of(weeks[0])
    doubt = [0]
    for end in range(len(weeks), 1, -1):
        part = Window(weeks[:end], keys, numbers[:end], doubt).part()
        if part is not None:
            return part
    return Part(name=weeks[0].name, weeks=1, week=replace(weeks[0], name=None))


@dataclass(frozen=True, slots=True)
class Window:
    """Weeks of one shape that may be one part; `numbers` are those of each week, in the order of `keys`."""

    weeks: Sequence[WeekPlan]
    keys: Sequence[Key]
    numbers: Sequence[Sequence[int]]
    doubt: list[int]
    """Which number was at odds last time: it is looked at first, so that most windows are given up at once."""

    def part(self) -> Part | None:
        """The part, or None where one part cannot say it."""
        first = self.weeks[0]
        flags = [week.lighter for week in self.weeks]
        lighter = frozenset() if all(flags) else frozenset(week for week, is_so in enumerate(flags, 1) if is_so)
        if 1 in lighter or any(
            week.name != first.name for number, week in enumerate(self.weeks, 1) if number not in lighter
        ):
            return None
        for pausing in (frozenset(), lighter) if lighter else (lighter,):
            found = self._written(lighter, counted(len(flags), lighter, pausing), pause=bool(pausing))
            if found is not None:
                return found
        return None

    def _written(self, lighter: frozenset[int], count: Count, *, pause: bool) -> Part | None:
        moves = self._moves(lighter, count)
        if moves is None:
            return None
        first = self.weeks[0]
        pattern = replace(first, name=None)
        found: list[Progression] = [
            _about(mover, where)
            for (mover, _), spots in moves.items()
            for where in where_is(pattern, mover.change, frozenset(spots))
        ]
        if lighter:
            eased = self._lighter(lighter, count, moves, pause=pause)
            if eased is None:
                return None
            found += eased
        part = Part(name=first.name, weeks=len(self.weeks), week=pattern, progressions=tuple(found))
        return part if len(found) <= MOST_PROGRESSIONS and _says(part, self.weeks) else None

    def _moves(self, lighter: frozenset[int], count: Count) -> dict[tuple[Mover, Unit | None], list[Spot]] | None:
        """Which numbers move in which way, and in which slots; None where one moves in no way that can be said."""
        usual = [week for week in range(len(self.weeks)) if week + 1 not in lighter]
        steps = [count.steps[week] for week in usual]
        moves: dict[tuple[Mover, Unit | None], list[Spot]] = {}
        order = (self.doubt[0], *range(len(self.keys))) if self.keys else ()
        for turn, place in enumerate(order):
            series = [self.numbers[week][place] for week in usual]
            if series.count(series[0]) == len(series):
                continue
            spot, member = self.keys[place]
            unit = load_unit(self._slot(0, spot)) if member == "load" else None
            mover = fitted(member, steps, series, unit)
            if mover is None:
                self.doubt[0] = place
                return None
            if turn:  # the first is only a look ahead
                moves.setdefault((mover, unit), []).append(spot)
        return moves

    def _lighter(
        self,
        lighter: frozenset[int],
        count: Count,
        moves: dict[tuple[Mover, Unit | None], list[Spot]],
        *,
        pause: bool,
    ) -> list[LighterWeeks] | None:
        """How the lighter weeks differ from what would stand there."""
        pattern = self.weeks[0]
        spots = chosen(pattern, LighterWeeks())
        by_spot: dict[Spot, list[Mover]] = {}
        for (mover, _), moved in moves.items():
            for spot in moved:
                by_spot.setdefault(spot, []).append(mover)
        found: dict[int, LighterWeeks] = {}
        for number in sorted(lighter):
            step = count.steps[number - 1]
            pairs = [
                (_moved(self._slot(0, spot), by_spot.get(spot, ()), step, count), self._slot(number - 1, spot))
                for spot in spots
            ]
            name = self.weeks[number - 1].name
            way = lighter_weeks(pairs, name=None if name == pattern.name else name, pause=pause)
            if way is None or (name is None and pattern.name is not None):
                return None
            found[number] = way
        return _together(found, len(self.weeks))

    def _slot(self, week: int, spot: Spot) -> Slot:
        return self.weeks[week].sessions[spot[0]].slots[spot[1]]


def _says(part: Part, weeks: Sequence[WeekPlan]) -> bool:
    try:
        return expand((part,)) == tuple(weeks)
    except Unwritable:
        return False


def _about(mover: Mover, where: Where) -> Mover:
    return replace(
        mover, lift=where.lift, sessions=where.sessions, session_numbers=where.session_numbers, slots=where.slots
    )


def _moved(slot: Slot, movers: Sequence[Mover], step: int, count: Count) -> Slot:
    values = [(mover.change, value_at(mover, value_of(slot, mover.change) or 0, step, count)) for mover in movers]
    return with_values(slot, values)


def _together(found: dict[int, LighterWeeks], weeks: int) -> list[LighterWeeks]:
    """Lighter weeks of one kind as one progression."""
    by_way: dict[LighterWeeks, list[int]] = {}
    for number, way in found.items():
        by_way.setdefault(way, []).append(number)
    told = []
    for way, numbers in by_way.items():
        every = numbers[0]
        if len(numbers) > 1 and numbers == list(range(every, weeks + 1, every)):
            told.append(replace(way, every=every))
        else:
            told.append(replace(way, weeks=tuple(numbers)))
    return told
