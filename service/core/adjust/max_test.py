"""A test, attempt by attempt: up after one that was made, down after a miss, by the published steps.

No attempt is heavier than what the last one makes likely. It ends when the attempts are used up, when one was made
with nothing left, when two sets in a row were missed or one load twice, when nothing lies between what was made and
what was missed, and at pain.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from service.core.ability.by_model import ByModel
from service.core.adjust.facts import Decision, Facts
from service.core.adjust.judged import Stands
from service.core.adjust.max_test_attempts import after_attempt, missed_again
from service.core.adjust.max_test_before import as_planned, to_the_first
from service.core.adjust.max_test_state import MOST_MISSES, SAME, Trial, Try
from service.core.adjust.max_test_steps import first_attempt
from service.core.adjust.today import Today, expectation
from service.core.adjust.walk import moved, taken
from service.core.errors import DomainError
from service.core.estimate.rolling import reported_rpe
from service.core.prescribe.max_test import is_held, most_attempts, reps_of
from service.core.records import WORK_ROLES, DoneSet


def trial(f: Facts, sets: Iterable[DoneSet], now: ByModel | None = None) -> Trial:
    """The test after all sets of its slot, in order; `now`: what the whole log says by then."""
    done = list(sets)
    at = begin(f)
    for number, one in enumerate(done, 1):
        at = after(f, at, one, now=now if number == len(done) else None)
    return at


def begin(f: Facts) -> Trial:
    """Before the first set."""
    return _next(f, Trial(Today(ability=f.g.ability)))


def after(f: Facts, at: Trial, done: DoneSet, *, now: ByModel | None = None) -> Trial:
    """The test after one more set; one of another lift only counts as done."""
    if done.lift != f.g.lift.id:
        return replace(at, today=replace(at.today, done=done, seen=None))
    kg = moved(f, done)
    asked = None if at.coming is None else at.coming.reps
    stands = Stands(None, (asked, None), kg, *expectation(at.today, done, kg))
    today = taken(f, at.today, Decision(), done, stands, reported_rpe(done, stands.expected))
    if now is not None and isinstance(today.ability, ByModel):
        today.ability = now
        if today.seen is not None:
            today.seen.after = now
    tells = today.seen is not None and done.made and not f.g.lift.technique  # technique ends such sets
    believed = tells and done.answer != "excluded"
    rpe = today.seen.reported if believed and today.seen is not None else None
    is_attempt = done.role in WORK_ROLES
    whole = done.made and done.pain != "stop" and (not is_attempt or done.reps >= reps_of(f.g))
    seen = today.seen
    too_easy = seen is not None and seen.verdict == "doubtful" and seen.easier
    by_strength = done.ended_by in ("choice", "strength")
    one = Try(done.load, kg, whole, rpe, by_strength, done.role, done.reps, too_easy)
    index = _passed(f, at, done, kg)
    if is_attempt:
        at = replace(at, today=today, tries=(*at.tries, one), index=max(index, first_attempt(f)))
    else:
        at = replace(at, today=today, before=(*at.before, one), index=index)
    at = replace(at, coming=None, why=None)
    if done.pain == "stop":
        return replace(at, ends="pain")
    if done.pain == "some" or done.ended_by == "pain":
        return replace(at, ends="hurts")
    return at if at.ends not in (None, "hurts") else _next(f, replace(at, ends=None))


def _passed(f: Facts, at: Trial, done: DoneSet, kg: float | None) -> int:
    """Place in the plan after a set before the attempts: after the one that it is nearest to. [kg]"""
    to_come = [one for one in f.sets[at.index :] if one.role not in WORK_ROLES]
    own = [one for one in to_come if one.role == done.role]
    if not own:
        passed = [one.index + 1 for one in to_come if kg is not None and one.kg is not None and one.kg <= kg + SAME]
        return max(passed, default=at.index)
    masses = [(one.kg, one.index) for one in own if one.kg is not None]
    if kg is None or len(masses) < len(own):
        return own[0].index + 1
    return min(masses, key=lambda one: (abs(one[0] - kg), -one[1]))[1] + 1


def _next(f: Facts, at: Trial) -> Trial:
    """The coming set, or the end."""
    if not f.sets:
        return replace(at, ends="all")
    if len(at.tries) >= most_attempts(f.g):
        return replace(at, ends="all")
    if at.tries and at.missed_in_a_row >= MOST_MISSES:
        return replace(at, ends="twice" if missed_again(at) else "in_a_row")
    if not at.tries and at.index < first_attempt(f):
        missed = bool(at.before) and not at.before[-1].made
        if not missed:
            return replace(at, coming=as_planned(f, f.sets[at.index], 0))
    if is_held(f.g) and len(at.before) >= _sets_before(f):
        return replace(at, ends="held")
    try:
        if at.tries:
            return after_attempt(f, at, at.tries[-1])
        return to_the_first(f, at)
    except DomainError:
        return replace(at, ends="too_far")


def _sets_before(f: Facts) -> int:
    """How many sets come before the attempts at least: where nothing is known, the protocol's three. [sets]"""
    return 1 if len(f.sets) > 1 else 3
