"""What the set after the next one would be: the same decision, taken for each report that the next one may bring."""

from __future__ import annotations

from service.core.answers import NextIf
from service.core.facts import Decision, Facts
from service.core.next_words import next_text
from service.core.records import DoneSet
from service.core.today import Today
from service.core.units import Load, Number, tidy
from service.core.walk import step

_REPORTS: tuple[Number, ...] = (1, *(tidy(half / 2) for half in range(11, 21)))
"""The efforts that can be told apart: up to RPE 5 all count alike (`today.judge`). [RPE]"""

Outcome = tuple[Load | None, int | None, int | None]


def next_if(f: Facts, today: Today, coming: Decision) -> tuple[NextIf, ...]:
    """The outcomes that matter, easiest report first, a miss last: of those that fit, the last counts.

    Nothing where the lifter chooses the load: then nobody can tell. For a range of repetitions, its middle is meant.
    """
    if coming.planned is None or (coming.load is None and coming.reps is not None and f.g.lift.load_kind != "none"):
        return ()
    unrated = _after(f, today, coming, {})
    if coming.planned.role == "warm_up" or coming.reps is None:
        return (_entry(f, unrated),)
    runs: list[tuple[Number, Decision]] = []
    for rpe in _REPORTS:
        found = _after(f, today, coming, {"rpe": rpe})
        if not runs or outcome(found) != outcome(runs[-1][1]):
            runs.append((rpe, found))
    if len(runs) == 1 and outcome(unrated) == outcome(runs[0][1]):
        entries = [_entry(f, unrated)]
    else:
        entries = [_entry(f, found, at_least=rpe) for rpe, found in runs]
    missed = _after(f, today, coming, {"made": False, "ended_by": "strength", "reps": max(_reps(coming) - 1, 0)})
    if outcome(missed) != outcome(runs[-1][1]) or len(runs) > 1:
        entries.append(_entry(f, missed, made=False))
    return tuple(entries)


def outcome(d: Decision) -> Outcome:
    """What tells two decisions apart: load and repetitions; nothing at the end of the lift."""
    return (None, None, None) if d.ends is not None else (d.load, d.reps, d.reps_to)


def _reps(coming: Decision) -> int:
    if coming.reps is None:
        return 0
    to = coming.reps_to if coming.reps_to is not None and coming.reps_to >= coming.reps else coming.reps
    return (coming.reps + to) // 2


def _after(f: Facts, today: Today, coming: Decision, said: dict[str, object]) -> Decision:
    """What would come after the coming set, done as suggested."""
    role = coming.planned.role if coming.planned is not None else "free"
    values: dict[str, object] = {"load": coming.load, "reps": _reps(coming), "expected_rpe": coming.expected, **said}
    done = DoneSet(lift=f.g.lift.id, role=role, **values)  # type: ignore[arg-type]
    return step(f, today, coming, done)[1]


def _entry(f: Facts, d: Decision, *, at_least: Number | None = None, made: bool | None = None) -> NextIf:
    load, reps, _ = outcome(d)
    return NextIf(rpe_at_least=at_least, rpe_at_most=None, made=made, load=load, reps=reps, text=next_text(f, d, load))
