"""A newcomer's ladder, step by step: how many more were possible decides whether it goes on, and by how much.

It climbs while more is left than the target asks for, and no answer can make a step too large: each load is one with
which nearly as much would be left as is wanted if no more had been possible than was said. "Five or more" says little
of a set of five, so that easy sets go on: fifteen with five or more left allow a step that five never do. It never goes
on from a set that reached the target, was missed, hurt, or has no answer yet.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from typing import Literal

from service.core import words
from service.core.ability.by_model import ByModel
from service.core.ability.hearing import heard
from service.core.adjust.facts import Decision, Facts
from service.core.adjust.judged import Stands
from service.core.adjust.steps import hung
from service.core.adjust.today import Today, expectation
from service.core.adjust.walk import moved, taken
from service.core.answers import Loading, Named, Step
from service.core.effort import OR_MORE_RPE
from service.core.errors import DomainError
from service.core.estimate.rolling import reported_rpe
from service.core.loading.loading import Hung
from service.core.model.learn import learn
from service.core.prescribe.jumps import hung_below, is_small, next_down, next_up, read_from, up_by
from service.core.prescribe.ladder import MORE_TO_SEE, most_sets, rung, to_see
from service.core.prescribe.one_set import Draft
from service.core.records import DoneSet
from service.core.slots import EffortTarget, Ladder
from service.core.units import Load, tidy

LARGE, SMALL = 1.5, 0.5
"""So many repetitions more than the target's are left: a large step, a small one; less: it is reached. Ours. [reps]"""
SMALL_STEP = 5.0
"""A small step is at most so much: the smallest of the published ones. [%]"""
TOO_HARD = 1.5
"""So many repetitions fewer than the target's are left: the load is more than a working load. Ours. [reps]"""
FAR_STEP = 25.0
"""While five or more are left no step is larger. Ours: published steps are for sets near a limit. [%]"""
STEEP = 1.2
"""Loads are read as if the lifter lost repetitions so many times as fast with the load as is usual: one in ten does.
The model's spread of curves between lifters. [1]"""
LIGHTER = 20.0
"""Less, where the first load was too much and something lighter is here. Ours. [%]"""
EASY_RPE = 6.0
"""Who is known already is brought near this effort in larger steps: four left, of which few are sure. Ours. [RPE]"""
HIGH_LEFT = 10 - OR_MORE_RPE
"""Five or more left is five: few lifters count further. [reps]"""

SAME = 0.01
"""Loads that differ by no more are the same, entered in another unit. Ours. [1]"""

LadderEnd = Literal[
    "found", "harder", "before", "fewer", "heaviest", "capped", "too_far", "most", "too_heavy", "pain", "hurts"
]
"""How a ladder ends. `found`: with this load; `harder`, `before`: with the one before, as this left too little or was
missed; `fewer`: with this load and fewer repetitions; `heaviest`: nothing heavier is here; `capped`: a coach allows no
more; `too_far`: the next is too far off; `most`: enough sets for today; `too_heavy`: the lightest was too much; `pain`:
it must stop; `hurts`: the lifter and the coach choose."""


@dataclass(frozen=True, slots=True)
class Done:
    """A step that was done with all its repetitions."""

    load: Load
    kg: float | None
    reps: int
    left: float | None
    """What was said to be left; None: nothing. [reps]"""
    more: bool = False
    """More than that were left: five or more."""


@dataclass(slots=True)
class Climb:
    """A ladder after the sets so far. Masses are effective. [kg]"""

    today: Today
    coming: Draft | None
    """The next step; None at its end."""
    asked: int
    """Repetitions that the coming step asks for. [reps]"""
    top: int
    """To how many it goes on while it is easy. [reps]"""
    number: int = 1
    """Of the coming step."""
    steps: tuple[Done, ...] = ()
    """Those that were completed."""
    ceiling: float | None = None
    """The lightest load that was too much. [kg]"""
    ends: LadderEnd | None = None
    found: Done | None = None
    """The working load, where there is one."""
    why: Step | None = None
    """Why the coming step is what it is."""
    note: Literal["unsaid", "doubtful", "more_reps", "coarse", "lighter"] | None = None
    """What is to be said of it."""
    counted: ByModel | None = field(default=None, repr=False)
    """What the lifter can do by what was known before and by sets with a counted answer: "five or more" only says "at
    least"."""
    hanging: Loading | Hung | None = field(default=None, repr=False)
    """How the coming load hangs."""


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


