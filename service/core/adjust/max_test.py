"""A test, attempt by attempt: up after one that was made, down after a miss, by the published steps.

No attempt is heavier than what the last one makes likely. It ends when the attempts are used up, when one was made
with nothing left, when a load was missed twice, when nothing lies between what was made and what was missed, and at
pain.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from service.core import words
from service.core.ability.ability import Ability
from service.core.ability.by_model import ByModel
from service.core.adjust.facts import Decision, Facts, Planned
from service.core.adjust.judged import Stands
from service.core.adjust.max_test_state import EASILY, Trial, Try, expected, least_shown, likely
from service.core.adjust.steps import hung
from service.core.adjust.today import Today, expectation
from service.core.adjust.walk import moved, taken
from service.core.answers import Loading, Named, Step
from service.core.effort import HIGHEST_RPE, OR_MORE_RPE
from service.core.errors import DomainError
from service.core.estimate.rolling import reported_rpe
from service.core.loading.loading import Hung
from service.core.prescribe.grounds import hang_under
from service.core.prescribe.jumps import down_by, hung_below, next_down, next_up, up_by
from service.core.prescribe.max_test import (
    FIRST_PERCENT,
    approach_set,
    attempt,
    expected_of,
    is_held,
    most_attempts,
    reps_of,
    rise,
)
from service.core.prescribe.one_set import Draft
from service.core.records import WORK_ROLES, DoneSet
from service.core.units import Load, tidy

LEAST_STEP = 2.5
"""An attempt is at least so much above the one that was made, where the place allows it. Ours. [%]"""
MOST_APPROACH = 8
"""Sets before the attempts where nothing is known, the warm-up included: the protocol then goes on to attempts. Ours.
[sets]"""
EASY_LEFT = 4.0
"""A set before the attempts that leaves so many is followed by another one. Ours. [reps]"""
SAME = 1e-6
SLACK = 0.08
"""Part of a step that rounding may have taken off: no further set comes before the attempts for it. Ours. [1]"""


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
        at = replace(at, today=today, tries=(*at.tries, one), index=max(index, _first_attempt(f)))
    else:
        at = replace(at, today=today, before=(*at.before, one), index=index)
    at = replace(at, coming=None, why=None)
    if done.pain == "stop":
        return replace(at, ends="pain")
    if done.pain == "some" or done.ended_by == "pain":
        return replace(at, ends="hurts")
    return at if at.ends not in (None, "hurts") else _next(f, replace(at, ends=None))


def _first_attempt(f: Facts) -> int:
    """Place of the first attempt in the plan; past its end where none is planned."""
    return next((one.index for one in f.sets if one.role in WORK_ROLES), len(f.sets))


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
    if not at.tries and at.index < _first_attempt(f):
        missed = bool(at.before) and not at.before[-1].made
        if not missed:
            return replace(at, coming=_as_planned(f, f.sets[at.index], 0))
    if is_held(f.g) and len(at.before) >= _sets_before(f):
        return replace(at, ends="held")
    try:
        if at.tries:
            return _after_attempt(f, at, at.tries[-1])
        return _to_the_first(f, at)
    except DomainError:
        return replace(at, ends="too_far")


def _sets_before(f: Facts) -> int:
    """How many sets come before the attempts at least: where nothing is known, the protocol's three. [sets]"""
    return 1 if len(f.sets) > 1 else 3


def _as_planned(f: Facts, p: Planned, number: int) -> Draft:
    """A set of the plan."""
    if p.role == "top_set" and p.loading is not None:
        return attempt(f.g, p.loading, p.expected, number=number)
    if p.role == "build_up" and p.loading is not None:
        which = sum(1 for one in f.sets[: p.index] if one.role == "build_up")
        return approach_set(f.g, p.loading, min(which, 1))
    return Draft(role=p.role, reps=p.reps, reps_to=p.reps_to, load=p.load, loading=p.loading, kg=p.kg)


