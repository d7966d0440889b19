"""A test day's result: the heaviest attempt that was made is kept as a tested max, and follows the session's sets."""

from __future__ import annotations

from collections.abc import Iterable
from uuid import UUID

from service.core.adjust.max_test_state import Trial
from service.core.adjust.max_test_words import is_max_test
from service.core.records import WORK_ROLES
from service.flows.next_set import test_so_far
from service.flows.open_session import refresh_open
from service.flows.replay import replay
from service.store import sets, states, tested
from service.store.session import Tx
from service.store.set_records import StoredSet
from service.store.tested import Key, Tested


def settle(tx: Tx, session: UUID) -> bool:
    """Let a session's tested maxes follow its sets; tell whether any has changed.

    A test gives one as soon as its last attempt is done or the session is finished: the heaviest single repetition
    that was made, unless more may have been possible, with the day and the support of that set. Sets that are
    corrected, late or deleted change it; where nothing is left it goes. What depends on it is computed anew. Sessions
    without a test cost one statement.
    """
    found = tested.tests_of(tx, session)
    if found is None:
        return False
    states.lock(tx, found.athlete)
    stored = sets.of_session(tx, session)
    wanted: dict[Key, Tested] = {}
    for identity, slot in found.slots:
        if not is_max_test(slot):
            continue
        done = [one for one in stored if one.set.slot == identity]
        trial = test_so_far(tx, session, identity, stored) if done else None
        if trial is not None and _has_result(trial, finished=found.finished):
            _take(wanted, done)
    if not tested.follow(tx, found.athlete, session, wanted):
        return False
    replay(tx, found.athlete)
    refresh_open(tx, found.athlete)
    return True


def _has_result(trial: Trial, *, finished: bool) -> bool:
    """Whether a test is over, was free to go as far as the lifter could, and did."""
    if trial.ends in ("held", "capped") or trial.may_be_more:
        return False
    return finished or trial.ends not in (None, "hurts")


def _take(wanted: dict[Key, Tested], done: Iterable[StoredSet]) -> None:
    """The heaviest attempts of a slot; of equals the first."""
    for one in done:
        load = one.set.load
        if load is None or not _counts(one):
            continue
        key = one.set.lift, one.support_class
        held = wanted.get(key)
        if held is None or load.grains > held.load.grains:
            wanted[key] = Tested(load=load, on=one.set.date, support=one.set.support)


def _counts(one: StoredSet) -> bool:
    """Whether a set is a single repetition that went up and is not in doubt."""
    it = one.set
    sound = it.doubt is None or it.doubt.answer == "confirmed"
    single = it.role in WORK_ROLES and it.made and it.reps == 1 and it.seconds is None and it.method == "straight"
    mass = it.load is not None and it.load.unit != "step"
    return sound and single and mass and it.pain != "stop" and it.ended_by != "pain"
