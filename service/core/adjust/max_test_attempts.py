"""From one attempt of a test to the next: up after one that was made, down after a miss, by the published steps.

No attempt is heavier than what the last one makes likely.
"""

from __future__ import annotations

from dataclasses import replace

from service.core import words
from service.core.adjust.facts import Facts
from service.core.adjust.max_test_state import EASILY, SAME, Trial, Try, least_shown, likely
from service.core.adjust.max_test_steps import make_attempt, named_load, say_load, without_mass
from service.core.adjust.steps import hung
from service.core.answers import Loading, Named, Step
from service.core.effort import HIGHEST_RPE, OR_MORE_RPE
from service.core.loading.loading import Hung
from service.core.prescribe.grounds import hang_under
from service.core.prescribe.jumps import down_by, hung_below, next_up, up_by
from service.core.prescribe.max_test import expected_of, reps_of, rise
from service.core.units import tidy

LEAST_STEP = 2.5
"""An attempt is at least so much above the one that was made, where the place allows it. Ours. [%]"""


def after_attempt(f: Facts, at: Trial, last: Try) -> Trial:
    """The next attempt, or the end."""
    if last.load is None:
        return replace(at, ends="all")
    if last.kg is None:
        return without_mass(f, at, last)
    if not last.made:
        if missed_again(at):
            return replace(at, ends="twice")
        return down(f, at, last) if last.by_strength else _once_more(f, at, last)
    if last.rpe is not None and last.rpe >= HIGHEST_RPE:
        return replace(at, ends="nothing_left")
    return _up(f, at, last, last.kg)


def missed_again(at: Trial) -> bool:
    """Whether the last attempt was missed with a load that had been missed before."""
    kg = at.tries[-1].kg
    missed = [one.kg for one in at.tries if not one.made and one.kg is not None]
    return kg is not None and sum(abs(one - kg) < SAME for one in missed) > 1


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
    text = f"{say_load(f, last.load)} was made{said}: the next attempt is heavier, by {larger:g} % at most"
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
    inputs += [Named("most", tidy(larger), "percent"), *named_load("last", last.load)]
    return make_attempt(f, at, found, Step(text, "test_step", tuple(inputs), None))


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
    text = f"{say_load(f, last.load)} was made and more was missed before: the next attempt lies between them."
    inputs = (*named_load("last", last.load), f.g.named("missed", ceiling))
    return make_attempt(f, at, chosen, Step(text, "test_step", inputs, None))


def _the_missed_again(f: Facts, at: Trial, last: Try, ceiling: float) -> Trial:
    missed = [one for one in at.tries if not one.made and one.kg is not None and abs(one.kg - ceiling) < SAME]
    easily = last.rpe is not None and last.rpe <= EASILY
    again = None if missed[0].load is None else hung(f.g, missed[0].load)
    if len(missed) > 1 or not easily or again is None:
        return replace(at, ends="between")
    text = f"{say_load(f, last.load)} was made easily: {say_load(f, missed[0].load)} is tried once more."
    inputs = (*named_load("last", last.load), *named_load("missed", missed[0].load))
    return make_attempt(f, at, again, Step(text, "test_step", inputs, None))


def down(f: Facts, at: Trial, last: Try) -> Trial:
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
        f"{say_load(f, last.load)} was missed: by the protocol the load goes down by {smaller:g} to {larger:g} %, as "
        "near as the place has it."
    )
    inputs = (
        Named("from", tidy(smaller), "percent"),
        Named("to", tidy(larger), "percent"),
        *named_load("missed", last.load),
    )
    return make_attempt(f, at, found, Step(text, "test_down", inputs, None))


def _squeezed(f: Facts, at: Trial, last: Try, best: float, missed: float) -> Trial:
    """The step down would lead to what was made: only what lies between is worth an attempt."""
    half = hang_under(f.g, (best + missed) / 2, rounding="down")
    if not best + SAME < f.g.effective(half.load) < missed - SAME:
        return replace(at, ends="between")
    text = f"{say_load(f, last.load)} was missed: the next attempt lies between it and what was made."
    inputs = (*named_load("missed", last.load), f.g.named("made", best))
    return make_attempt(f, at, half, Step(text, "test_down", inputs, None))


def _once_more(f: Facts, at: Trial, last: Try) -> Trial:
    """Missed for another reason than strength: the same load again, once."""
    again = None if last.load is None else hung(f.g, last.load)
    if again is None:
        return replace(at, ends="between")
    text = f"{say_load(f, last.load)} was not missed for strength: it may be tried once more."
    return make_attempt(f, at, again, Step(text, "test_step", named_load("last", last.load), None))