def _to_the_first(f: Facts, at: Trial) -> Trial:
    """The first attempt, or a further set before it."""
    last = at.before[-1] if at.before else None
    planned = [one for one in f.sets if one.role in WORK_ROLES]
    able = at.today.able
    if last is not None and not last.made and last.kg is not None:
        return _down(f, at, last)
    if last is None or last.load is None:
        if planned:
            return _planned_attempt(f, at, planned[0])
        return replace(at, coming=None, ends="too_far") if last is not None else _start(f, at)
    if last.kg is None:
        return _without_mass(f, at, last)
    silent = able is None or at.today.build_up is None  # nothing has told that today is another day
    if silent and planned and planned[0].kg is not None and planned[0].kg > last.kg + SAME:
        return _planned_attempt(f, at, planned[0])
    easy = f.start is None and last.rpe is not None and 10 - last.rpe >= EASY_LEFT and len(at.before) < MOST_APPROACH
    if able is None or easy:
        return _blindly(f, at, last, last.kg)
    return _from_today(f, at, last, last.kg, able)


def _from_today(f: Facts, at: Trial, last: Try, last_kg: float, able: Ability) -> Trial:
    """The first attempt from what today's sets have shown; another set before it where that is too far off. [kg]"""
    kg = able.within(reps_of(f.g), 10)
    low = able.span(kg, reps_of(f.g))[0]
    shown = least_shown(f, at)
    kg, low = max(kg, shown), max(low, shown)
    first = min(FIRST_PERCENT / 100 * kg, low)
    step = 1 + up_by(f.g.lift)[1] / 100
    if first > last_kg * step * (1 + SLACK) and len(at.before) < MOST_APPROACH:
        found = rise(f.g, last.load, last_kg, min(first / step, last_kg * step))
        if found is not None and f.g.effective(found.load) < first - SAME:
            which = 1 if f.g.effective(found.load) * step >= first else 0
            return _approach(f, at, found, which, last)
    chosen: Loading | Hung | None = hung_below(f.g, min(first, last_kg * step))
    if chosen is None or f.g.effective(chosen.load) <= last_kg + SAME:
        chosen = rise(f.g, last.load, last_kg, last_kg * (1 + LEAST_STEP / 100))
        if chosen is None and last.load is not None:
            chosen = hung(f.g, last.load)
    text = (
        f"By the sets so far, {words.mass(kg - f.g.body_kg, f.g.unit)} is expected: the first attempt is nearly sure."
    )
    inputs = (f.g.named("expected", kg), f.g.named("low", low), Named("percent", FIRST_PERCENT, "percent"))
    return _attempt(f, at, chosen, Step(text, "test_attempt", inputs, None))


def _start(f: Facts, at: Trial) -> Trial:
    """Nothing is known and nothing done: the plan's first set."""
    return replace(at, coming=_as_planned(f, f.sets[0], 0), index=0)


def _planned_attempt(f: Facts, at: Trial, p: Planned) -> Trial:
    return replace(at, coming=_as_planned(f, p, 1), index=p.index)


def _blindly(f: Facts, at: Trial, last: Try, kg: float) -> Trial:
    """No max can be read from the sets so far: the protocol's steps, until a set of two or three is no longer easy."""
    left = None if last.rpe is None else 10 - last.rpe
    easy = left is not None and left >= EASY_LEFT
    smaller, larger = up_by(f.g.lift)
    percent = larger if easy else smaller
    found = rise(f.g, last.load, kg, kg * (1 + percent / 100))
    if found is None:
        return replace(at, ends="heaviest")
    if len(at.before) >= 3 and not (easy and len(at.before) < MOST_APPROACH):
        text = f"The protocol's step of {percent:g} % leads to the first attempt."
        return _attempt(f, at, found, Step(text, "test_step", (Named("step", tidy(percent), "percent"),), None))
    return _approach(f, at, found, 0 if len(at.before) == 1 else 1, last)


def _approach(f: Facts, at: Trial, found: Loading | Hung, which: int, last: Try) -> Trial:
    draft = approach_set(f.g, found, which)
    draft.expected = expected(at, draft.kg, draft.reps or 1)
    _, larger = up_by(f.g.lift)
    text = f"Before the attempts the load rises by the protocol's steps of up to {larger:g} %."
    inputs = [Named("step", tidy(larger), "percent")]
    if last.load is not None:
        inputs.append(Named("last", last.load.value, last.load.unit))
    why = Step(text, "test_step", tuple(inputs), Named("load", found.load.value, found.load.unit))
    return replace(at, coming=draft, why=why, index=_first_attempt(f))


