"""The main work of missed sessions, taken over by sessions that are still to come."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date
from functools import lru_cache

from service.core.layout.wishes import Planned, Wishes
from service.core.plan.families import first_of_line
from service.core.plan.sizes import minutes
from service.core.prescribe.shorten import one_set_less
from service.core.records import Lift
from service.core.replan.effect import lift_words
from service.core.replan.keeps import as_planned, as_taken_over, keeps
from service.core.replan.records import BlockSession, Change, Extend, Skip
from service.core.slots import Slot
from service.core.words import day, listing, plural

MOST_MINUTES, MOST_MORE = 120, 30
"""A session takes work over up to so long in all, and so much more than it had. Ours. [min]"""
SETS_KEPT = 0.5
"""Work that is taken over keeps this part of its sets, at least one. Ours."""


def merged(
    away: Sequence[BlockSession],
    ahead: Sequence[BlockSession],
    standing: Sequence[BlockSession],
    wishes: Wishes,
    lifts: Mapping[str, Lift],
) -> tuple[tuple[Change, ...], tuple[str, ...]]:
    """Put main slots of missed sessions into coming ones; accessories, and what is optional, are left out.

    A slot goes into the coming session that stays shortest, of those whose main work has no lift of its family, with
    half its sets; a heavy one into none where it would break what was wished of the days. The missed sessions
    themselves are skipped. `standing`: sessions that were trained or are still to come.

    Returns
    -------
    tuple of Change, tuple of str
        What changes, and what could not be taken over, in words.
    """
    taken: dict[str, list[tuple[Slot, str]]] = {one.id: [] for one in ahead}
    left: list[str] = []
    others: list[tuple[date, Planned | None]] = [(one.date, as_planned(one, lifts)) for one in standing]
    for session in away:
        for slot in session.plan.slots:
            if slot.accessory or slot.optional:
                continue
            part = part_of(slot, session.plan.name)
            more = as_taken_over(part, session, lifts)
            host = _host(part, [one for one in ahead if keeps(more, one.date, others, wishes)], taken, lifts)
            if host is None:
                left.append(f"{lift_words(slot, lifts)} of {day(session.date)}")
            else:
                taken[host.id].append((part, session.plan.name))
                others.append((host.date, more))
    changes: list[Change] = [Skip(session=one.id, was=one.date) for one in away]
    changes += [_extended(one, taken[one.id]) for one in ahead if taken[one.id]]
    told = (f"{plural(len(left), 'lift')} could not be taken over: {listing(tuple(left))}.",) if left else ()
    return tuple(changes), told


def _extended(host: BlockSession, taken: Sequence[tuple[Slot, str]]) -> Extend:
    return Extend(
        session=host.id,
        date=host.date,
        at=main_ends(host.plan.slots),
        slots=tuple(slot for slot, _ in taken),
        name=listing(tuple(dict.fromkeys(name for _, name in taken))),
    )


@lru_cache(maxsize=2048)  # a template's slots come again for every athlete
def part_of(slot: Slot, session: str) -> Slot:
    """What is taken over of a main slot of a session that was missed, by the session's name."""
    return replace(_fewer(slot), with_next=False, note=slot.note or f"Taken over from {session}")


def main_ends(slots: Sequence[Slot]) -> int:
    """The place before which further main work stands: behind the main slots, before the accessories at the end.

    Slots that are done in turn stay together.
    """
    end = len(slots)
    while end > 0 and (slots[end - 1].accessory or slots[end - 1].optional):
        end -= 1
    while 0 < end < len(slots) and slots[end - 1].with_next:
        end += 1
    return end


def _host(
    slot: Slot,
    ahead: Sequence[BlockSession],
    taken: Mapping[str, Sequence[tuple[Slot, str]]],
    lifts: Mapping[str, Lift],
) -> BlockSession | None:
    """The coming session that takes a slot over; None where none can."""
    family = first_of_line(slot.lift, lifts)
    fitting: list[tuple[float, int]] = []
    for at, one in enumerate(ahead):
        own = list(one.plan.slots)
        others = [other for other, _ in taken[one.id]]
        if one.plan.kind != "block":
            continue
        if any(first_of_line(other.lift, lifts) == family and not other.accessory for other in (*own, *others)):
            continue
        before, after = minutes(own, lifts), minutes([*own, *others, slot], lifts)
        if after <= MOST_MINUTES and after - before <= MOST_MORE:
            fitting.append((after, at))
    return ahead[min(fitting)[1]] if fitting else None


def _fewer(slot: Slot) -> Slot:
    """A slot with half its work sets, as far as they can be taken from it."""
    whole, left, now = 0, slot, slot
    while (less := one_set_less(left)) is not None:
        left, whole = less, whole + 1
    keep = max(1, round((whole + 1) * SETS_KEPT + 1e-9))
    for _ in range(whole + 1 - keep):
        less = one_set_less(now)
        if less is None:
            break
        now = less
    return now
