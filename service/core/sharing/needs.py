"""What bars in use at the same time need: plates by kind, bars by mass; and whether a place has that."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence

from service.core.answers import BarLoading
from service.core.records import Kit
from service.core.sharing.handled import stack
from service.core.sharing.records import Lifter, PlateNeed
from service.core.units import Load


def plates_of(lifters: Iterable[Lifter]) -> Counter[int]:
    """Plates that one bar needs for all of its lifters' sets, by their mass, both sides together. [1e-11 kg]

    Of each kind the most that hang at once; what hangs for the one is not needed for the other.
    """
    hung = {stack(each.loading) for one in lifters for each in one.sets if isinstance(each.loading, BarLoading)}
    most: Counter[int] = Counter()
    for one in hung:
        for mass, count in Counter(one).items():
            most[mass] = max(most[mass], 2 * count)
    return most


def plates_there(kit: Kit) -> Counter[int]:
    """Plates of a place by their mass. [1e-11 kg]"""
    found: Counter[int] = Counter()
    for plate in kit.plates:
        found[plate.load.grains] += plate.count
    return found


def plate_needs(bars: Sequence[Sequence[Lifter]], kit: Kit) -> tuple[PlateNeed, ...]:
    """What bars need at once, heaviest plate first."""
    needed = sum((plates_of(lifters) for lifters in bars), Counter())
    there, loads = plates_there(kit), {plate.load.grains: plate.load for plate in kit.plates}
    return tuple(
        PlateNeed(plate=loads[mass], needed=count, available=there[mass])
        for mass, count in sorted(needed.items(), reverse=True)
        if mass in loads
    )


def short_of(bars: Sequence[Sequence[Lifter]], kit: Kit) -> tuple[PlateNeed, ...]:
    """Plates of which bars would need more at once than there are."""
    return tuple(one for one in plate_needs(bars, kit) if one.needed > one.available)


def bars_suffice(wanted: Mapping[tuple[str, Load], int], kit: Kit) -> bool:
    """Whether a place has so many bars of each mass for each lift at once.

    Bars that are for certain lifts are taken first; those for all lifts fill up. A lift that names no bar of the place
    needs one all the same.
    """
    left = [bar.count for bar in kit.bars]
    for (lift, mass), count in sorted(wanted.items(), key=lambda item: _choice(item[0], kit)):
        more = count
        for own in (True, False):
            for at, bar in enumerate(kit.bars):
                fits = bar.load.grains == mass.grains and (lift in bar.lifts if own else not bar.lifts)
                if fits and more:
                    taken = min(more, left[at])
                    left[at] -= taken
                    more -= taken
        if more:
            return False
    return True


def _choice(station: tuple[str, Load], kit: Kit) -> tuple[int, str]:
    """How many bars a lift could use: who has the least choice comes first."""
    lift, mass = station
    fitting = sum(
        bar.count for bar in kit.bars if bar.load.grains == mass.grains and (lift in bar.lifts or not bar.lifts)
    )
    return fitting, lift