def _after_attempt(f: Facts, at: Trial, last: Try) -> Trial:
    if last.load is None:
        return replace(at, ends="all")
    if last.kg is None:
        return _without_mass(f, at, last)
    if not last.made:
        same = [one for one in at.tries if not one.made and one.kg is not None and abs(one.kg - last.kg) < SAME]
        if len(same) > 1:
            return replace(at, ends="twice")
        return _down(f, at, last) if last.by_strength else _once_more(f, at, last)
    if last.rpe is not None and last.rpe >= HIGHEST_RPE:
        return replace(at, ends="nothing_left")
    return _up(f, at, last, last.kg)


def _up(f: Facts, at: Trial, last: Try, kg: float) -> Trial:
    """After an attempt that was made."""
    smaller, larger = up_by(f.g.lift)
    inputs: list[Named] = []
    top = _top(f, at)
    if top is not None:
        inputs.append(f.g.named("expected", top))
        made = sum(one.made for one in at.tries)
        wanted = top if made > 1 or last.possible is not None else (kg + top) / 2
        least = kg * (1 + LEAST_STEP / 100)
        wanted = max(wanted, least)
    else:
        easily = last.rpe is not None and last.rpe <= EASILY
        wanted = kg * (1 + (larger if easily else smaller) / 100)
    most = kg * likely(f, last.rpe)
    held = wanted > most
    wanted = min(wanted, most)
    failed = (one.kg for one in at.tries if not one.made and one.kg is not None)
    ceiling = min((one for one in failed if one > kg + SAME), default=None)  # what was made since is none
    if ceiling is not None and wanted >= ceiling - SAME:
        return _under(f, at, last, kg, ceiling)
    found = rise(f.g, last.load, kg, wanted)
    if found is None:
        heavier = None if last.load is None else next_up(replace(f.g, cap=None), last.load)
        capped = heavier is not None and last.load is not None and next_up(f.g, last.load) is None
        return replace(at, ends="capped" if capped else "heaviest" if heavier is None else "too_far")
    if ceiling is not None and f.g.effective(found.load) >= ceiling - SAME:
        return _under(f, at, last, kg, ceiling)
    how = {True: "easily", False: "hard"}.get(last.rpe <= EASILY) if last.rpe is not None else None
    said = "" if how is None else f" {how}" if how == "easily" else ", and it was hard"
    text = f"{_say(f, last.load)} was made{said}: the next attempt is heavier, by {larger:g} % at most"
    if held and how == "easily":
        text += ", and by what was left it should leave a repetition"
        inputs.append(f.g.named("likely", most))
    text += "."
    if last.possible is not None:
        shown = least_shown(f, at)
        how = "That it was so easy counts"
        if last.rpe is not None and last.rpe <= OR_MORE_RPE:
            how = "5 or more left is read as at least that"
            inputs.append(Named("left", 5, "reps"))
        text += f" {how}: it shows {words.mass(shown - f.g.body_kg, f.g.unit)} or more."
        inputs.append(f.g.named("shown", shown))
    inputs += [Named("most", tidy(larger), "percent"), *_named("last", last.load)]
    return _attempt(f, at, found, Step(text, "test_step", tuple(inputs), None))


def _top(f: Facts, at: Trial) -> float | None:
    """What is expected by now; None where nothing is known. [kg]"""
    if at.today.able is not None:
        return max(at.today.able.within(reps_of(f.g), 10), least_shown(f, at))
    known = expected_of(f.g) if f.g.lift.technique else None
    return None if known is None else known.kg


def _under(f: Facts, at: Trial, last: Try, kg: float, ceiling: float) -> Trial:
    """Between what was made and what was missed; what was missed once more where this was easy."""
    half = hang_under(f.g, (kg + ceiling) / 2, rounding="nearest")
    if not kg + SAME < f.g.effective(half.load) < ceiling - SAME:
        up = None if last.load is None else next_up(f.g, last.load)
        if up is None or f.g.effective(up.load) >= ceiling - SAME:
            return _the_missed_again(f, at, last, ceiling)
        chosen: Loading | Hung = up
    else:
        chosen = half
    text = f"{_say(f, last.load)} was made and more was missed before: the next attempt lies between them."
    inputs = (*_named("last", last.load), f.g.named("missed", ceiling))
    return _attempt(f, at, chosen, Step(text, "test_step", inputs, None))


def _the_missed_again(f: Facts, at: Trial, last: Try, ceiling: float) -> Trial:
    missed = [one for one in at.tries if not one.made and one.kg is not None and abs(one.kg - ceiling) < SAME]
    easily = last.rpe is not None and last.rpe <= EASILY
    again = None if missed[0].load is None else hung(f.g, missed[0].load)
    if len(missed) > 1 or not easily or again is None:
        return replace(at, ends="between")
    text = f"{_say(f, last.load)} was made easily: {_say(f, missed[0].load)} is tried once more."
    inputs = (*_named("last", last.load), *_named("missed", missed[0].load))
    return _attempt(f, at, again, Step(text, "test_step", inputs, None))


