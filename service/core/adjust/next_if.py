"""What the set after the next one would be: the same decision, taken for each report that the next one may bring."""

from __future__ import annotations

from collections.abc import Callable

from service.core.ability.by_model import ByModel
from service.core.adjust.decide import decide
from service.core.adjust.facts import Decision, Facts
from service.core.adjust.next_words import next_text
from service.core.adjust.no_less import FROM_BEFORE, REPORTS, free, may_be_less, no_less
from service.core.adjust.today import Today, expectation
from service.core.adjust.walk import standing, taken
from service.core.answers import NextIf
from service.core.records import WORK_ROLES, DoneSet
from service.core.units import Load, Number

_VAGUE = REPORTS.index(7)
"""Up to here the model hears a report as "at least so many were left". [place in REPORTS]"""

Outcome = tuple[Load | None, int | None, int | None]


def next_if(f: Facts, today: Today, coming: Decision) -> tuple[NextIf, ...]:
    """The outcomes that matter, easiest report first, a miss last: of those that fit, the last counts.

    Nothing where the lifter chooses the load: then nobody can tell. For a range of repetitions, its middle is meant.
    """
    if coming.planned is None or (coming.load is None and coming.reps is not None and f.g.lift.load_kind != "none"):
        return ()
    done = DoneSet(lift=f.g.lift.id, role=coming.planned.role, load=coming.load, reps=_reps(coming))
    stands = standing(f, today, coming, done)

    before: list[tuple[Today, Decision]] = []

    def after(rpe: float | None) -> Decision:
        now = taken(f, today, coming, done, stands, rpe)
        if before and _alike(f, now, before[-1][0]):
            return before[-1][1]
        before.append((now, decide(f, now)))
        return before[-1][1]

    def believed(rpe: float) -> tuple[Decision, bool]:
        now = taken(f, today, coming, done, stands, rpe)
        return decide(f, now), now.seen is not None and now.seen.verdict != "doubtful"

    if coming.planned.role == "warm_up" or coming.reps is None:
        return (_entry(f, after(None)),)
    if isinstance(today.ability, ByModel):
        runs = _runs_by_model(f, believed, work=done.role in WORK_ROLES)
    else:
        runs = _runs(f, after, work=done.role in WORK_ROLES)
    if len(runs) == 1 and outcome(unrated := after(None)) == outcome(runs[0][1]):
        entries = [_entry(f, unrated)]
    else:
        entries = [_entry(f, found, at_least=rpe) for rpe, found in runs]
    miss = DoneSet(
        lift=done.lift, role=done.role, load=done.load, reps=max(done.reps - 1, 0), made=False, ended_by="strength"
    )
    stands.expected, stands.possible = expectation(today, miss, stands.kg)
    missed = decide(f, taken(f, today, coming, miss, stands, None))
    if outcome(missed) != outcome(runs[-1][1]) or len(runs) > 1:
        entries.append(_entry(f, missed, made=False))
    return tuple(entries)


def _runs_by_model(
    f: Facts, after: Callable[[float], tuple[Decision, bool]], *, work: bool
) -> list[tuple[Number, Decision]]:
    """As `_runs`, by the model, of which every report is asked.

    After a work set the rest is spared where the load stands before the report, and is the same after the hardest
    report that brings it under no limit, and after the vague and the easiest ones.
    """
    found: dict[int, tuple[Decision, bool]] = {}

    def look(at: int) -> tuple[Decision, bool]:
        if at not in found:
            found[at] = after(REPORTS[at])
        return found[at]

    if not (work and _from_the_hardest(f, look)):
        for at in range(len(REPORTS)):
            look(at)
    runs: list[tuple[Number, Decision]] = []
    for at in sorted(found):
        if not runs or outcome(found[at][0]) != outcome(runs[-1][1]):
            runs.append((REPORTS[at], found[at][0]))
    return runs


def _from_the_hardest(f: Facts, look: Callable[[int], tuple[Decision, bool]]) -> bool:
    """Whether all answers are found, where the next load stands before the report and only hard ones limit it."""
    for at in range(len(REPORTS) - 1, _VAGUE, -1):
        d, believed = look(at)
        if believed and free(f, d):
            others = (look(_VAGUE), look(0))
            return all(other[1] and outcome(other[0]) == outcome(d) for other in others)
        if d.rule not in FROM_BEFORE:
            break
    return False


def _runs(f: Facts, after: Callable[[float], Decision], *, work: bool) -> list[tuple[Number, Decision]]:
    """The reports from which on the outcome is another one, easiest first.

    Gone through from the hardest down. After a work set the rest is spared where a load that does not come from the
    report is under no limit: easier reports leave a higher max and less fatigue, so none of them brings it under one.
    """
    own: list[tuple[Number, Decision]] = []
    for rpe in reversed(REPORTS):
        own.append((rpe, after(rpe)))
        if work and free(f, own[-1][1]):
            own[-1] = (REPORTS[0], own[-1][1])
            break
    left_out = max((at for at, (_, one) in enumerate(own) if one.ends == "left_out"), default=-1)
    found: list[tuple[Number, Decision]] = []
    for at, (rpe, now) in enumerate(own):
        if at < left_out:
            now = own[left_out][1]  # noqa: PLW2901
        elif may_be_less(f, now):
            now = no_less(f, now, (one for _, one in reversed(own[:at])))  # noqa: PLW2901
        if found and outcome(now) == outcome(found[-1][1]):
            found.pop()
        found.append((rpe, now))
    return found[::-1]


def _alike(f: Facts, one: Today, other: Today) -> bool:
    """Whether two reports of the same set leave nothing different behind: then the same follows."""
    capacity_only = one.last is other.last and not f.published
    same_end = one.over == other.over and one.light == other.light
    return capacity_only and same_end and one.ability == other.ability


def outcome(d: Decision) -> Outcome:
    """What tells two decisions apart: load and repetitions; nothing at the end of the lift."""
    return (None, None, None) if d.ends is not None else (d.load, d.reps, d.reps_to)


def _reps(coming: Decision) -> int:
    if coming.reps is None:
        return 0
    to = coming.reps_to if coming.reps_to is not None and coming.reps_to >= coming.reps else coming.reps
    return (coming.reps + to) // 2


def _entry(f: Facts, d: Decision, *, at_least: Number | None = None, made: bool | None = None) -> NextIf:
    load, reps, _ = outcome(d)
    return NextIf(rpe_at_least=at_least, rpe_at_most=None, made=made, load=load, reps=reps, text=next_text(f, d, load))
