"""Operations one after the other, each on what the one before made."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from service.core.changes import accessories, lighter
from service.core.changes import slots as on_slots
from service.core.changes import weeks as on_weeks
from service.core.changes.align import Pairs
from service.core.changes.difference import Change, difference
from service.core.changes.exchange import exchange
from service.core.changes.operations import (
    AddAccessory,
    AddWeek,
    Changed,
    DropWeeks,
    ExchangeLift,
    InsertLighterWeek,
    Operation,
    Refused,
    ReorderWeeks,
    RepeatWeek,
    ScaleSets,
    ShiftEffort,
    ShiftPercent,
    Stretch,
    TrimAccessories,
)
from service.core.changes.stretch import stretch
from service.core.records import Lift
from service.core.slots import WeekPlan
from service.core.templates import faults, lifts_named, named_by

Weeks = tuple[WeekPlan, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """What one operation did; `origins` and `slots` as in `Changed`."""

    operation: Operation
    text: str
    before: Weeks
    after: Weeks
    origins: Pairs
    slots: tuple[str, ...]

    def changes(self) -> Iterator[Change]:
        """What is different after it."""
        return difference(self.before, self.after, self.origins)


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What all operations together made, and each by itself; `origins` from the first to the last."""

    before: Weeks
    weeks: Weeks
    origins: Pairs
    steps: tuple[Step, ...]

    def changes(self) -> Iterator[Change]:
        """What is different after all of them."""
        return difference(self.before, self.weeks, self.origins)


def apply(weeks: Weeks, operations: Sequence[Operation], lifts: Mapping[str, Lift]) -> Outcome:
    """Do operations in order.

    Parameters
    ----------
    weeks : tuple of WeekPlan
        A valid template.
    operations : sequence of Operation
    lifts : mapping
        The gym's lifts by word, at least those that the template and the operations name (`lifts_asked`).

    Returns
    -------
    Outcome
        A valid template again.

    Raises
    ------
    Refused
        At the first operation that cannot be done; its pointer begins with `#/operations/` and the operation's place,
        from 0.
    """
    steps: list[Step] = []
    origins: Pairs = tuple(range(len(weeks)))
    now = weeks
    for place, operation in enumerate(operations):
        try:
            made = _one(now, operation, lifts)
        except Refused as refused:
            at = f"#/operations/{place}"
            raise Refused(*(replace(fault, pointer=at + fault.pointer) for fault in refused.faults)) from refused
        steps.append(
            Step(
                operation=operation,
                text=made.text,
                before=now,
                after=made.weeks,
                origins=made.origins,
                slots=made.slots,
            )
        )
        origins = tuple(None if origin is None else origins[origin] for origin in made.origins)
        now = made.weeks
    return Outcome(before=weeks, weeks=now, origins=origins, steps=tuple(steps))


def lifts_asked(weeks: Weeks, operations: Sequence[Operation]) -> frozenset[str]:
    """Words of all lifts that a template and operations on it name."""
    named = set(lifts_named(weeks))
    for operation in operations:
        if isinstance(operation, AddWeek):
            named |= lifts_named((operation.week,))
        elif isinstance(operation, AddAccessory):
            named |= set(named_by(operation.slot))
        elif isinstance(operation, ExchangeLift):
            named |= {operation.lift, operation.to_lift}
    return frozenset(named)


def _one(weeks: Weeks, operation: Operation, lifts: Mapping[str, Lift]) -> Changed:
    match operation:
        case AddWeek():
            wrong = faults((operation.week,), lifts)
            if wrong:
                raise Refused(*(replace(one, pointer=one.pointer.replace("#/weeks/0", "/week", 1)) for one in wrong))
            return on_weeks.add(weeks, operation)
        case InsertLighterWeek():
            return lighter.insert(weeks, operation, lifts)
        case ExchangeLift():
            return exchange(weeks, operation, lifts)
        case AddAccessory():
            return accessories.add_accessory(weeks, operation, lifts)
        case TrimAccessories():
            return accessories.trim_accessories(weeks, operation)
    return _by_numbers(weeks, operation, lifts)


def _by_numbers(
    weeks: Weeks,
    operation: RepeatWeek | DropWeeks | ReorderWeeks | ScaleSets | ShiftEffort | ShiftPercent | Stretch,
    lifts: Mapping[str, Lift],
) -> Changed:
    match operation:
        case RepeatWeek():
            return on_weeks.repeat(weeks, operation)
        case DropWeeks():
            return on_weeks.drop(weeks, operation)
        case ReorderWeeks():
            return on_weeks.reorder(weeks, operation)
        case ScaleSets():
            return on_slots.scale_sets(weeks, operation, lifts)
        case ShiftEffort():
            return on_slots.shift_effort(weeks, operation, lifts)
        case ShiftPercent():
            return on_slots.shift_percent(weeks, operation, lifts)
        case Stretch():
            return stretch(weeks, operation)