def _down(f: Facts, at: Trial, last: Try) -> Trial:
    """After a miss by strength: the published step down, and never to what was made already. [kg]"""
    kg = last.kg or 0.0
    smaller, larger = down_by(f.g.lift)
    best = at.best
    wanted = kg * (1 - (smaller + larger) / 200)
    least = kg * (1 - smaller / 100)
    found = hang_under(f.g, wanted, rounding="nearest")
    if f.g.effective(found.load) > least + SAME:
        lower = hung_below(f.g, least)
        if lower is None:
            return replace(at, ends="no_lighter")
        found = lower
    if f.g.effective(found.load) > kg - SAME:
        return replace(at, ends="no_lighter")
    if best is not None and best.kg is not None and f.g.effective(found.load) <= best.kg + SAME:
        return _squeezed(f, at, last, best.kg, kg)
    text = (
        f"{_say(f, last.load)} was missed: by the protocol the load goes down by {smaller:g} to {larger:g} %, as near "
        "as the place has it."
    )
    inputs = (
        Named("from", tidy(smaller), "percent"),
        Named("to", tidy(larger), "percent"),
        *_named("missed", last.load),
    )
    return _attempt(f, at, found, Step(text, "test_down", inputs, None))


def _squeezed(f: Facts, at: Trial, last: Try, best: float, missed: float) -> Trial:
    """The step down would lead to what was made: only what lies between is worth an attempt."""
    half = hang_under(f.g, (best + missed) / 2, rounding="down")
    if not best + SAME < f.g.effective(half.load) < missed - SAME:
        return replace(at, ends="between")
    text = f"{_say(f, last.load)} was missed: the next attempt lies between it and what was made."
    inputs = (*_named("missed", last.load), f.g.named("made", best))
    return _attempt(f, at, half, Step(text, "test_down", inputs, None))


def _once_more(f: Facts, at: Trial, last: Try) -> Trial:
    """Missed for another reason than strength: the same load again, once."""
    again = None if last.load is None else hung(f.g, last.load)
    if again is None:
        return replace(at, ends="between")
    text = f"{_say(f, last.load)} was not missed for strength: it may be tried once more."
    return _attempt(f, at, again, Step(text, "test_step", _named("last", last.load), None))


def _without_mass(f: Facts, at: Trial, last: Try) -> Trial:
    """On steps without a mass: one up, one down."""
    if last.load is None:
        return replace(at, ends="all")
    if last.made:
        if last.rpe is not None and last.rpe >= HIGHEST_RPE:
            return replace(at, ends="nothing_left")
        found, end = next_up(f.g, last.load), "heaviest"
    else:
        found, end = next_down(f.g, last.load), "no_lighter"
    if found is None:
        return replace(at, ends=end)  # type: ignore[arg-type]
    tried = [one for one in at.tries if one.load == found.load]
    if tried:
        return replace(at, ends="between")
    if not at.tries and len(at.before) < 3:
        return _approach(f, at, found, 0 if len(at.before) == 1 else 1, last)
    up = "made: one step more" if last.made else "missed: one step less"
    return _attempt(f, at, found, Step(f"{_say(f, last.load)} was {up}.", "test_step", _named("last", last.load), None))


def _attempt(f: Facts, at: Trial, found: Loading | Hung | None, why: Step) -> Trial:
    """With a next attempt, for a reason."""
    if found is None:
        return replace(at, ends="too_far")
    kg = None if found.load.unit == "step" or f.body_kg is None else f.g.effective(found.load)
    draft = attempt(f.g, found, expected(at, kg, reps_of(f.g)), number=len(at.tries) + 1)
    why.result = Named("load", found.load.value, found.load.unit)
    place = _first_attempt(f) + len(at.tries)
    return replace(at, coming=draft, why=why, index=min(place, len(f.sets)))


def _say(f: Facts, load: Load | None) -> str:
    return "" if load is None else words.load(load, f.g.lift.load_kind)


def _named(name: str, load: Load | None) -> tuple[Named, ...]:
    return () if load is None else (Named(name, load.value, load.unit),)
