"""What can be loaded where no place is named, and which bar of a place is meant."""

from __future__ import annotations

from functools import lru_cache

from service.core.errors import NotComputable
from service.core.records import Bar, Kit, Plate, Stack
from service.core.units import MassUnit, load

# Commercial sets: common practice, no source. Enough pairs for about 400 kg and 900 lb on the bar.
_PLATES: dict[MassUnit, tuple[tuple[float, int], ...]] = {
    "kg": ((25, 12), (20, 2), (15, 2), (10, 2), (5, 2), (2.5, 2), (1.25, 2)),
    "lb": ((45, 16), (35, 2), (25, 2), (10, 4), (5, 2), (2.5, 2)),
}
_BAR: dict[MassUnit, float] = {"kg": 20, "lb": 45}
_DUMBBELLS: dict[MassUnit, tuple[float, ...]] = {
    "kg": (*range(1, 11), *(n * 2.5 for n in range(5, 25))),
    "lb": tuple(range(5, 121, 5)),
}
_STEPS: dict[MassUnit, tuple[float, ...]] = {"kg": tuple(range(5, 151, 5)), "lb": tuple(range(10, 301, 10))}


@lru_cache(maxsize=2)
def default_kit(unit: MassUnit) -> Kit:
    """The usual equipment of a gym in a unit, for when no place is named (common practice, no source).

    kg: a bar of 20, plates 25 to 1.25 for up to 427.5, dumbbells 1 to 10 by 1 and to 60 by 2.5, a machine with
    steps of 5 up to 150. lb: a bar of 45, plates 45 to 2.5 for up to 940, dumbbells 5 to 120 by 5, a machine with
    steps of 10 up to 300. Collars count nothing; the machine is for any lift.
    """
    return Kit(
        bars=(Bar(name="bar", load=load(_BAR[unit], unit)),),
        collars=load(0, unit),
        plates=tuple(Plate(load=load(mass, unit), count=count) for mass, count in _PLATES[unit]),
        dumbbells=tuple(load(mass, unit) for mass in _DUMBBELLS[unit]),
        stacks=(Stack(name="machine", lifts=(), steps=tuple(load(mass, unit) for mass in _STEPS[unit])),),
    )


class Place:
    """A kit as the key of a memo, told apart by identity: hashing all its plates costs more than most answers.

    A memo holds its keys, so no other kit can get the identity of one that is remembered; and kits never change.
    """

    __slots__ = ("kit",)

    def __init__(self, kit: Kit) -> None:
        self.kit = kit

    def __hash__(self) -> int:
        return id(self.kit)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Place) and self.kit is other.kit


def bar_for(kit: Kit, lift_id: str, *, name: str | None = None) -> Bar:
    """The bar named, else the first one listed for this lift, else the first one that is for all lifts.

    A bar that is named is taken for any lift. Raises NotComputable `no_bar` when there is none.
    """
    if name is not None:
        for bar in kit.bars:
            if bar.name == name:
                return bar
        raise NotComputable("no_bar", f"There is no bar called {name} at this place.")
    bars = bars_for(kit, lift_id)
    if not bars:
        raise NotComputable("no_bar", "No bar at this place may be used for this lift: add one, or name a bar.")
    return bars[0]


def bars_for(kit: Kit, lift_id: str) -> tuple[Bar, ...]:
    """All bars that may be used for a lift: those listed for it first, then those for all lifts."""
    own = tuple(bar for bar in kit.bars if lift_id in bar.lifts)
    return own + tuple(bar for bar in kit.bars if not bar.lifts)


def stack_for(kit: Kit, lift_id: str) -> Stack:
    """The first machine listed for this lift, else the first one that names no lift and so is for any.

    Raises NotComputable `no_stack` when there is none.
    """
    own = [stack for stack in kit.stacks if lift_id in stack.lifts and stack.steps]
    any_lift = [stack for stack in kit.stacks if not stack.lifts and stack.steps]
    if not own and not any_lift:
        raise NotComputable("no_stack", "No machine is listed for this lift at this place: add one with its steps.")
    return (own or any_lift)[0]
