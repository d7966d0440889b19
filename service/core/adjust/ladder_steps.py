"""The step that follows in a newcomer's ladder: heavier, the same once more, or lighter."""

from __future__ import annotations

from dataclasses import replace
from typing import Literal

from service.core import words
from service.core.adjust.facts import Facts
from service.core.adjust.ladder_state import Climb, Done, LadderEnd, goal
from service.core.adjust.steps import hung
from service.core.answers import Loading, Named, Step
from service.core.errors import DomainError
from service.core.loading.loading import Hung
from service.core.prescribe.from_ladder import HIGH_LEFT
from service.core.prescribe.jumps import FAR_STEP, STEEP, hung_below, is_small, next_down, next_up, read_from, up_by
from service.core.prescribe.ladder import MORE_TO_SEE, far, fewest, least_left, most_reps, most_sets, rung, to_see
from service.core.slots import Ladder
from service.core.units import Load, tidy

SMALL_STEP = 5.0
"""A small step is at most so much: the smallest of the published ones. [%]"""
LIGHTER = 20.0
"""Less, where the first load was too much and something lighter is here. Ours. [%]"""
EASY_RPE = 6.0
"""Who is known already is brought near this effort in larger steps: four left, of which few are sure. Ours. [RPE]"""


def up(f: Facts, at: Climb, this: Done, *, large: bool) -> Climb:
    """The next heavier step, or the end where there is none that may be tried."""
    reps, _ = goal(f)
    smaller, larger = up_by(f.g.lift)
    nearest = _next_up(f, this.load)
    if nearest is None:
        more = None if f.g.cap is None else _next_up(replace(f, g=replace(f.g, cap=None)), this.load)
        return end(replace(at, found=this), "heaviest" if more is None else "capped")
    if this.kg is None or nearest.load.unit == "step":  # steps without a mass: one at a time, and only for a large one
        return go(f, at, nearest, this, None) if large else end(replace(at, found=this), "found")
    far_off = (this.left or 0.0) >= HIGH_LEFT
    to_its_end = far_off and this.reps >= at.top and at.ceiling is None
    read = read_from(this.reps + (this.left or 0.0), reps + least_left(f.g), steep=STEEP if large else 1.0)
    if to_its_end:  # two repetitions tell whether it was too large a step
        read = max(read, far(f.g, reps, this.reps))
    percent = min(smaller, SMALL_STEP) if not large else FAR_STEP if far_off else larger
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
        return go(f, at, chosen, this, read, percent)
    return _coarse(f, at, this, nearest, read, large=large)


def _coarse(f: Facts, at: Climb, this: Done, nearest: Loading, read: float, *, large: bool) -> Climb:
    """Where the smallest step of the place is more than a step should be. `read`: by how much it may rise. [1]"""
    kg, last = f.g.effective(nearest.load), this.kg or 0.0
    if at.ceiling is not None and kg >= at.ceiling - 1e-6:
        return end(replace(at, found=this), "before")
    if kg <= last * read + 1e-6:
        return go(f, at, nearest, this, read)
    if not large:
        return end(replace(at, found=this), "found")
    reps, _ = goal(f)
    again = len(at.steps) > 1 and at.steps[-2].load == this.load
    full = this.reps >= reps + MORE_TO_SEE
    if (this.left or 0.0) >= HIGH_LEFT and not full and not again:
        return same_again(f, at, this.load, "more_reps")
    possible = this.reps + (this.left or 0.0)
    # who says that more than five were left, though nobody went on, may be strong: all asked still go up
    if is_small(f.g, kg - last) and (full or (this.more and kg <= last * read_from(possible, reps))):
        return replace(go(f, at, nearest, this, None), note="coarse")
    return end(replace(at, found=this), "too_far")


def _known_easy(f: Facts, kg: float) -> float | None:
    """Half way to what was easy by all that was known before the session; None where nothing was. [kg]"""
    if f.start is None or not f.start.known:
        return None
    easy = f.start.most(goal(f)[0], EASY_RPE)
    return kg + (easy - kg) / 2 if easy > kg else None


def _go_by_log(f: Facts, at: Climb, chosen: Loading | Hung, this: Done) -> Climb:
    shown = chosen.load
    text = f"{told(f, this.load)} was easy, and by what is known already {told(f, shown)} will be too."
    inputs = (Named("last", this.load.value, this.load.unit),)
    why = Step(text, "ladder_step", inputs, Named("load", shown.value, shown.unit))
    return coming_step(f, at, chosen, why)