def goal(f: Facts) -> tuple[int, float]:
    """Repetitions of a step, and how many the working load leaves. [reps]"""
    target = f.slot.target
    if not isinstance(target, EffortTarget):
        return max(5, f.g.fewest), 3.0
    most = 10.0 if f.g.rpe_cap is None else f.g.rpe_cap
    return max(target.reps, f.g.fewest), 10 - min(target.asked_rpe, most)


def after(f: Facts, at: Climb, done: DoneSet) -> Climb:
    """The ladder after one more set; a set of another lift, a warm-up and what follows its end only count as done."""
    if done.lift != f.g.lift.id or done.role == "warm_up":
        return replace(at, today=replace(at.today, done=done, seen=None))
    kg = moved(f, done)
    if at.coming is not None and as_told(at.coming.load, done.load):
        done = replace(done, by_ladder=True)
    stands = Stands(None, (at.asked, at.top), kg, expectation(at.today, done, kg))
    today = taken(f, at.today, Decision(), done, stands, reported_rpe(done, stands.expected))
    at = replace(at, counted=_counted(at, done, kg))
    if done.pain == "stop":
        return _end(replace(at, today=today, found=None), "pain")
    if at.ends is not None and at.ends not in ("too_heavy", "hurts"):
        return replace(at, today=today)
    now = replace(at, today=today, number=at.number + 1, ends=None, coming=None, why=None, note=None)
    if done.load is None:
        return _end(now, "most")
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


def as_told(told: Load | None, done: Load | None) -> bool:
    """Whether a set was done with the load that a ladder asked for, or less: in another unit it hardly is the same.

    >>> from service.core.units import load
    >>> as_told(load(22.5, "kg"), load(22.5, "kg")), as_told(load(22.5, "kg"), load(49.5, "kg"))
    (True, False)
    """
    if told is None or done is None or (told.unit == "step") != (done.unit == "step"):
        return False
    if told.unit == "step":
        return done.value <= told.value
    return done.grains <= told.grains + SAME * abs(told.grains)


def _judged(f: Facts, at: Climb, done: DoneSet, load: Load, kg: float | None, suggested: Load | None) -> Climb:
    """What follows a step without pain; `suggested`: the load that it was to be."""
    reps, wanted = goal(f)
    seen = at.today.seen
    unsaid = seen is None or seen.reported is None or done.felt is not None  # nobody was told what to expect
    left = None if unsaid or seen is None or seen.reported is None else min(10 - seen.reported, HIGH_LEFT)
    whole = done.made and done.reps >= reps and done.ended_by in ("choice", "strength")
    if not whole:
        return _too_much(f, replace(at, ceiling=_lower(at.ceiling, kg)), load, kg, None)
    more = left is not None and left >= HIGH_LEFT and (done.or_more or (done.rpe or OR_MORE_RPE) < OR_MORE_RPE)
    this = Done(load, kg, done.reps, left, more)
    if left is None:
        return _limited(f, _same_again(f, at, load, "unsaid"), this)
    slip = seen is not None and seen.verdict == "doubtful" and suggested is not None and load != suggested
    if (slip or done.answer == "excluded") and suggested is not None:  # what was suggested is as light as it was
        return _limited(f, _same_again(f, at, suggested, "doubtful"), this)
    excess = done.reps + left - reps - wanted
    if excess <= -TOO_HARD:
        return _too_much(f, replace(at, ceiling=_lower(at.ceiling, kg)), load, kg, this)
    at = replace(at, steps=(*at.steps, this))
    if excess < SMALL:
        return _end(replace(at, found=this), "found")
    return _limited(f, _up(f, at, this, large=excess >= LARGE), this)


def _limited(f: Facts, at: Climb, this: Done) -> Climb:
    """The ladder, ended where it has had all its sets."""
    scheme = f.slot.scheme
    if at.ends is not None or at.number <= (most_sets(scheme) if isinstance(scheme, Ladder) else 1):
        return at
    return _end(replace(at, found=at.steps[-1] if at.steps else this, coming=None), "most")


