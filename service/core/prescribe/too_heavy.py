"""Where even the lightest load of the place did not go up once: no load is asked for."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from service.core import words
from service.core.errors import DomainError, NotComputable
from service.core.prescribe.from_ladder import Rung
from service.core.prescribe.grounds import Grounds, lighter_step
from service.core.records import PastWork
from service.core.slots import Slot
from service.core.units import say

TOO_HEAVY = "too_heavy"
"""What such a refusal is called."""
FOR_DAYS = 56
"""So long a load that did not go up once is not asked for again; then it may be tried. Ours. [days]"""


def not_once(slot: Slot, lift: str, on: date, done: Sequence[Rung]) -> PastWork | None:
    """A ladder whose lightest load did not go up once; None for any other, and where pain or a choice ended it."""
    tried = [one for one in done if one.reps == 0 and not one.whole and not one.painful]
    if not tried or any(one.reps for one in done) or len({one.load.unit == "step" for one in done}) > 1:
        return None
    target, unit = slot.target, tried[0].load.unit
    reps = getattr(target, "reps", None) or 1
    lightest = min((one.load for one in tried), key=lambda one: one.value if unit == "step" else one.grains)
    return PastWork(lift=lift, on=on, load=lightest, reps=(0,), goal=reps, sets=1, target=target, left=0)


def refuse(g: Grounds, last: PastWork) -> None:
    """Raise NotComputable (`too_heavy`) where a load did not go up once, and nothing lighter can be loaded."""
    name, days = g.lift.name.lower(), (g.ctx.on - last.on).days
    if any(last.reps) or days > FOR_DAYS or _lighter_is_here(g, last):
        return
    ago = words.plural(days, "day") + " ago" if days else "today"
    what = words.load(last.load, g.lift.load_kind)
    raise NotComputable(
        TOO_HEAVY,
        f"{what[0].upper()}{what[1:]}, the lightest for the {name} here, did not go up once {ago}: {instead(g)}.",
    )


def instead(g: Grounds) -> str:
    """What to do in place of a lift that nothing here is light enough for."""
    pairs = g.ctx.kit.dumbbells
    if not pairs or g.lift.load_kind == "per_hand":
        return "choose a lighter implement or an easier variation with the coach"
    lightest = say(min(pairs, key=lambda one: one.grains))
    return (
        f"choose an easier variation with the coach, for example with dumbbells, of which the lightest pair is "
        f"{lightest} in each hand"
    )


def _lighter_is_here(g: Grounds, last: PastWork) -> bool:
    """Whether anything lighter can be loaded, on the light bar too."""
    try:
        if last.load.unit == "step" or g.massless:
            return lighter_step(g, last.load) is not None
        bars = (None,) if g.light_bar is None else (None, g.light_bar)
        return any(g.options(g.ctx.kit, bar).lightest() < last.load.grains for bar in bars)
    except DomainError:  # the place has nothing for the lift
        return False
