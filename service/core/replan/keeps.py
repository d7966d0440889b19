"""Whether work that a coming session takes over keeps what was wished of the block's days."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date

from service.core.layout.days import kinds_of, opposed, too_near
from service.core.layout.wishes import Planned, Wishes
from service.core.plan.sizes import heavy_lifts, is_heavy
from service.core.records import Lift
from service.core.replan.records import BlockSession
from service.core.slots import Slot


def as_planned(one: BlockSession, lifts: Mapping[str, Lift]) -> Planned:
    """A session as the wishes see it."""
    return Planned(week=one.week, number=one.number, name=one.plan.name, heavy_in=heavy_lifts(one.plan, lifts))


def as_taken_over(slot: Slot, source: BlockSession, lifts: Mapping[str, Lift]) -> Planned | None:
    """A slot of a missed session as the wishes see it wherever it is done; None where it is not heavy."""
    if not is_heavy(slot, lifts):
        return None
    return Planned(week=source.week, number=source.number, name=source.plan.name, heavy_in=(slot.lift,), heavy=True)


def keeps(more: Planned | None, on: date, others: Sequence[tuple[date, Planned | None]], wishes: Wishes) -> bool:
    """Whether work that is taken over may be done on a day: what is not heavy always may.

    Heavy work comes neither on a date that is to stay free of it, nor on the days before, nor nearer than was said to
    what must be apart from it. `others`: sessions with their days, the one on the day as well, and what they have taken
    over already.
    """
    if more is None:
        return True
    if any(too_near(more, on, one) for one in wishes.light_before):
        return False
    return not any(
        abs((day - on).days) <= wish.days and opposed(wish, kinds_of(more, wish), kinds_of(other, wish))
        for wish in wishes.apart
        if wish.must
        for day, other in others
        if other is not None
    )