def go(
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
    text = f"{this.reps} with {told(f, this.load)} and {said} left: {step} to {told(f, shown)}."
    if read is not None:
        most = tidy(100 * (read - 1), 1)
        inputs.append(Named("most", most, "percent"))
        least = tidy(max(goal(f)[1] - 1, 0.0), 1)
        inputs.append(Named("least_left", least, "reps"))
        text += f" {most:g} % more is the most after which {least:g} would be left if no more were possible than said."
    why = Step(text, "ladder_step", tuple(inputs), Named("load", shown.value, shown.unit))
    return coming_step(f, at, chosen, why)


def same_again(f: Facts, at: Climb, load: Load, note: Literal["unsaid", "doubtful", "more_reps", "all"]) -> Climb:
    """The same load once more."""
    found = _hang(f, load)
    reps = goal(f)[0]
    top = reps + MORE_TO_SEE
    if found is None:
        return end(at, "most")
    texts = {
        "unsaid": f"How many more were possible was not said, so {told(f, load)} stays.",
        "doubtful": f"The last set is too far off to be believed yet, so {told(f, load)} stays.",
        "more_reps": f"The next load here is too far off to be tried yet: up to {top} repetitions with {told(f, load)} "
        "show whether it may be.",
        "all": f"So few repetitions with {told(f, load)} do not tell enough: {reps} with it do.",
    }
    named = Named("load", load.value, load.unit)
    counts = {"more_reps": top, "all": reps}
    inputs = (Named("reps", counts[note], "reps"), named) if note in counts else (named,)
    why = Step(texts[note], "ladder_same", inputs, named)
    span = {"more_reps": (reps, top), "all": (reps, reps)}.get(note)
    return replace(coming_step(f, at, found, why, span), note=note)


def between(f: Facts, at: Climb, before: Done, this: Done) -> Climb | None:
    """After a step that left too little: the load that it speaks for, where one lies over the step before.

    With fewer than all repetitions a step may be larger than with all of them, and so it may miss a working load.
    """
    reps, wanted = goal(f)
    if this.kg is None or before.kg is None or this.left is None:
        return None
    read = read_from(max(this.reps + this.left, 1.0), reps + wanted)
    chosen = hung_below(f.g, this.kg * read)
    if chosen is None or not before.kg + 1e-6 < f.g.effective(chosen.load) < this.kg - 1e-6:
        return None
    said, percent = tidy(this.left, 1), tidy(100 * (1 - read), 1)
    text = (
        f"{this.reps} with {told(f, this.load)} and {said:g} left were too much: {reps} that leave "
        f"{tidy(wanted, 1):g} take {percent:g} % less. That is {told(f, chosen.load)}."
    )
    inputs = (
        Named("load", this.load.value, this.load.unit), Named("done", this.reps, "reps"), Named("left", said, "reps"),
        Named("less", percent, "percent"), Named("reps", reps, "reps"), Named("wanted", tidy(wanted, 1), "reps"),
    )  # fmt: skip
    why = Step(text, "ladder_lighter", inputs, Named("load", chosen.load.value, chosen.load.unit))
    return replace(coming_step(f, at, chosen, why), note="between")


def lighter_one(f: Facts, load: Load, kg: float | None) -> Loading | Hung | None:
    """Something clearly lighter that is here; the next lighter one where nothing else is."""
    if f.g.lift.load_kind == "bodyweight" and load.value <= 0 and f.sets[0].load is not None:
        assisted = f.sets[0].load.value < 0
        if not assisted:  # no machine: what helps instead is for the coach to say
            return None
    if kg is None or load.unit == "step":
        return next_down(f.g, load)
    chosen = hung_below(f.g, kg * (1 - LIGHTER / 100))
    return chosen if chosen is not None else next_down(f.g, load)


def coming_step(f: Facts, at: Climb, chosen: Loading | Hung, why: Step, span: tuple[int, int] | None = None) -> Climb:
    """With a next step. What it should be is told once an answer has been a number: five or more tells no upper end.

    Until then it needs few repetitions and goes on while it is easy, but for after something that was too much. `span`:
    repetitions from and to, where something else is asked. [reps]
    """
    reps = goal(f)[0]
    counted = bool(at.steps) and (HIGH_LEFT if at.steps[-1].left is None else at.steps[-1].left) < HIGH_LEFT
    asked = top = reps
    if span is not None:
        asked, top = span
    elif not counted and at.ceiling is None:
        asked, top = fewest(f.g, chosen, reps), to_see(f.g, chosen, reps)
        if top > reps and isinstance(f.slot.scheme, Ladder) and at.number >= most_sets(f.slot.scheme):
            top = reps + 2 * MORE_TO_SEE  # the last one: what it shows is for the next session
    top = max(min(top, most_reps(reps) - at.total), asked)
    able = at.today.able if counted else None
    kg = None if chosen.load.unit == "step" or f.body_kg is None else f.g.effective(chosen.load)
    expected = None if able is None or kg is None or kg <= 0 else able.expected(kg, reps)
    draft = rung(f.g, chosen, asked, top, expected)
    return replace(at, coming=draft, asked=asked, top=top, why=why, hanging=chosen)


def end(at: Climb, how: LadderEnd) -> Climb:
    """The ladder at its end."""
    return replace(at, ends=how, coming=None, why=None, note=None)


def _hang(f: Facts, load: Load) -> Loading | Hung | None:
    """A load that was lifted, as it hangs here."""
    return hung(f.g, load)


def _next_up(f: Facts, load: Load) -> Loading | None:
    try:
        return next_up(f.g, load)
    except DomainError:
        return None


def told(f: Facts, load: Load) -> str:
    """A load as it was lifted, in words."""
    return words.load(load, f.g.lift.load_kind)
