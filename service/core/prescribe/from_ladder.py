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
from service.core.prescribe.grounds import Grounds
from service.core.prescribe.jumps import read_from
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
    reps, wanted = (target.reps, 10 - target.asked_rpe) if isinstance(target, EffortTarget) else (5, 3.0)
    if len({one.load.unit == "step" for one in done}) > 1:
        return None
    best: tuple[float, Rung, float] | None = None
    most: float | None = None
    for one in done:
        size = _size(one.load)
        left = None if one.left is None else min(one.left, HIGH_LEFT)
        short = not one.whole or one.painful or one.reps < reps
        if short or (left is not None and one.reps + left - reps - wanted <= -TOO_HARD):
            most = size if most is None else min(most, size)
        elif left is not None and (best is None or size >= best[0]):
            best = size, one, left
    if most is not None and best is not None and best[0] >= most:
        under = [one for one in done if _size(one.load) < most]
        return found_by_ladder(slot, lift, on, under) if under else None
    if best is None:
        return None
    _, one, left = best
    return PastWork(lift=lift, on=on, load=one.load, reps=(one.reps,), goal=reps, sets=1, target=target,
                    left=tidy(left, 1))  # fmt: skip


def ladder_before(past: Iterable[PastWork], slot: Slot) -> PastWork | None:
    """The lift's newest ladder, where no load of it has grown since."""
    last = None
    for one in past:
        if one.lift == slot.lift:
            last = one
    return last if last is not None and last.left is not None else None


def from_ladder(g: Grounds, found: PastWork) -> Aim | None:
    """The working load again, nothing added; where the slot asks for more repetitions, as much less as leaves as many.

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
    more = reps > found.reps[0]
    if g.massless or found.load.unit == "step":
        return (
            None
            if more or not g.massless or found.load.unit != "step"
            else Aim(step=found.load, steps=(step,), same=True)
        )
    kg, steps = g.effective(found.load), [step]
    if more:
        possible = found.reps[0] + float(found.left or 0)
        kg *= min(1.0, read_from(possible, reps + float(found.left or 0)))
        text = f"{reps} repetitions that leave as many take less: {words.mass(kg - g.body_kg, g.unit)}."
        asked = (Named("reps", reps, "reps"), Named("possible", tidy(possible, 1), "reps"))
        steps.append(Step(text, "ladder_load", asked, g.named("exact", kg)))
    lighter: tuple[object, ...] = ()
    ease = g.eased
    if ease is not None and ease.load < 1 and 1 <= ease.absent_days <= days:
        kg, lighter = eased_load(g, kg)
    return Aim(kg=kg, steps=(*steps, *lighter, *body_steps(g, kg)), same=True)  # type: ignore[arg-type]


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
