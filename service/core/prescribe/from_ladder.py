"""The working load that a newcomer's ladder found, as the start of a load that grows from session to session."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from service.core import words
from service.core.answers import Named, Step
from service.core.effort import OR_MORE_RPE
from service.core.prescribe.aim import Aim, body_steps
from service.core.prescribe.ease import eased_load
from service.core.prescribe.grounds import Grounds, heavier
from service.core.prescribe.jumps import FAR_STEP, STEEP, hung_below, read_from
from service.core.prescribe.ladder import FEWEST, MORE_TO_SEE, USUAL_LEFT, most_reps, most_sets
from service.core.records import PastWork
from service.core.slots import EffortTarget, Ladder, LoadTarget, Slot
from service.core.units import Load, tidy

HIGH_LEFT = 10 - OR_MORE_RPE
"""Five or more left is five: few lifters count further. [reps]"""
TOO_HARD = 1.5
"""So many repetitions fewer than wanted are left: the load is more than a working load. Ours. [reps]"""


@dataclass(frozen=True, slots=True)
class Rung:
    """One set of a ladder that was climbed."""

    load: Load
    reps: int
    left: float | None
    """What was said to be left; None: nothing. [reps]"""
    whole: bool
    """No repetition was missed, and strength or choice ended it."""
    painful: bool = False


def is_ladder(slot: Slot) -> bool:
    """Whether a slot looks for a working load."""
    return isinstance(slot.scheme, Ladder)


def found_by_ladder(slot: Slot, lift: str, on: date, done: Sequence[Rung]) -> PastWork | None:
    """The working load of a ladder: the heaviest with all repetitions and nearly as many left as wanted.

    It is lighter than all that was missed, hurt or left too little. None where there is none, or steps of a machine
    were mixed with masses.

    Examples
    --------
    >>> from service.core.units import load
    >>> on = Slot(lift="squat", scheme=Ladder(), target=EffortTarget(reps=5, rir=3))
    >>> climbed = [Rung(load(kg, "kg"), 5, left, whole=True) for kg, left in ((20, 5), (30, 4), (35, 1))]
    >>> found_by_ladder(on, "squat", date(2026, 1, 1), climbed).load.value
    30
    """
    target = slot.target
    reps, wanted = (target.reps, 10 - target.asked_rpe) if isinstance(target, EffortTarget) else (5, USUAL_LEFT)
    if len({one.load.unit == "step" for one in done}) > 1:
        return None
    best: tuple[float, Rung, float] | None = None
    most: float | None = None
    for one in done:
        size = _size(one.load)
        left = None if one.left is None else min(one.left, HIGH_LEFT)
        short = not one.whole or one.painful or one.reps < min(reps, FEWEST)
        if short or (left is not None and one.reps + left - reps - wanted <= -TOO_HARD):
            most = size if most is None else min(most, size)
        elif left is not None and enough(one.reps, left, reps, wanted) and (best is None or size >= best[0]):
            best = size, one, left
    if most is not None and best is not None and best[0] >= most:
        under = [one for one in done if _size(one.load) < most]
        return found_by_ladder(slot, lift, on, under) if under else None
    if best is None:
        return None
    _, one, left = best
    all_sets = isinstance(slot.scheme, Ladder) and len(done) >= most_sets(slot.scheme)
    all_sets = all_sets or sum(each.reps for each in done) + FEWEST > most_reps(reps)
    easy = one is done[-1] and left >= HIGH_LEFT and one.reps >= reps + MORE_TO_SEE
    onward = most is None and all_sets and easy
    return PastWork(lift=lift, on=on, load=one.load, reps=(one.reps,), goal=reps, sets=1, target=target,
                    left=tidy(left, 1), onward=onward)  # fmt: skip


def enough(done: int, left: float, reps: int, wanted: float) -> bool:
    """Whether a step tells that a load is a working load: all repetitions, or as many possible as it has. [reps]"""
    return done >= reps or done + left >= reps + wanted


def ladder_before(past: Iterable[PastWork], slot: Slot) -> PastWork | None:
    """The lift's newest ladder, where no load of it has grown since."""
    last = None
    for one in past:
        if one.lift == slot.lift and not one.lighter:
            last = one
    return last if last is not None and last.left is not None else None