def _up(f: Facts, at: Climb, this: Done, *, large: bool) -> Climb:
    """The next heavier step, or the end where there is none that may be tried."""
    reps, wanted = goal(f)
    smaller, larger = up_by(f.g.lift)
    nearest = _next_up(f, this.load)
    if nearest is None:
        more = None if f.g.cap is None else _next_up(replace(f, g=replace(f.g, cap=None)), this.load)
        return _end(replace(at, found=this), "heaviest" if more is None else "capped")
    if this.kg is None or nearest.load.unit == "step":  # steps without a mass: one at a time, and only for a large one
        return _go(f, at, nearest, this, None) if large else _end(replace(at, found=this), "found")
    far = (this.left or 0.0) >= HIGH_LEFT
    read = read_from(this.reps + (this.left or 0.0), reps + max(wanted - 1, 0.0), steep=STEEP if large else 1.0)
    percent = min(smaller, SMALL_STEP) if not large else FAR_STEP if far else larger
    most = this.kg * min(1 + percent / 100, read)
    if at.ceiling is not None:
        most = min(most, at.ceiling * (1 - 1e-6))
    easy = _known_easy(f, this.kg) if large else None
    if easy is not None and easy > most and (at.ceiling is None or easy < at.ceiling):
        known = hung_below(f.g, easy)
        if known is not None and f.g.effective(known.load) > most:
            return _go_by_log(f, at, known, this)
    chosen = hung_below(f.g, most)
    if chosen is not None and f.g.effective(chosen.load) > this.kg + 1e-6:
        return _go(f, at, chosen, this, read, percent)
    return _coarse(f, at, this, nearest, read, large=large)


def _coarse(f: Facts, at: Climb, this: Done, nearest: Loading, read: float, *, large: bool) -> Climb:
    """Where the smallest step of the place is more than a step should be. `read`: by how much it may rise. [1]"""
    kg, last = f.g.effective(nearest.load), this.kg or 0.0
    if at.ceiling is not None and kg >= at.ceiling - 1e-6:
        return _end(replace(at, found=this), "before")
    if kg <= last * read + 1e-6:
        return _go(f, at, nearest, this, read)
    if not large:
        return _end(replace(at, found=this), "found")
    reps, wanted = goal(f)
    again = len(at.steps) > 1 and at.steps[-2].load == this.load
    full = this.reps >= reps + MORE_TO_SEE
    if (this.left or 0.0) >= HIGH_LEFT and not full and not again:
        return _same_again(f, at, this.load, "more_reps")
    possible = this.reps + (this.left or 0.0)
    # more was left than five, though nobody went on: all asked still go up; else nearly what is wanted is left
    least = reps + max(wanted - 2, 0.0) if not this.more else reps
    if is_small(f.g, kg - last) and (full or kg <= last * read_from(possible, least)):
        return replace(_go(f, at, nearest, this, None), note="coarse")
    return _end(replace(at, found=this), "too_far")


def _known_easy(f: Facts, kg: float) -> float | None:
    """Half way to what was easy by all that was known before the session; None where nothing was. [kg]"""
    if f.start is None or not f.start.known:
        return None
    easy = f.start.most(goal(f)[0], EASY_RPE)
    return kg + (easy - kg) / 2 if easy > kg else None


def _go_by_log(f: Facts, at: Climb, chosen: Loading | Hung, this: Done) -> Climb:
    shown = chosen.load
    text = f"{_say(f, this.load)} was easy, and by what is known already {_say(f, shown)} will be too."
    inputs = (Named("last", this.load.value, this.load.unit),)
    why = Step(text, "ladder_step", inputs, Named("load", shown.value, shown.unit))
    return _coming(f, at, chosen, why)


def _go(
    f: Facts, at: Climb, chosen: Loading | Hung, this: Done, read: float | None, percent: float | None = None
) -> Climb:
    """One step up, with its reason."""
    shown = chosen.load
    inputs = [Named("load", this.load.value, this.load.unit), Named("reps", this.reps, "reps")]
    inputs.append(Named("left", tidy(this.left or 0, 1), "reps"))
    said = "five or more" if (this.left or 0) >= HIGH_LEFT else f"{tidy(this.left or 0, 1):g}"
    step = "the next one here"
    if percent is not None and read is not None:
        inputs.append(Named("step", tidy(percent), "percent"))
        step = f"a step of up to {percent:g} %"
    elif read is not None:
        step = "the smallest step here"
    text = f"{this.reps} with {_say(f, this.load)} and {said} left: {step} to {_say(f, shown)}."
    if read is not None:
        most = tidy(100 * (read - 1), 1)
        inputs.append(Named("most", most, "percent"))
        least = tidy(max(goal(f)[1] - 1, 0.0), 1)
        inputs.append(Named("least_left", least, "reps"))
        text += f" {most:g} % more is the most after which {least:g} would be left if no more were possible than said."
    why = Step(text, "ladder_step", tuple(inputs), Named("load", shown.value, shown.unit))
    return _coming(f, at, chosen, why)


