"""A newcomer's ladder, step by step: how many more were possible decides whether it goes on, and by how much.

It climbs while more is left than the target asks for, and no answer can make a step too large: each load is one with
which nearly as much would be left as is wanted if no more had been possible than was said. "Five or more" says little
of few repetitions, so that easy sets go on: ten with five or more left allow a step that five never do. A set that may
go on needs two repetitions only, so that two tell where a step was too large. It never goes up from a set that reached
the target, was missed, hurt, or has no answer yet, nor past so many repetitions in all.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from service.core.ability.by_model import ByModel
from service.core.ability.hearing import heard
from service.core.adjust.facts import Decision, Facts
from service.core.adjust.judged import Stands
from service.core.adjust.ladder_state import LARGE, SMALL, Climb, Done, goal
from service.core.adjust.ladder_steps import between, coming_step, end, lighter_one, same_again, told, up
from service.core.adjust.today import Today, expectation
from service.core.adjust.walk import moved, taken
from service.core.answers import Named, Step
from service.core.effort import OR_MORE_RPE
from service.core.estimate.rolling import reported_rpe
from service.core.model.learn import learn
from service.core.prescribe.from_ladder import HIGH_LEFT, TOO_HARD, enough
from service.core.prescribe.ladder import FEWEST, most_reps, most_sets, rung
from service.core.records import DoneSet
from service.core.slots import Ladder
from service.core.units import Load

SAME = 0.01
"""Loads that differ by no more are the same, entered in another unit. Ours. [1]"""


def climb(f: Facts, sets: Iterable[DoneSet], now: ByModel | None = None) -> Climb:
    """The ladder after all sets of its slot, in order; `now`: what the whole log says by then."""
    at = begin(f)
    for done in sets:
        at = after(f, at, done)
    if now is not None and isinstance(at.today.ability, ByModel):
        at.today.ability = now
        if at.today.seen is not None:
            at.today.seen.after = now
    return at


def begin(f: Facts) -> Climb:
    """Before the first set."""
    if not f.sets:
        return Climb(Today(ability=f.g.ability), None, goal(f)[0], goal(f)[0], ends="most", counted=_before(f))
    first = f.sets[0]
    draft, reps = None, first.reps or goal(f)[0]
    top = first.reps_to or reps
    if first.load is not None and first.loading is not None:
        draft = rung(f.g, first.loading, reps, top)
    return Climb(Today(ability=f.g.ability), draft, reps, top, counted=_before(f), hanging=first.loading)


def _before(f: Facts) -> ByModel | None:
    return f.g.ability if isinstance(f.g.ability, ByModel) else None


def after(f: Facts, at: Climb, done: DoneSet) -> Climb:
    """The ladder after one more set; a set of another lift, a warm-up and what follows its end only count as done."""
    if done.lift != f.g.lift.id or done.role == "warm_up":
        return replace(at, today=replace(at.today, done=done, seen=None))
    kg = moved(f, done)
    if at.coming is not None and as_told(at.coming.load, done.load):
        done = replace(done, by_ladder=True)
    stands = Stands(None, (at.asked, at.top), kg, *expectation(at.today, done, kg))
    today = taken(f, at.today, Decision(), done, stands, reported_rpe(done, stands.expected))
    at = replace(at, counted=_counted(at, done, kg))
    if done.pain == "stop":
        return end(replace(at, today=today, found=None), "pain")
    if at.ends is not None and at.ends not in ("too_heavy", "hurts"):
        return replace(at, today=today)
    total = at.total + done.reps
    now = replace(at, today=today, number=at.number + 1, total=total, ends=None, coming=None, why=None, note=None)
    if done.load is None:
        return end(now, "most")
    if done.pain == "some" or done.ended_by == "pain":
        return _hurts(f, now, done)
    suggested = None if at.coming is None else at.coming.load
    return _judged(f, now, done, done.load, kg, suggested)


def _counted(at: Climb, done: DoneSet, kg: float | None) -> ByModel | None:
    """What is known with one more set, where its answer was a number or it was missed."""
    able = at.counted
    if able is None or kg is None or kg <= 0 or done.seconds is not None:
        return able
    said = heard(done, kg)
    if not said.failed and (said.rpe is None or said.rpe <= OR_MORE_RPE):
        return able
    person, row, _ = learn(able.person, able.row, said)
    return ByModel(row, person)


def as_told(asked: Load | None, done: Load | None) -> bool:
    """Whether a set was done with the load that a ladder asked for, or less: in another unit it hardly is the same.

    >>> from service.core.units import load
    >>> as_told(load(22.5, "kg"), load(22.5, "kg")), as_told(load(22.5, "kg"), load(49.5, "kg"))
    (True, False)
    """
    if asked is None or done is None or (asked.unit == "step") != (done.unit == "step"):
        return False
    if asked.unit == "step":
        return done.value <= asked.value
    return done.grains <= asked.grains + SAME * abs(asked.grains)


def _judged(f: Facts, at: Climb, done: DoneSet, load: Load, kg: float | None, suggested: Load | None) -> Climb:
    """What follows a step without pain; `suggested`: the load that it was to be."""
    reps, wanted = goal(f)
    seen = at.today.seen
    unsaid = seen is None or seen.reported is None or done.felt is not None  # nobody was told what to expect
    left = None if unsaid or seen is None or seen.reported is None else min(10 - seen.reported, HIGH_LEFT)
    whole = done.made and done.reps >= min(at.asked, reps) and done.ended_by in ("choice", "strength")
    if not whole:
        return _too_much(f, replace(at, ceiling=_lower(at.ceiling, kg)), load, kg, None)
    more = left is not None and left >= HIGH_LEFT and (done.or_more or (done.rpe or OR_MORE_RPE) < OR_MORE_RPE)
    this = Done(load, kg, done.reps, left, more)
    if left is None:
        return _limited(f, same_again(f, at, load, "unsaid"), this)
    slip = seen is not None and seen.verdict == "doubtful" and suggested is not None and load != suggested
    if (slip or done.answer == "excluded") and suggested is not None:  # what was suggested is as light as it was
        return _limited(f, same_again(f, at, suggested, "doubtful"), this)
    excess = done.reps + left - reps - wanted
    if more and done.reps < reps and excess < SMALL:  # easy, but nobody went on: all repetitions asked tell more
        return _limited(f, same_again(f, replace(at, steps=(*at.steps, this)), load, "all"), this)
    if excess <= -TOO_HARD:
        return _too_much(f, replace(at, ceiling=_lower(at.ceiling, kg)), load, kg, this)
    at = replace(at, steps=(*at.steps, this))
    if excess >= SMALL:
        return _limited(f, up(f, at, this, large=excess >= LARGE), this)
    if not enough(done.reps, left, reps, wanted):
        return _limited(f, _too_few(f, at, load, this), this)
    return end(replace(at, found=this), "found")


def _limited(f: Facts, at: Climb, this: Done) -> Climb:
    """The ladder, ended where it has had all its sets."""
    if at.ends is not None or not _used_up(f, at):
        return at
    return end(replace(at, found=at.steps[-1] if at.steps else this, coming=None), "most")


def _too_few(f: Facts, at: Climb, load: Load, this: Done) -> Climb:
    """After few repetitions that left a little less than all were to leave: something lighter, if it is here."""
    before = [one for one in at.steps if this.kg is not None and one.kg is not None and one.kg < this.kg - 1e-6]
    if not before:
        return same_again(f, at, load, "all")
    at = replace(at, ceiling=_lower(at.ceiling, this.kg))
    return between(f, at, before[-1], this) or end(replace(at, found=before[-1]), "harder")


def _used_up(f: Facts, at: Climb) -> bool:
    """Whether a ladder has had all its sets, or nearly all of its repetitions."""
    scheme = f.slot.scheme
    if at.number > (most_sets(scheme) if isinstance(scheme, Ladder) else 1):
        return True
    return at.total + min(goal(f)[0], FEWEST) > most_reps(goal(f)[0])


def _too_much(f: Facts, at: Climb, load: Load, kg: float | None, this: Done | None) -> Climb:
    """After a step that was missed, or left too little: the one before, something lighter, or fewer repetitions.

    `this`: where all repetitions were done.
    """
    before = [one for one in at.steps if kg is None or one.kg is None or one.kg < kg - 1e-6]
    if before:
        half = None if this is None or _used_up(f, at) else between(f, at, before[-1], this)
        return half or end(replace(at, found=before[-1]), "before" if this is None else "harder")
    lighter = lighter_one(f, load, kg)
    if lighter is not None and not _used_up(f, at):
        named = Named("load", lighter.load.value, lighter.load.unit)
        why = Step(f"{told(f, load)} was too much, so less is tried: {told(f, lighter.load)}.", "ladder_lighter",
                   (Named("last", load.value, load.unit),), named)  # fmt: skip
        return replace(coming_step(f, at, lighter, why), note="lighter")
    if this is not None:
        return end(replace(at, found=this), "fewer")
    return end(at, "too_heavy")


def _hurts(f: Facts, at: Climb, done: DoneSet) -> Climb:
    """After some pain the ladder goes no higher; the lighter set is only one of the ways to go on."""
    kg = moved(f, done)
    lighter = None if done.load is None else lighter_one(f, done.load, kg)
    if lighter is not None:
        named = Named("load", lighter.load.value, lighter.load.unit)
        why = Step(f"Less after pain: {told(f, lighter.load)}.", "after_pain", (), named)
        at = coming_step(f, at, lighter, why)
    return replace(at, ends="hurts", ceiling=_lower(at.ceiling, kg))


def _lower(one: float | None, other: float | None) -> float | None:
    return other if one is None else one if other is None else min(one, other)