def from_ladder(g: Grounds, found: PastWork) -> Aim | None:
    """The working load again, nothing added; where the slot asks for more repetitions, as much less as leaves as many.

    Where the ladder ended before its load had been found, it goes on by the step that it would have made next.
    None where that cannot be told: more repetitions with a machine's steps that have no mass.
    """
    low, high = words.target_reps(g.slot.target)
    reps = high or low
    if reps is None:
        return None
    days = (g.ctx.on - found.on).days
    ago = words.plural(days, "day") + " ago" if days else "Today"
    was, count = words.load(found.load, g.lift.load_kind), words.plural(found.reps[0], "repetition")
    left = "five or more" if (found.left or 0) >= HIGH_LEFT else f"{tidy(found.left or 0, 1):g}"
    text = f"{ago} a ladder found {was}: {count} with {left} left. The load starts with it, nothing is added."
    inputs = [
        Named("days_ago", days, "days"),
        Named("reps", found.reps[0], "reps"),
        Named("left", found.left or 0, "reps"),
    ]
    step = Step(text, "ladder_load", tuple(inputs), Named("load", found.load.value, found.load.unit))
    covered = max(found.reps[0], found.goal)  # with fewer repetitions more were left than the ladder looked for
    more = reps > covered
    further = None if found.load.unit == "step" or g.massless else _further(g, found, reps)
    if further is not None:
        shown, why = further
        kg, steps = g.effective(shown), [why]
        more = False
    elif g.massless or found.load.unit == "step":
        return (
            None
            if more or not g.massless or found.load.unit != "step"
            else Aim(step=found.load, steps=(step,), same=True)
        )
    else:
        kg, steps = g.effective(found.load), [step]
    if more:
        possible = found.reps[0] + float(found.left or 0)
        kg *= min(1.0, read_from(possible, reps + possible - covered))
        text = f"{reps} repetitions that leave as many take less: {words.mass(kg - g.body_kg, g.unit)}."
        asked = (Named("reps", reps, "reps"), Named("possible", tidy(possible, 1), "reps"))
        steps.append(Step(text, "ladder_load", asked, g.named("exact", kg)))
    lighter: tuple[object, ...] = ()
    ease = g.eased
    if ease is not None and ease.load < 1 and 1 <= ease.absent_days <= days:
        kg, lighter = eased_load(g, kg)
    return Aim(kg=kg, steps=(*steps, *lighter, *body_steps(g, kg)), same=True)  # type: ignore[arg-type]


def _further(g: Grounds, found: PastWork, reps: int) -> tuple[Load, Step] | None:
    """One step past a ladder all of whose sets were easy, to a load for `reps`, and why; None where there is none.

    As in the ladder: as much would be left as it wanted, if no more had been possible than was said, and the lifter
    lost repetitions faster with the load than is usual. On the way back from an absence nothing is added. [reps]
    """
    wanted = 10 - found.target.asked_rpe if isinstance(found.target, EffortTarget) else USUAL_LEFT
    possible = found.reps[0] + float(found.left or 0)
    if not found.onward or possible <= reps + wanted or g.eased is not None:
        return None
    read = min(read_from(possible, reps + wanted, steep=STEEP), 1 + FAR_STEP / 100)
    hung = hung_below(g, g.effective(found.load) * read)
    if hung is None or not heavier(hung.load, found.load):
        return None
    was, shown = words.load(found.load, g.lift.load_kind), words.load(hung.load, g.lift.load_kind)
    days, done = (g.ctx.on - found.on).days, words.plural(found.reps[0], "repetition")
    ago = words.plural(days, "day") + " ago" if days else "Today"
    percent = tidy(100 * (read - 1), 1)
    text = (
        f"{ago} a ladder had all its sets when {done} with {was} were still easy. It goes on from there: {percent:g} % "
        f"more is the most for {words.plural(reps, 'repetition')} that leave {tidy(wanted, 1):g}, if no more were "
        f"possible than said. That is {shown}."
    )
    inputs = (
        Named("days_ago", days, "days"), Named("last", found.load.value, found.load.unit),
        Named("done", found.reps[0], "reps"), Named("most", percent, "percent"), Named("reps", reps, "reps"),
        Named("wanted", tidy(wanted, 1), "reps"), Named("possible", tidy(possible, 1), "reps"),
    )  # fmt: skip
    return hung.load, Step(text, "ladder_load", inputs, Named("load", hung.load.value, hung.load.unit))


def written_instead(g: Grounds, found: PastWork | None) -> tuple[Step, ...]:
    """That the plan's own load goes before a ladder's, where it states one."""
    if found is None or not isinstance(g.slot.target, LoadTarget):
        return ()
    days = (g.ctx.on - found.on).days
    ago = words.plural(days, "day") + " ago" if days else "Today"
    text = (
        f"{ago} a ladder found {words.load(found.load, g.lift.load_kind)}; the plan states its own load, which stays."
    )
    return (
        Step(text, "ladder_load", (Named("days_ago", days, "days"),), Named("load", found.load.value, found.load.unit)),
    )


def _size(load: Load) -> float:
    return float(load.value) if load.unit == "step" else float(load.grains)
