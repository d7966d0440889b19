"""The way back from an absence: what it takes off a slot's loads and sets, and how an answer says so."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import partial

from service.core import words
from service.core.answers import Caution, Named, Reason, Step
from service.core.context import Behind, Context, DoneBefore
from service.core.errors import OutOfRange
from service.core.estimate.rolling import support_class
from service.core.plan.sizes import work_sets
from service.core.prescribe.bounds import EPSILON
from service.core.prescribe.grounds import Grounds
from service.core.records import SessionKind
from service.core.returning import During, Eased, work_sets_left
from service.core.slots import Cluster, OpenLastSet, Scheme, SetsAtTarget, Slot, TopSet
from service.core.units import tidy

RETURNING, ASK_THE_COACH, AWAY, BEHIND = "returning", "ask_the_coach", "entered_as_away", "weeks_missed"
_IF_SO = {
    "illness": "While you are not well, rest, and if in doubt ask a licensed practitioner.",
    "injury": "Your coach and a licensed practitioner say when you may train again.",
    "holiday": "If it is over sooner, give it its last day.",
    "other": "If it is over sooner, give it its last day.",
}
_KINDS = {"illness": " (illness)", "injury": " (injury)", "holiday": " (holiday)", "other": ""}


DAYS_BEFORE = 28
"""What was lifted so long before an absence, and since, is what a load on the way back is held against. Ours. [days]"""


def holds(ease: Eased) -> bool:
    """Whether loads of a day are held against what was lifted before the absence."""
    return ease.load < 1 or ease.waits


def eased_load(g: Grounds, kg: float, reps: float | None = None) -> tuple[float, tuple[Reason, ...]]:
    """A load on the way back, with the steps that say so; the same load on any other day. Effective. [kg]

    With `reps` it is first held against what was lifted before the absence: nothing is asked that is harder.
    """
    ease = g.eased
    if ease is None or not holds(ease):
        return kg, ()
    steps: tuple[Reason, ...] = ()
    most = None if reps is None else most_before(g, reps)
    if most is not None and kg > most.kg + EPSILON:
        kg, steps = most.kg, (partial(before_step, g, kg, most),)
    if ease.load >= 1:
        return kg, steps
    return kg * ease.load, (*steps, partial(load_step, g, ease, kg))


@dataclass(frozen=True, slots=True)
class MostBefore:
    """The load that is as hard as the hardest set before an absence. Effective. [kg]"""

    kg: float
    done: DoneBefore
    reps: float
    rpe: float | None
    """How hard that set would be today, fresh; None where no curve holds. [RPE]"""


def most_before(g: Grounds, reps: float) -> MostBefore | None:
    """What so many repetitions may be done with on the way back, by the sets before the absence and since. [reps]

    As hard as the hardest of them, by what is known today: a set at the same effort. Where nothing is known of efforts
    (technique lifts, no max) no more than was lifted as often. None: nothing was, or the day is no way back.
    """
    support = support_class(g.slot.support)
    mine = [one for one in g.ctx.done_before if (one.lift, one.support) == (g.lift.id, support)]
    if g.eased is None or not mine:
        return None
    if g.able is None or g.ability is None:
        alike = [one for one in mine if one.reps >= reps]
        most = max(alike, key=lambda one: g.effective(one.load), default=None)
        return None if most is None else MostBefore(g.effective(most.load), most, reps, None)
    hardest: tuple[float, DoneBefore] | None = None
    for one in mine:
        try:
            rpe = g.expected(g.effective(one.load), one.reps)
        except OutOfRange:  # a published curve that does not reach so far
            continue
        if rpe is not None and (hardest is None or rpe > hardest[0]):
            hardest = rpe, one
    if hardest is None:
        return None
    rpe, done = hardest
    if done.reps == reps:
        return MostBefore(g.effective(done.load), done, reps, rpe)
    try:
        kg = g.load_for(reps, rpe)
    except OutOfRange:
        kg = g.ability.within(reps, rpe)
    return None if kg is None else MostBefore(kg, done, reps, rpe)


def before_step(g: Grounds, kg: float, most: MostBefore) -> Step:
    """From a load to what was lifted before the absence. Effective. [kg]"""
    done, held = most.done, words.mass(most.kg, g.unit)
    days = max((g.ctx.on - done.on).days, 0)
    was = f"{words.plural(done.reps, 'repetition')} with {words.load(done.load, g.lift.load_kind, g.unit)}"
    as_hard = "" if done.reps == most.reps else f", as hard as {words.plural(most.reps, 'repetition')} with {held}"
    text = (
        f"The hardest set before the absence or since was {was}, {words.plural(days, 'day')} ago{as_hard}. On the way "
        f"back nothing harder is asked: {held} instead of {words.mass(kg, g.unit)}."
    )
    inputs = (
        g.named("exact", kg),
        Named("done", done.load.value, done.load.unit),
        Named("done_reps", done.reps, "reps"),
        Named("reps", tidy(most.reps, 1), "reps"),
        Named("days_ago", days, "days"),
    )
    return Step(text, "return", inputs, g.named("exact", most.kg))


def asked_on_the_way_back(g: Grounds, reps: float, rpe: float) -> float:
    """An effort that is asked, or that of the hardest set before the absence where this is less. [reps], [RPE]"""
    ease = g.eased
    if ease is None or not holds(ease):
        return rpe
    most = most_before(g, reps)
    return rpe if most is None or most.rpe is None else min(rpe, most.rpe)


def load_step(g: Grounds, ease: Eased, kg: float) -> Step:
    """From a load to what it is on the way back. Effective. [kg]"""
    off, lighter = 100 * (1 - ease.load), kg * ease.load
    text = (
        f"After {words.plural(ease.absent_days, 'day')} without training {words.number(off, 2)} % comes off "
        f"{words.mass(kg, g.unit)}: {words.mass(lighter, g.unit)}"
    )
    inputs = [
        g.named("exact", kg),
        Named("absent_days", ease.absent_days, "days"),
        Named("less_percent", tidy(off, 2), "percent"),
    ]
    if ease.until is None:
        text += ", until your coach agrees that the way back begins."
    else:
        text += f". In {words.plural(ease.days_left, 'day')} nothing comes off any more."
        inputs.append(Named("days_left", ease.days_left, "days"))
    return Step(text, "return", tuple(inputs), g.named("exact", lighter))


def eased_rpe(g: Grounds, reps: float, rpe: float) -> float:
    """The effort that a load for `rpe` comes to on the way back: lighter than that. [reps], [RPE]"""
    ease = g.eased
    if ease is None or ease.load >= 1 or g.ability is None or g.able is None:
        return rpe
    return min(rpe, g.ability.expected(g.ability.within(reps, rpe) * ease.load, reps))


def eased_slot(slot: Slot, ctx: Context) -> Slot:
    """A slot with the work sets that are done on the way back; the same slot on any other day.

    Sets after a top set are left out first; the top set itself, an open set and sets that climb stay.
    """
    ease = ctx.eased
    if ease is None or ease.sets >= 1 or ctx.session_kind in ("test", "meet"):
        return slot
    scheme = _fewer(slot.scheme, ease.sets)
    return slot if scheme is slot.scheme else replace(slot, scheme=scheme)


def in_words(slot: Slot, ctx: Context) -> str:
    """A slot in words, as it is done on the way back; on any other day as it is planned."""
    left = eased_slot(slot, ctx)
    fewer = work_sets(slot) - work_sets(left)
    text = words.slot_text(left, ctx.lifts)
    return f"{text}. {words.plural(fewer, 'set')} fewer than planned, on the way back." if fewer else text


def _fewer(scheme: Scheme, factor: float) -> Scheme:
    if isinstance(scheme, SetsAtTarget | Cluster):
        left = work_sets_left(scheme.sets, factor)
        return scheme if left == scheme.sets else replace(scheme, sets=left)
    if isinstance(scheme, OpenLastSet):
        left = work_sets_left(scheme.sets_before + 1, factor) - 1
        return scheme if left == scheme.sets_before else replace(scheme, sets_before=left)
    return _fewer_after_top(scheme, factor) if isinstance(scheme, TopSet) else scheme


def _fewer_after_top(scheme: TopSet, factor: float) -> TopSet:
    back_off, same = scheme.back_off, scheme.same_load
    after = (back_off.most_sets if back_off else 0) + (same.sets if same else 0)
    out = after - (work_sets_left(1 + after, factor) - 1)
    if not out:
        return scheme
    if back_off is not None and out:
        left = max(back_off.most_sets - out, 0)
        out -= back_off.most_sets - left
        if left == 0:
            back_off = None
        elif back_off.sets is not None:
            back_off = replace(back_off, sets=left)
        else:
            back_off = replace(back_off, most=left, fewest=min(back_off.fewest_sets, left))
    if same is not None and out:
        same = replace(same, sets=same.sets - out) if same.sets > out else None
    return replace(scheme, back_off=back_off, same_load=same)


def sets_step(planned: int, done: int) -> Step:
    """That a slot has fewer work sets on the way back. [sets]"""
    text = f"On the way back {done} of {planned} work sets are done."
    return Step(text, "return", (Named("planned_sets", planned, "sets"),), Named("sets", done, "sets"))


def cautions(ctx: Context) -> tuple[Caution, ...]:
    """What is to be watched for on the way back; nothing on any other day."""
    return of_day(ctx.eased, ctx.session_kind)


def before_work(ctx: Context) -> tuple[Caution, ...]:
    """As `cautions`, and whether the session is the next one at all: for a plan, before any of it is done."""
    found = cautions(ctx)
    return found if ctx.behind is None else (*found, _weeks_missed(ctx.behind))


def _weeks_missed(behind: Behind) -> Caution:
    last = "nothing of the block was done yet"
    if behind.last_week is not None and behind.last_on is not None:
        last = f"the last done was week {behind.last_week}, on {words.day(behind.last_on)}"
    text = (
        f"This is week {behind.week}; {last}, and what comes between was missed. Choose with your coach how to go on "
        "before you lift."
    )
    return Caution(BEHIND, text)


def of_day(ease: Eased | None, kind: SessionKind = "block") -> tuple[Caution, ...]:
    """As `cautions`, of a day by itself."""
    if ease is None:
        return ()
    found = [] if ease.inside is None else [_entered(ease.inside)]
    if ease.waits:
        text = (
            "After an injury your coach says when the way back begins: ask before you lift. If something hurts, see a "
            "licensed practitioner first."
        )
        found.append(Caution(ASK_THE_COACH, text))
    away = f"{words.plural(ease.absent_days, 'day')} without training"
    come = "You come back from" if ease.inside is None else "If you train all the same, you come back from"
    if kind in ("test", "meet") and ease.absent_days:
        text = f"{come} {away}, and here nothing is eased: ask your coach whether it should wait."
        found.append(Caution(RETURNING, text))
    elif ease.load < 1 or ease.sets < 1:
        text = f"{come} {away}: {_what(ease)}. If something feels wrong, stop and tell your coach."
        found.append(Caution(RETURNING, text))
    return tuple(found)


def before_sets(ease: Eased | None) -> tuple[Caution, ...]:
    """Of `of_day`, what holds wherever loads are told that nothing comes off: whether to train at all."""
    return () if ease is None else tuple(one for one in of_day(ease) if one.code != RETURNING)


def _entered(inside: During) -> Caution:
    """That the day lies in an absence: who trains all the same decides it with the coach on the floor."""
    until = "" if inside.until is None else f" until {words.day(inside.until)}"
    text = (
        f"Entered as away{_KINDS[inside.kind]} since {words.day(inside.since)}{until}: is this a day to train? Ask "
        f"your coach first. {_IF_SO[inside.kind]}"
    )
    return Caution(AWAY, text)


def _what(ease: Eased) -> str:
    off = f"loads are {words.number(100 * (1 - ease.load), 1)} % lighter"
    parts = [off] * (ease.load < 1) + ["there are fewer sets"] * (ease.sets < 1)
    until = " until your coach agrees" if ease.until is None else f", as planned again from {words.day(ease.until)}"
    return " and ".join(parts) + until
