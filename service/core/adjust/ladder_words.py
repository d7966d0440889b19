"""What a ladder says: the next step with its question, the working load that it found, how sure that is."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import fields
from math import ceil

from service.core import effort, words
from service.core.ability.by_model import ByModel
from service.core.adjust.choices import SOME, STOP, WARNING_SIGNS, pain_choice, substitute
from service.core.adjust.facts import Decision, Facts, Planned
from service.core.adjust.ladder import after
from service.core.adjust.ladder_state import Climb, Done, goal
from service.core.adjust.next_why import judged_why
from service.core.adjust.no_less import REPORTS
from service.core.answers import (
    Caution,
    Choice,
    LiftDone,
    Named,
    Next,
    NextIf,
    NextSet,
    ObeyedOverride,
    Option,
    PrescribedSet,
    Step,
)
from service.core.effort import OR_MORE_RPE
from service.core.prescribe.enough import ENOUGH_DAYS, ENOUGH_SETS
from service.core.prescribe.from_ladder import HIGH_LEFT
from service.core.prescribe.ladder import newcomer
from service.core.prescribe.obey import obeyed
from service.core.prescribe.one_set import write
from service.core.records import DoneSet
from service.core.tell.measure import Measure
from service.core.tell.sure import Sure, how_sure
from service.core.units import Load, tidy

LARGE_STEP = Caution(
    "large_step", "The steps between loads are large here: stop as soon as a repetition gets hard, and say so."
)
_NOT_FOR_NEWCOMERS = frozenset({"tested_single", "few_hard_repetitions"})
"""What would tell most but is nothing for somebody who has just begun. Ours."""


def ladder_next(
    f: Facts, at: Climb, planned: Callable[..., PrescribedSet], slot_id: str | None, *, why: bool, ahead: bool
) -> Next:
    """What comes next in a ladder."""
    if at.ends == "hurts":
        return pain_choice(f, None if at.coming is None else _set(f, at, why=why), slot_id)
    if at.ends == "too_heavy":
        return _too_heavy(f, slot_id)
    if at.ends is not None:
        return _done(f, at, slot_id, why=why)
    told = planned(0, why=why) if at.number == 1 or at.coming is None else _set(f, at, why=why)
    then = _outcomes(f, at) if ahead else ()
    return NextSet(slot=slot_id, next_if=then, **{one.name: getattr(told, one.name) for one in fields(told)})


def ladder_decision(f: Facts, at: Climb) -> Decision:
    """The coming step in numbers, for telling which set was done."""
    draft = at.coming
    if draft is None:
        return Decision(ends="all")
    index = 0 if at.number == 1 else len(f.sets)
    rpe = draft.expected
    planned = Planned(
        index, "target_set", at.asked, draft.reps_to, draft.load, draft.loading, draft.kg, f.g.body_kg, rpe, at.asked
    )  # fmt: skip
    return Decision(
        planned=planned,
        load=draft.load,
        loading=draft.loading,
        kg=draft.kg,
        reps=at.asked,
        reps_to=draft.reps_to,
        expected=rpe,
    )


def _set(f: Facts, at: Climb, *, why: bool) -> PrescribedSet:
    draft = at.coming
    if draft is None:
        raise ValueError("the ladder has ended")
    told = write(draft, f.g, number=at.number, of=at.number, why=False)
    told.text = _noted(at, told.text)
    if at.note == "coarse":
        told.cautions = (*told.cautions, LARGE_STEP)
    if why and at.why is not None:
        told.why = (at.why,)
    told.overrides = bounding(f, draft.load)
    return told


def bounding(f: Facts, load: Load | None) -> tuple[ObeyedOverride, ...]:
    """The coach's decisions that a set obeys: those that allow no more than its load."""
    if f.g.cap is None or load != f.g.cap:
        return ()
    acting = (f.orders.fixed, f.orders.cap, f.orders.percent)
    return tuple(obeyed(one, f.g.ctx) for one in acting if one is not None)


def _noted(at: Climb, text: str) -> str:
    if at.note == "unsaid":
        return f"Nobody said how many more were possible, so the load stays. Again: {text}"
    if at.note == "doubtful":
        return f"The last set is too far from what is known to be believed. Once more: {text}"
    if at.note == "more_reps":
        return f"The next load here is too far off yet, so more repetitions come first: {text}"
    if at.note == "all":
        return f"That is about right, and all repetitions will tell: {text}"
    if at.note == "between":
        return f"That was a little too much, so take less: {text}"
    if at.note == "lighter":
        return f"That was too much, so take less: {text}"
    return text


