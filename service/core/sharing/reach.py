"""What a place cannot load: for whom its heaviest is too light, and its lightest too heavy."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from typing import Literal

from service.core.records import Lift
from service.core.sharing.records import Lifter
from service.core.units import Load, say
from service.core.words import listing

_WHAT = {
    "heaviest": (
        "the heaviest that can be loaded here, {load}, is too light for {names}: more repetitions, a harder variation, "
        "or another place."
    ),
    "lightest": (
        "the lightest that can be loaded here, {load}, is too heavy for {names}: something lighter, or fewer "
        "repetitions."
    ),
}


def out_of_reach(lifters: Sequence[Lifter], lifts: Mapping[str, Lift]) -> Iterator[str]:
    """Sentences on who cannot get what was meant, lift by lift; none where everybody can."""
    found: dict[tuple[str, Literal["heaviest", "lightest"], Load], list[str]] = defaultdict(list)
    for one in lifters:
        for each in one.sets:
            if each.at_end is not None:
                found[one.lift, each.at_end, each.load].append(one.name)
    for (lift, end, load), names in sorted(found.items(), key=lambda item: (item[0][0], item[0][1], item[0][2].grains)):
        known = lifts.get(lift)
        name = lift.replace("-", " ").capitalize() if known is None else known.name
        yield f"{name}: {_WHAT[end].format(load=say(load), names=listing(tuple(sorted(set(names)))))}"
