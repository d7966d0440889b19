"""What a test says: the next attempt with its reason, and what the test has found."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import fields

from service.core import words
from service.core.adjust.choices import SOME, STOP, WARNING_SIGNS, pain_choice
from service.core.adjust.facts import Decision, Facts, Planned
from service.core.adjust.ladder_words import bounding
from service.core.adjust.max_test import after
from service.core.adjust.max_test_state import Trial, Try
from service.core.adjust.next_why import judged_why
from service.core.adjust.no_less import REPORTS
from service.core.answers import LiftDone, Named, Next, NextIf, NextSet, PrescribedSet, Step
from service.core.prescribe.max_test import reps_of
from service.core.prescribe.obey import needs_approval
from service.core.prescribe.one_set import write
from service.core.records import DoneSet, Role
from service.core.slots import MaxTest, Slot
from service.core.units import tidy

_WHY = {
    "capped": "A coach's decision allows no more.",
    "all": "All attempts are used.",
    "nothing_left": "The last attempt left nothing.",
    "twice": "The same load was missed twice.",
    "in_a_row": "Two sets in a row were missed, and that is enough: the test of this lift ends here.",
    "between": "No load here lies between what was made and what was missed.",
    "heaviest": "Nothing heavier is here.",
    "too_far": "The next load here is too far off for an attempt.",
    "no_lighter": "Nothing lighter is worth an attempt.",
}


def trial_next(
    f: Facts, at: Trial, planned: Callable[..., PrescribedSet], slot_id: str | None, *, why: bool, ahead: bool
) -> Next:
    """What comes next in a test."""
    if at.ends == "hurts":
        return pain_choice(f, None, slot_id)
    if at.ends is not None or at.coming is None:
        return _done(f, at, slot_id, why=why)
    told = planned(at.index, why=why) if _is_planned(f, at) else _set(f, at, why=why)
    then = _outcomes(f, at) if ahead else ()
    return NextSet(slot=slot_id, next_if=then, **{one.name: getattr(told, one.name) for one in fields(told)})


def trial_decision(f: Facts, at: Trial) -> Decision:
    """The coming set in numbers, for telling which set was done."""
    draft = at.coming
    if draft is None:
        return Decision(ends="all")
    planned = Planned(
        at.index, draft.role, draft.reps, draft.reps_to, draft.load, draft.loading, draft.kg, f.g.body_kg,
        draft.expected, draft.middle,
    )  # fmt: skip
    return Decision(
        planned=planned, load=draft.load, loading=draft.loading, kg=draft.kg, reps=draft.reps, reps_to=draft.reps_to,
        expected=draft.expected,
    )  # fmt: skip


def is_max_test(slot: Slot) -> bool:
    """Whether a slot tests a one-repetition maximum, so that its heaviest made attempt is a tested max."""
    return isinstance(slot.scheme, MaxTest) and getattr(slot.target, "reps", None) == 1


def _is_planned(f: Facts, at: Trial) -> bool:
    """Whether the coming set is one of the plan, with its own reason."""
    return at.why is None and at.index < len(f.sets)


def _set(f: Facts, at: Trial, *, why: bool) -> PrescribedSet:
    draft = at.coming
    if draft is None:
        raise ValueError("the test has ended")
    role: Role = draft.role
    tries = len(at.tries)
    number = tries + 1 if role == "top_set" else 1 + sum(one.role == role for one in at.before)
    planned = sum(one.role == role for one in f.sets)
    told = write(draft, f.g, number=number, of=max(number, planned), why=why)
    if role == "top_set":
        told.text = _attempt_text(f, at, told.text)
    if why:
        steps = () if _taken_anyway(at) else judged_why(f, at.today)
        told.why = (*steps, *told.why) if at.why is None else (*steps, at.why)
    told.overrides = bounding(f, draft.load)
    return told


def _taken_anyway(at: Trial) -> bool:
    """Whether the last set was easier than the estimate can believe, and the test goes by it all the same."""
    last = at.tries[-1] if at.tries else None
    return last is not None and last.too_easy and last.possible is not None


def _attempt_text(f: Facts, at: Trial, text: str) -> str:
    last = at.tries[-1] if at.tries else None
    if last is None or last.load is None:
        return f"{text} It should be nearly sure."
    said = words.load(last.load, f.g.lift.load_kind, f.g.unit)
    if not last.made:
        return f"{text} {said[0].upper()}{said[1:]} was missed; rest well first."
    return f"{text} {said[0].upper()}{said[1:]} was made."


def _outcomes(f: Facts, at: Trial) -> tuple[NextIf, ...]:
    """What would follow by how it goes, the easiest first, and a miss; neighbours that lead to the same are one."""
    draft = at.coming
    if draft is None or draft.load is None:
        return ()

    def done(**said: object) -> Trial:
        values = {"role": draft.role, "load": draft.load, "reps": draft.reps or 1, **said}
        return after(f, at, DoneSet(lift=f.g.lift.id, **values))  # type: ignore[arg-type]

    if draft.role == "warm_up":
        return (_entry(f, done()),)
    found: list[tuple[object, NextIf]] = []
    for rpe in REPORTS:
        then = done(rpe=rpe)
        key = _outcome(then)
        if not found or found[-1][0] != key:
            found.append((key, _entry(f, then, at_least=float(rpe))))
    missed = done(made=False, ended_by="strength", reps=max((draft.reps or 1) - 1, 0))
    return (*(one for _, one in found), _entry(f, missed, made=False))


def _outcome(then: Trial) -> object:
    if then.coming is not None:
        return then.coming.load, then.coming.reps
    return then.ends


def _entry(f: Facts, then: Trial, *, at_least: float | None = None, made: bool | None = None) -> NextIf:
    draft = then.coming
    load, reps = (None, None) if draft is None else (draft.load, draft.reps)
    if load is not None and reps is not None:
        count = words.reps(reps, draft.reps_to if draft is not None else None)
        text = f"Then {count} with {words.load(load, f.g.lift.load_kind, f.g.unit)}."
    elif draft is not None:
        text = "Then the next set."
    else:
        text = "Then the test of this lift is over."
    rpe = None if at_least is None else tidy(at_least, 1)
    return NextIf(rpe_at_least=rpe, rpe_at_most=None, made=made, load=load, reps=reps, text=text)


def _done(f: Facts, at: Trial, slot_id: str | None, *, why: bool) -> LiftDone:
    if at.ends == "held":
        return _held(f, slot_id)
    if at.ends == "pain":
        text = "Stop this lift for today. Do not try to train through pain."
        return LiftDone(slot=slot_id, text=text, why=(), next_slot=None, cautions=(STOP, WARNING_SIGNS))
    steps: tuple[Step, ...] = ()
    best = at.best
    if why:
        steps = judged_why(f, at.today)
        if best is not None:
            steps = (*steps, _best_why(f, best))
    done = at.today.done
    painful = done is not None and (done.pain != "none" or done.ended_by == "pain")
    text = f"{_WHY.get(at.ends or 'all', _WHY['all'])} {_result(f, at, best)}"
    return LiftDone(
        slot=slot_id, text=text, why=steps, next_slot=None, cautions=(SOME, WARNING_SIGNS) if painful else ()
    )


def _held(f: Facts, slot_id: str | None) -> LiftDone:
    """Attempts are not made yet: somebody has to allow them."""
    if f.orders.held:
        text = (
            "The attempts wait until a coach of this gym has approved them: ask the coach on the floor. They come then."
        )
        cautions = (needs_approval(f.orders, technique=f.g.lift.technique),)
        return LiftDone(slot=slot_id, text=text, why=(), next_slot=None, cautions=cautions)
    cap = words.number(f.g.rpe_cap or 0)
    text = f"A coach's decision allows no set harder than RPE {cap}, so that no attempt follows."
    return LiftDone(slot=slot_id, text=text, why=(), next_slot=None, cautions=())


def _result(f: Facts, at: Trial, best: Try | None) -> str:
    name, reps = f.g.lift.name.lower(), reps_of(f.g)
    if best is None or best.load is None:
        return f"No attempt was made today, so the test of the {name} has no result."
    load = words.load(best.load, f.g.lift.load_kind, f.g.unit)
    if reps == 1:
        if best.load.unit == "step":
            return f"The heaviest made is {load}. Steps without a mass give no tested max."
        if at.ends == "capped" or at.may_be_more:
            return f"The heaviest made is {load}. It is no tested max, as more may have been possible."
        return f"The heaviest made is {load}: it is kept as the tested max of the {name}."
    text = f"The heaviest made for {reps} is {load}. Repetitions give no tested max"
    able = at.today.able
    if able is None:
        return f"{text}."
    return f"{text}; by the log it speaks for a max of about {words.mass(able.kg - f.g.body_kg, f.g.unit)}."


def _best_why(f: Facts, best: Try) -> Step:
    load = best.load
    reps = reps_of(f.g)
    inputs = (Named("reps", reps, "reps"),)
    if load is None:
        return Step("The heaviest attempt that was made counts.", "test_result", inputs, None)
    text = f"The heaviest attempt that was made counts: {reps} with {words.load(load, f.g.lift.load_kind)}."
    return Step(text, "test_result", inputs, Named("load", load.value, load.unit))
