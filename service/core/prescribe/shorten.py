"""A session shortened to the minutes that are available: what matters least by the coach's priorities goes first."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from math import ceil

from service.core.plan.priorities import least_first
from service.core.plan.sizes import minutes, work_sets
from service.core.records import Lift
from service.core.slots import BackOff, BuildUp, Cluster, OpenLastSet, SetsAtTarget, Slot, TopSet
from service.core.words import plural


@dataclass(frozen=True, slots=True)
class Shortened:
    """A slot as it is done when the time is short."""

    slot: Slot | None
    """None: left out."""
    fewer_sets: int = 0
    takes: int | None = None
    """How long all that is left takes where that is still too long; told with the slot that stays longest. [min]"""

    def text(self, available: int) -> str | None:
        """What is said of it; None where it stays as it is. [min]"""
        why = f"{plural(available, 'minute')} are available" if available != 1 else "1 minute is available"
        if self.slot is None:
            return f"Left out: {why}."
        lasts = "" if self.takes is None else f"takes about {plural(self.takes, 'minute')}"
        if self.fewer_sets:
            fewer = f"{plural(self.fewer_sets, 'set')} fewer than planned: {why}."
            return f"{fewer} What is left still {lasts}." if lasts else fewer
        return f"What is left {lasts}: {why}." if lasts else None


def _as_it_is(slot: Slot) -> Slot:
    return slot


def shorten(
    slots: Sequence[Slot],
    available: int,
    lifts: Mapping[str, Lift],
    *,
    build_up: BuildUp | None = None,
    fixed: Collection[int] = (),
    gone: Collection[int] = (),
    as_done: Callable[[Slot], Slot] = _as_it_is,
) -> tuple[Shortened, ...]:
    """Fit a session into the time that there is.

    Of the slots with the highest priority number the later ones go first: they lose their last sets one by one, and
    are left out where one set is still too long; only then the next priority is touched. The most important slot, of
    equals the first, stays with what cannot be taken from it, however long that takes.

    Parameters
    ----------
    slots : sequence of Slot
        In order.
    available : int
        Time for all of them, warm-ups included. [min]
    lifts : mapping
        The gym's lifts by word, at least those named and the ones that they are based on.
    build_up : BuildUp or None
        The settings'.
    fixed : collection of int
        Places, from 0, of slots that stay as they are: they were begun.
    gone : collection of int
        Places of slots that are left out anyway, and take no time.
    as_done : callable
        A slot as it is done on this day, with the sets that the way back leaves of it: the time that counts is its.

    Returns
    -------
    tuple of Shortened
        One for each slot, in order, before `as_done`. Times are estimates (`plan.sizes.minutes`).
    """
    now: list[Slot | None] = [None if at in gone else slot for at, slot in enumerate(slots)]

    def lasts() -> float:
        return minutes([as_done(one) for one in _joined(now)], lifts, build_up=build_up)

    def fits() -> bool:
        return lasts() <= available

    standing = least_first(slots, [at for at, one in enumerate(now) if one is not None])
    order = [at for at in standing if at not in fixed]
    stays = standing[-1] if standing else None
    for at in order:
        while not fits():
            one = now[at]
            less = None if one is None else one_set_less(one)
            if less is None:
                now[at] = one if at == stays else None
                break
            now[at] = less
        if fits():
            break
    takes = None if fits() else ceil(lasts())
    return tuple(
        Shortened(one, 0 if one is None else work_sets(slot) - work_sets(one), takes if at == stays else None)
        for at, (slot, one) in enumerate(zip(slots, now, strict=True))
    )


def one_set_less(slot: Slot) -> Slot | None:
    """A slot with one work set less; None where one is left, or where its sets belong together."""
    scheme = slot.scheme
    match scheme:
        case SetsAtTarget(sets=sets) | Cluster(sets=sets) if sets > 1:
            return replace(slot, scheme=replace(scheme, sets=sets - 1))
        case OpenLastSet(sets_before=sets) if sets > 1:
            return replace(slot, scheme=replace(scheme, sets_before=sets - 1))
        case TopSet(same_load=same) if same is not None:
            return replace(
                slot, scheme=replace(scheme, same_load=replace(same, sets=same.sets - 1) if same.sets > 1 else None)
            )
        case TopSet(back_off=off) if off is not None:
            return replace(slot, scheme=replace(scheme, back_off=_less(off)))
    return None


def _less(off: BackOff) -> BackOff | None:
    most = off.most_sets - 1
    if most < 1:
        return None
    if off.sets is not None:
        return replace(off, sets=most)
    return replace(off, most=most, fewest=None if off.fewest is None else min(off.fewest, most))


def _joined(now: Sequence[Slot | None]) -> list[Slot]:
    """The slots that are left; one whose turn partner is gone stands alone."""
    left: list[Slot] = []
    for at, one in enumerate(now):
        if one is None:
            continue
        alone = one.with_next and (at + 1 >= len(now) or now[at + 1] is None)
        left.append(replace(one, with_next=False) if alone else one)
    return left