def _same_again(f: Facts, at: Climb, load: Load, note: Literal["unsaid", "doubtful", "more_reps"]) -> Climb:
    """The same load once more."""
    found = _hang(f, load)
    top = goal(f)[0] + MORE_TO_SEE
    if found is None:
        return _end(at, "most")
    texts = {
        "unsaid": f"How many more were possible was not said, so {_say(f, load)} stays.",
        "doubtful": f"The last set is too far off to be believed yet, so {_say(f, load)} stays.",
        "more_reps": f"The next load here is too far off to be tried yet: up to {top} repetitions with {_say(f, load)} "
        "show whether it may be.",
    }
    named = Named("load", load.value, load.unit)
    inputs = (Named("reps", top, "reps"), named) if note == "more_reps" else (named,)
    why = Step(texts[note], "ladder_same", inputs, named)
    return replace(_coming(f, at, found, why), note=note)


def _too_much(f: Facts, at: Climb, load: Load, kg: float | None, this: Done | None) -> Climb:
    """After a step that was missed, or left too little: the one before, something lighter, or fewer repetitions.

    `this`: where all repetitions were done.
    """
    before = [one for one in at.steps if kg is None or one.kg is None or one.kg < kg - 1e-6]
    if before:
        return _end(replace(at, found=before[-1]), "before" if this is None else "harder")
    lighter = _lighter(f, load, kg)
    scheme = f.slot.scheme
    if lighter is not None and isinstance(scheme, Ladder) and at.number <= most_sets(scheme):
        named = Named("load", lighter.load.value, lighter.load.unit)
        why = Step(f"{_say(f, load)} was too much, so less is tried: {_say(f, lighter.load)}.", "ladder_lighter",
                   (Named("last", load.value, load.unit),), named)  # fmt: skip
        return replace(_coming(f, at, lighter, why), note="lighter")
    if this is not None:
        return _end(replace(at, found=this), "fewer")
    return _end(at, "too_heavy")


def _lighter(f: Facts, load: Load, kg: float | None) -> Loading | Hung | None:
    """Something clearly lighter that is here; the next lighter one where nothing else is."""
    if f.g.lift.load_kind == "bodyweight" and load.value <= 0 and f.sets[0].load is not None:
        assisted = f.sets[0].load.value < 0
        if not assisted:  # no machine: what helps instead is for the coach to say
            return None
    if kg is None or load.unit == "step":
        return next_down(f.g, load)
    chosen = hung_below(f.g, kg * (1 - LIGHTER / 100))
    return chosen if chosen is not None else next_down(f.g, load)


def _hurts(f: Facts, at: Climb, done: DoneSet) -> Climb:
    """After some pain the ladder goes no higher; the lighter set is only one of the ways to go on."""
    kg = moved(f, done)
    lighter = None if done.load is None else _lighter(f, done.load, kg)
    if lighter is not None:
        named = Named("load", lighter.load.value, lighter.load.unit)
        why = Step(f"Less after pain: {_say(f, lighter.load)}.", "after_pain", (), named)
        at = _coming(f, at, lighter, why)
    return replace(at, ends="hurts", ceiling=_lower(at.ceiling, kg))


def _coming(f: Facts, at: Climb, chosen: Loading | Hung, why: Step) -> Climb:
    """With a next step. What it should be is told once an answer has been a number: five or more tells no upper end.

    Until then it goes on while it is easy, but for after something that was too much.
    """
    reps = goal(f)[0]
    counted = bool(at.steps) and (HIGH_LEFT if at.steps[-1].left is None else at.steps[-1].left) < HIGH_LEFT
    top = reps if counted or at.ceiling is not None else to_see(f.g, chosen, reps)
    able = at.today.able if counted else None
    kg = None if chosen.load.unit == "step" or f.body_kg is None else f.g.effective(chosen.load)
    expected = None if able is None or kg is None or kg <= 0 else able.expected(kg, reps)
    draft = rung(f.g, chosen, reps, top, expected)
    return replace(at, coming=draft, asked=reps, top=top, why=why, hanging=chosen)


def _end(at: Climb, how: LadderEnd) -> Climb:
    return replace(at, ends=how, coming=None, why=None, note=None)


def _hang(f: Facts, load: Load) -> Loading | Hung | None:
    """A load that was lifted, as it hangs here."""
    return hung(f.g, load)


def _next_up(f: Facts, load: Load) -> Loading | None:
    try:
        return next_up(f.g, load)
    except DomainError:
        return None


def _lower(one: float | None, other: float | None) -> float | None:
    return other if one is None else one if other is None else min(one, other)


def _say(f: Facts, load: Load) -> str:
    return words.load(load, f.g.lift.load_kind)
