"""What was forgotten of an athlete is read out of the log once more and kept, before anything is answered from it.

A new version of the model, and settings and lifts of the whole gym, let the memories of all athletes go. Each log is
folded at its next use, be it a read or a set; until then it costs nobody anything.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from uuid import UUID

from service.core.model.memory import Memory
from service.flows.fold_log import Folded, fold_log
from service.store import lines, log, memories, states
from service.store.lines import Lifter
from service.store.memories import Whole
from service.store.session import KeptFirst, Tx


def remembered(tx: Tx, athlete: UUID) -> Whole:
    """All that the log has taught of an athlete.

    Raises KeptFirst in a reading transaction where it has to be folded and kept before.
    """
    return remembered_of_each(tx, [athlete])[0]


def remembered_of_each(tx: Tx, athletes: Sequence[UUID]) -> list[Whole]:
    """As `remembered`, of many in one statement where nothing has to be folded."""
    found = memories.of_each(tx, athletes)
    forgotten = sorted({athlete for athlete, whole in zip(athletes, found, strict=True) if whole is None})
    if forgotten:
        if tx.reads_only:
            raise KeptFirst(*(partial(keep, athlete=athlete) for athlete in forgotten))
        for athlete in forgotten:
            keep(tx, athlete)
        found = memories.of_each(tx, athletes)
    return [Whole(Memory(), {}, None) if whole is None else whole for whole in found]


def keep(tx: Tx, athlete: UUID) -> None:
    """Fold an athlete's log and keep what it shows, unless somebody else has done so meanwhile."""
    lifter = lines.lock_athlete(tx, athlete)
    if lifter is not None and memories.read(tx, athlete) is None:
        fold_and_keep(tx, lifter)


def fold_and_keep(tx: Tx, lifter: Lifter, *, watch: UUID | None = None) -> tuple[set[str], Folded]:
    """Fold the log of an athlete whose lock is held, and keep what it shows.

    `watch`: a set of which it is to be kept what it did. Returns the lifts whose day estimates are others now, too.
    """
    folded = fold_log(tx, lines.with_settings(tx, lifter), watch=watch)
    log.write_doubts(tx, folded.doubts, new=watch)
    return states.rewrite(tx, lifter.id, folded.estimates, folded.whole), folded
