"""From the exact load to the one that can be loaded with what there is, and its neighbours.

Masses are compared as whole grains, so a tie is a tie. A load that mixes units is shown rounded to a thousandth
(`Load` has three decimals); when such a load comes back as a limit or as the current one, it is compared within
half a thousandth of its unit, so that it still means the load that hangs.
"""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from typing import Literal

from service.core.answers import BarLoading, BodyweightLoading, DumbbellLoading, Loading, PlateCount, StackLoading
from service.core.errors import NotComputable, OutOfRange
from service.core.loading.kits import Place, bars_for, stack_for
from service.core.loading.loadable import Options, in_unit, options, options_at, shown, without_masses
from service.core.loading.plates import PER_THOUSANDTH
from service.core.records import Kit, Lift, LoadKind, Rounding, Stack
from service.core.units import GRAINS_PER_KG, Load, MassUnit, Unit, say

FARTHEST_KG = 5000.0
"""Loads outside plus and minus this are refused [kg]."""
_HALF: dict[Unit, int] = {unit: PER_THOUSANDTH["lb" if unit == "lb" else "kg"] // 2 for unit in ("kg", "lb", "step")}
"""Half a thousandth of a load's unit: what rounding may have hidden. [1e-11 kg]"""


class Hung:
    """A load that can be loaded, in numbers; how it hangs is worked out when somebody asks. Nobody changes it."""

    __slots__ = ("_exact", "_loading", "_mass", "_possible", "kg", "load")

    def __init__(self, possible: Options, mass: int, exact: int) -> None:
        self.load = shown(mass, possible.unit)
        self.kg = self.load.grains / GRAINS_PER_KG
        self._possible, self._mass, self._exact = possible, mass, exact
        self._loading: Loading | None = None

    @property
    def loading(self) -> Loading:
        """How it hangs."""
        if self._loading is None:
            self._loading = self._possible.answer(self._mass, self._exact)
        return self._loading

    @property
    def exact(self) -> Load:
        """The load that was asked for, as `loading` shows it."""
        return in_unit(self._exact, "lb" if self.load.unit == "lb" else "kg")


def as_it_hangs(one: Loading | Hung | None) -> Loading | None:
    """How a load hangs, worked out where it was not yet."""
    return one.loading if isinstance(one, Hung) else one


def hang(
    exact_kg: float,
    lift: Lift,
    kit: Kit,
    *,
    unit: MassUnit,
    rounding: Rounding = "nearest",
    at_most: Load | None = None,
    below: Load | None = None,
    bar: str | None = None,
) -> Loading:
    """The load that can be loaded nearest to the exact one (or next below, next above), and how it hangs [kg].

    `exact_kg` is the whole bar, one hand, added to body weight (negative: assistance) or a machine's step, by the
    lift's load kind. `nearest` goes down from the middle; `down` and `up` go the other way where nothing is left
    on their side. `at_most` is never exceeded and `below` never reached (a back-off set under its top set), except
    that where nothing is light enough the lightest there is is answered: its difference tells, the caller cautions.
    `bar` names a bar of the place. Of several ways to the same mass the one with the fewest plates is answered,
    then the one with the heavier plates. Loads are shown in `unit`, or in the other one where they are whole
    thousandths only there.

    Raises OutOfRange outside plus and minus `FARTHEST_KG` or for NaN; NotComputable as `loadable.options` does, and
    `other_machine` where a limit is a step without a mass.
    """
    found = hung(exact_kg, lift, kit, unit=unit, rounding=rounding, at_most=at_most, below=below, bar=bar)
    return found.loading


def hung(
    exact_kg: float,
    lift: Lift,
    kit: Kit,
    *,
    unit: MassUnit,
    rounding: Rounding = "nearest",
    at_most: Load | None = None,
    below: Load | None = None,
    bar: str | None = None,
) -> Hung:
    """As `hang`, but for how the load hangs, which takes longer than finding it."""
    _exact_grains(exact_kg)  # refused first
    return hung_among(options(lift, kit, unit, bar), exact_kg, rounding, at_most=at_most, below=below)


def hung_among(
    possible: Options, exact_kg: float, rounding: Rounding, *, at_most: Load | None = None, below: Load | None = None
) -> Hung:
    """As `hung`, among loads that were looked up before."""
    limit = None if at_most is None else _up_to(at_most)
    if below is not None:
        under = _up_to(below, reached=False)
        limit = under if limit is None else min(limit, under)
    return _hung(possible, _exact_grains(exact_kg), limit, rounding)


# Warm-ups lead to loads that hang, so their exact loads come again too; and a plan is worked out again at each set.
@lru_cache(maxsize=2048)
def _hung(possible: Options, exact: int, limit: int | None, rounding: Rounding) -> Hung:
    return Hung(possible, _choose(possible, exact, limit, rounding), exact)


def _exact_grains(exact_kg: float) -> int:
    if not abs(exact_kg) <= FARTHEST_KG:  # so that NaN is refused too
        raise OutOfRange("exact load", exact_kg, -FARTHEST_KG, FARTHEST_KG, "kg")
    return round(exact_kg * GRAINS_PER_KG)


def _choose(possible: Options, exact: int, limit: int | None, rounding: Rounding) -> int:
    low, high = possible.around(exact if limit is None else min(exact, limit))
    if low is None or high is None:
        low = high if low is None else low
        if low is None:
            raise ValueError("nothing can be loaded")  # kept out by `options`
        return low
    if limit is not None and high > limit:
        return low
    if rounding == "nearest":
        return low if exact - low <= high - exact else high
    return low if rounding == "down" else high


def _up_to(limit: Load, *, reached: bool = True) -> int:
    """The heaviest mass that is still meant by `limit`, or the heaviest that is clearly lighter [1e-11 kg]."""
    mass, half = _mass(limit), _HALF[limit.unit]
    return mass + half if reached else mass - half - 1


def _mass(load: Load) -> int:
    if load.unit == "step":
        raise NotComputable("other_machine", f"{say(load)} says nothing about a mass: enter kilograms or pounds.")
    return load.grains


def _half(load: Load) -> int:
    """Half a thousandth of the load's unit: what rounding may have hidden [1e-11 kg]."""
    return _HALF[load.unit]


def step_up(current: Load, lift: Lift, kit: Kit, *, unit: MassUnit, bar: str | None = None) -> Loading | None:
    """The next heavier load that can be loaded; None when there is none.

    On machines without masses `current` is a step. Its `exact` is the load itself. Raises NotComputable as `hang`
    does, and `other_machine` when a step is given where masses are listed, or the other way round.
    """
    return _step(current, lift, kit, unit, bar, up=True)


def step_down(current: Load, lift: Lift, kit: Kit, *, unit: MassUnit, bar: str | None = None) -> Loading | None:
    """The next lighter load that can be loaded (more assistance, for `bodyweight`); None when there is none.

    Raises as `step_up`.
    """
    return _step(current, lift, kit, unit, bar, up=False)


def _step(current: Load, lift: Lift, kit: Kit, unit: MassUnit, bar: str | None, *, up: bool) -> Loading | None:
    if lift.load_kind == "stack":
        stack = stack_for(kit, lift.id)
        if without_masses(stack) or current.unit == "step":
            return next_step(stack, current, "up" if up else "down")
    possible = options(lift, kit, unit, bar)
    mass = _neighbour(possible, _mass(current), _half(current), up=up)
    return None if mass is None else possible.answer(mass, mass)


def _neighbour(possible: Options, mass: int, half: int, *, up: bool) -> int | None:
    return possible.around(mass + half + 1)[1] if up else possible.around(mass - half - 1)[0]


def next_step(stack: Stack, current: Load, direction: Literal["up", "down"]) -> StackLoading | None:
    """The next listed step of a machine without masses; None past its ends.

    Raises NotComputable `other_machine` when `current` or the machine does not count in steps.
    """
    if current.unit != "step" or any(step.unit != "step" for step in stack.steps):
        raise NotComputable(
            "other_machine",
            f"{say(current)} says nothing about a step of {stack.name}: enter the load as that machine lists it.",
        )
    numbered = list(enumerate(stack.steps, 1))
    beyond = [
        (n, step)
        for n, step in numbered
        if (step.value > current.value if direction == "up" else step.value < current.value)
    ]
    if not beyond:
        return None
    number, step = (min if direction == "up" else max)(beyond, key=lambda one: one[1].value)
    return StackLoading(exact=None, load=step, difference=None, number=number)


def smallest_step_kg(near_kg: float, lift: Lift, kit: Kit, *, unit: MassUnit, bar: str | None = None) -> float | None:
    """How far the nearest other load is from the one nearest to `near_kg` [kg].

    None when there is no other, or the lift has no masses (no load, a machine's plain steps). Where the way up and
    the way down differ, it is the shorter. Raises NotComputable when the place has nothing for this lift.
    """
    if lift.load_kind == "none" or (lift.load_kind == "stack" and without_masses(stack_for(kit, lift.id))):
        return None
    return _smallest_step_kg(options(lift, kit, unit, bar), _exact_grains(near_kg))


@lru_cache(maxsize=2048)
def _smallest_step_kg(possible: Options, near: int) -> float | None:
    here = _choose(possible, near, None, "nearest")
    half = PER_THOUSANDTH["kg"] // 2
    others = (_neighbour(possible, here, half, up=up) for up in (True, False))
    return min((abs(other - here) / GRAINS_PER_KG for other in others if other is not None), default=None)


def lightest(lift: Lift, kit: Kit, unit: MassUnit) -> Loading | None:
    """The lightest implement: the lightest bar that may be used, alone; the lightest pair; the first step; the body.

    None where the place has nothing for this lift or it is done without a load.
    """
    return None if lift.load_kind == "none" else _lightest(Place(kit), lift.id, lift.load_kind, unit)


@lru_cache(maxsize=256)
def _lightest(place: Place, lift_id: str, load_kind: LoadKind, unit: MassUnit) -> Loading | None:
    kit = place.kit
    try:
        if load_kind == "stack" and without_masses(stack := stack_for(kit, lift_id)):
            number, step = min(enumerate(stack.steps, 1), key=lambda one: one[1].value)
            return StackLoading(exact=None, load=step, difference=None, number=number)
        bars = sorted(bars_for(kit, lift_id), key=lambda bar: bar.load.grains)
        possible = options_at(Place(replace(kit, bars=tuple(bars[:1]))), lift_id, load_kind, unit)
    except NotComputable:
        return None
    return possible.answer(possible.lightest(), possible.lightest())


def text_per_side(loading: Loading) -> str:
    """What hangs, in plain ASCII but for units, for a board: `each side: 25 25 2.5 1.25`, `empty bar`, `belt: 20`.

    Plates are named without unit where all are in the load's own; else each with its unit, between commas.
    """
    if isinstance(loading, BarLoading):
        if loading.per_side:
            return f"each side: {plate_list(loading.per_side, loading.load)}"
        return "bar with collars" if loading.collars.value else "empty bar"
    if isinstance(loading, DumbbellLoading):
        return "dumbbells"
    if isinstance(loading, BodyweightLoading):
        if loading.plates:
            return f"belt: {plate_list(loading.plates, loading.load)}"
        return "assistance" if loading.load.value < 0 else "body weight"
    return f"step {loading.number}"


def plate_list(plates: tuple[PlateCount, ...], beside: Load | None) -> str:
    """Plates one by one in the order given: `25 25 2.5`; `45 lb, 10 kg` unless all are in the unit of `beside`."""
    single = [one.plate for one in plates for _ in range(one.count)]
    if beside is not None and all(one.unit == beside.unit for one in single):
        return " ".join(f"{one.value:g}" for one in single)
    return ", ".join(say(one) for one in single)