def _outcomes(f: Facts, at: Climb) -> tuple[NextIf, ...]:
    """What would follow each answer, the easiest first, and a miss; neighbours that lead to the same are one."""
    draft = at.coming
    if draft is None:
        return ()

    def done(**said: object) -> Climb:
        values = {"role": "target_set", "load": draft.load, "reps": at.asked, **said}
        return after(f, at, DoneSet(lift=f.g.lift.id, **values))  # type: ignore[arg-type]

    found: list[tuple[object, NextIf]] = []
    for rpe in REPORTS:
        then = done(rpe=rpe, reps=at.top if rpe <= OR_MORE_RPE else at.asked)
        key = _outcome(then)
        if not found or found[-1][0] != key:
            far = rpe <= OR_MORE_RPE and at.top > at.asked
            found.append((key, _entry(f, then, at_least=float(rpe), after=at.top if far else None)))
    missed = done(made=False, ended_by="strength", reps=max(at.asked - 1, 0))
    return (*(one for _, one in found), _entry(f, missed, made=False))


def _outcome(then: Climb) -> object:
    if then.coming is not None and then.ends is None:
        return then.coming.load, then.asked
    return then.ends, None if then.found is None else then.found.load


def _entry(
    f: Facts, then: Climb, *, at_least: float | None = None, made: bool | None = None, after: int | None = None
) -> NextIf:
    """`after`: repetitions that it went on to, as it was easy."""
    kind = f.g.lift.load_kind
    load: Load | None = None
    reps: int | None = None
    if then.ends is None and then.coming is not None:
        load, reps = then.coming.load, then.asked
        count = words.reps(reps, then.coming.reps_to)
        text = f"Then {count} with {words.load(load, kind, f.g.unit)}." if load is not None else "Then the next step."
    elif then.found is not None:
        text = f"Then {words.load(then.found.load, kind, f.g.unit)} is your working load."
    else:
        text = "Then you and the coach on the floor choose something easier."
    if after is not None:
        text = f"After {after} with five or more left: {text[0].lower()}{text[1:]}"
    rpe = None if at_least is None else tidy(at_least, 1)
    return NextIf(rpe_at_least=rpe, rpe_at_most=None, made=made, load=load, reps=reps, text=text)


def _done(f: Facts, at: Climb, slot_id: str | None, *, why: bool) -> LiftDone:
    if at.ends == "pain":
        text = "Stop this lift for today. Do not try to train through pain."
        return LiftDone(slot=slot_id, text=text, why=(), next_slot=None, cautions=(STOP, WARNING_SIGNS))
    known = _sure(f, at)
    told = _sure_text(known, at) or _at_least_text(at)
    steps: tuple[Step, ...] = ()
    if why:
        steps = judged_why(f, at.today)
        if at.found is not None:
            steps = (*steps, _found_why(f, at.found))
        steps = steps if known is None else (*steps, *known.why)
    text = " ".join(part for part in (_found_text(f, at), told, _after_text(f, at)) if part)
    done = at.today.done
    painful = done is not None and (done.pain != "none" or done.ended_by == "pain")
    cautions = (SOME, WARNING_SIGNS) if painful else ()
    return LiftDone(slot=slot_id, text=text, why=steps, next_slot=None, cautions=cautions)


def _found_text(f: Facts, at: Climb) -> str:
    found, name = at.found, f.g.lift.name.lower()
    if found is None:
        return f"Enough of the {name} for today: no working load is known yet."
    load = words.load(found.load, f.g.lift.load_kind, f.g.unit)
    count = words.plural(found.reps, "repetition")
    if at.ends == "fewer":
        return f"{count} with {load} left less than wanted: work with it and {_fewer(f, found)} for now."
    if at.ends == "most":
        left = "" if found.left is None else f", which left {_left(found.left)}"
        return f"Enough for today: go on next time from {load}{left}."
    if at.ends == "too_far":
        return f"The next load here is too far off: work with {load} and {count} until that is easy."
    if at.ends == "capped":
        return f"A coach's decision allows no more: {load} is your working load for now."
    if at.ends == "heaviest":
        return f"Nothing heavier is here: {load} is your working load, and the repetitions may grow."
    why = {"harder": "That left less than wanted. ", "before": "More would be too much today. "}.get(at.ends or "", "")
    left = "" if found.left is None else f", which left {_left(found.left)}"
    return f"{why}Your working load in the {name} is {load}: {count}{left}."


def _fewer(f: Facts, found: Done) -> str:
    reps, wanted = goal(f)
    count = max(1, reps - ceil(wanted - (found.left or 0.0) - 1e-9))
    return words.plural(count, "repetition")


def _left(left: float) -> str:
    if left >= HIGH_LEFT:
        return "five or more"
    return "nothing" if left < 0.5 else effort.count_words(max(left, 1.0))


def _sure(f: Facts, at: Climb) -> Sure | None:
    """How sure the lift's max is by now; None by a pinned curve, and where nothing is known.

    No surer than by what was known before and by the sets whose answer was counted: many that left five or more only
    say "at least", however many they are.
    """
    able, counted = at.today.ability, at.counted
    if not isinstance(able, ByModel) or counted is None or not able.known or not counted.known:
        return None
    shown = Measure(f.g.lift, f.g.unit, f.g.body_kg)
    both = [(one, how_sure(one.row, one.person, shown, f.g.ctx.on)) for one in (able, counted)]
    able, known = max(both, key=lambda one: one[1].percent or 0)
    behind = at.found is not None and at.found.kg is not None and able.kg <= at.found.kg  # it did not believe the sets
    return None if known.percent is None or behind else known


def _sure_text(known: Sure | None, at: Climb) -> str:
    if known is None:
        return ""
    sets = 0 if at.counted is None else at.counted.row.used_ever
    if 0 < sets < ENOUGH_SETS:
        few = "1 set that left four or fewer" if sets == 1 else f"{sets} sets that left four or fewer"
        return (
            f"The max behind it: by the numbers sure to about {known.percent} %, but that stands on {few}. Take it as "
            f"known after {ENOUGH_SETS} of them on {ENOUGH_DAYS} days: a harder one, when it is planned, helps most."
        )
    helps = next((one.text for one in known.surer if one.code not in _NOT_FOR_NEWCOMERS), "")
    helps = "" if "more hard sets" in known.text else helps
    return f"The max behind it: {known.text[0].lower()}{known.text[1:]}{f' {helps}' if helps else ''}"


def _at_least_text(at: Climb) -> str:
    """Where no answer was counted."""
    if at.found is None or at.found.left is None or at.found.left < HIGH_LEFT or at.counted is None:
        return ""
    return (
        "How strong you are is not known by that: five or more left only says at least. A set that leaves three or "
        "fewer will tell."
    )


def _after_text(f: Facts, at: Climb) -> str:
    if at.found is None or at.ends in ("most", "fewer"):
        return ""
    return (
        f"For the weeks after: sets of {goal(f)[0]} from this load, a small step more whenever all sets are complete, "
        "until the max is known well enough to go by effort."
    )


def _found_why(f: Facts, found: Done) -> Step:
    load = words.load(found.load, f.g.lift.load_kind)
    inputs = [Named("reps", found.reps, "reps")]
    said = ""
    if found.left is not None:
        inputs.append(Named("left", tidy(found.left, 1), "reps"))
        said = f" with {_left(found.left)} left"
    text = f"The ladder ends here: {words.plural(found.reps, 'repetition')} with {load}{said}."
    return Step(text, "ladder_end", tuple(inputs), Named("load", found.load.value, found.load.unit))


def _too_heavy(f: Facts, slot_id: str | None) -> Choice:
    """Even the lightest was too much: nothing is pushed, something easier is chosen with the coach."""
    name, to_lift = f.g.lift.name.lower(), substitute(f)
    options = [
        Option(
            text=f"Take something lighter, such as a lighter bar, a stick, dumbbells or help from a machine or a "
            f"partner: {goal(f)[0]} repetitions, logged here.",
            set=None,
            ends=None,
            to_lift=None,
        )
    ]
    if to_lift is not None:
        known = f.g.ctx.lifts.get(to_lift)
        other = known.name.lower() if known is not None else to_lift.replace("-", " ")
        text = f"Do the {other} instead, which your coach has named for the {name} before."
        options.append(Option(text=text, set=None, ends=None, to_lift=to_lift))
    else:
        text = f"Do an easier variation of the {name} that your coach names, and leave the {name} for later."
        options.append(Option(text=text, set=None, ends="lift", to_lift=None))
    options.append(Option(text=f"End the {name} for today.", set=None, ends="lift", to_lift=None))
    return Choice(
        slot=slot_id,
        text=f"The lightest here is too much for {goal(f)[0]} good repetitions in the {name} today, and that is no "
        "reason to push. Choose with the coach on the floor how to go on.",
        options=tuple(options),
        cautions=newcomer(f.g),
    )
