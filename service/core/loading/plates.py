"""Which masses plates make together, exactly, and with the fewest plates.

Plates of one unit are whole multiples of a common step, so all masses they can make fit into one long integer:
bit k is set when k steps can be made. Adding plates of a further kind is a shift and an or, which stays fast for
any plates: the worst set that a place may list costs milliseconds. Kilograms and pounds have no common step, so
a bar with both is searched as the sums of one table with the other; the mass alone tells the two parts apart.

Bounds, so that no list of plates can stall the service: together at most `HEAVIEST_KG`. Where both units are there
and both make very many masses (plates of odd weighed masses), the lightest plates are left aside until one unit
makes at most `MIXED_FEW` and the other at most `MIXED_MANY` masses. Within these bounds the nearest mass is exact.
The fewest plates are proven unless more than `SEARCH_LIMIT` counts would have to be tried; then the best found is
answered, which still is the same mass.
"""

from __future__ import annotations

from array import array
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import gcd

from service.core.records import Plate
from service.core.units import GRAINS_PER_KG, MassUnit, grains

HEAVIEST_KG = 1000
"""More than this in plates is never answered [kg]."""
MIXED_FEW = 2_000
MIXED_MANY = 50_000
SEARCH_LIMIT = 10_000

PER_THOUSANDTH: dict[MassUnit, int] = {"kg": grains(0.001, "kg"), "lb": grains(0.001, "lb")}
"""Grains in a thousandth of the unit [1e-11 kg]."""

# The two have no common divisor: a mass of both kinds has one split into thousandths of kg and of lb as long as
# the pounds stay under 100,000.
_LB_INVERSE = pow(PER_THOUSANDTH["lb"], -1, PER_THOUSANDTH["kg"])

Pieces = tuple[tuple[int, int], ...]
"""(thousandths of the unit, how many), heaviest first. A piece is a plate, or a pair of plates."""


@dataclass(frozen=True, slots=True)
class Reach:
    """All masses that pieces of one unit make: bit k of `bits` says whether k steps can be made."""

    step: int
    """[1e-11 kg]."""
    sizes: tuple[int, ...]
    """[steps]."""
    counts: tuple[int, ...]
    bits: int
    lighter: tuple[bytes, ...]
    """The same bits, for kind i, of only the kinds after it; as bytes, because testing one bit of them is quick."""

    def around(self, mass: int) -> tuple[int | None, int | None]:
        """Heaviest mass that is not above, lightest that is not below [1e-11 kg]."""
        if mass < 0:
            return None, 0
        bits = self.bits
        whole, rest = divmod(mass, self.step)
        if whole >= bits.bit_length():
            return (bits.bit_length() - 1) * self.step, None
        low = (bits & ((2 << whole) - 1)).bit_length() - 1
        start = whole + (rest > 0)
        above = bits >> start
        high = (start + (above & -above).bit_length() - 1) * self.step if above else None
        return low * self.step, high

    def masses(self) -> array[int]:
        """All masses, lightest first [1e-11 kg]."""
        digits = bin(self.bits)[:1:-1]
        return array("q", (k * self.step for k, digit in enumerate(digits) if digit == "1"))


def _add(bits: int, size: int, count: int, mask: int) -> int:
    """Masses that can be made with up to `count` further pieces of a size: by 1, 2, 4 ... and what remains."""
    count = min(count, (mask.bit_length() - 1) // size)
    part = 1
    while count > 0:
        taken = min(part, count)
        bits |= (bits << (size * taken)) & mask
        count -= taken
        part *= 2
    return bits


def _steps(pieces: Pieces, unit: MassUnit) -> tuple[int, tuple[int, ...], int]:
    """Common step in grains, sizes in steps, and the mask of the bound."""
    common = gcd(*(size for size, _ in pieces)) or 1
    step = common * PER_THOUSANDTH[unit]
    return step, tuple(size // common for size, _ in pieces), (2 << (HEAVIEST_KG * GRAINS_PER_KG // step)) - 1


@lru_cache(maxsize=8)  # the usual ones take 0.1 ms and nothing to speak of, the worst possible 5 MB
def _reach(pieces: Pieces, unit: MassUnit) -> Reach:
    step, sizes, mask = _steps(pieces, unit)
    bits, lighter = 1, []
    for size, (_, count) in zip(reversed(sizes), reversed(pieces), strict=True):
        lighter.append(bits.to_bytes(bits.bit_length() // 8 + 1, "little"))
        bits = _add(bits, size, count, mask)
    return Reach(step, sizes, tuple(count for _, count in pieces), bits, tuple(reversed(lighter)))


def _without_lightest(pieces: Pieces, unit: MassUnit, most: int) -> Pieces:
    """The heaviest kinds that together make at most so many masses."""
    _, sizes, mask = _steps(pieces, unit)
    bits = 1
    for kept, (size, (_, count)) in enumerate(zip(sizes, pieces, strict=True)):
        bits = _add(bits, size, count, mask)
        if bits.bit_count() > most:
            return pieces[:kept]
    return pieces


@lru_cache(maxsize=8)
def _both(kg: Pieces, lb: Pieces) -> tuple[tuple[int, ...], array[int]]:
    """Masses of the unit that makes fewer, and of the other, each lightest first [1e-11 kg]."""
    sides: list[tuple[Pieces, MassUnit]] = [(kg, "kg"), (lb, "lb")]
    sides.sort(key=lambda side: _reach(*side).bits.bit_count())
    (few, few_unit), (many, many_unit) = sides
    fewer = _reach(_without_lightest(few, few_unit, MIXED_FEW), few_unit).masses()
    return tuple(fewer), _reach(_without_lightest(many, many_unit, MIXED_MANY), many_unit).masses()


def _around_sums(few: Sequence[int], many: Sequence[int], mass: int) -> tuple[int | None, int | None]:
    """Sums of one out of each, just not above and just not below. Both start with 0, lightest first."""
    if mass < 0:
        return None, 0
    low, high = -1, few[-1] + many[-1] + 1
    last = high
    for part in few:
        at = bisect_right(many, mass - part)
        if at == 0:  # this part alone is already above, and so are all that follow
            high = min(high, part)
            break
        if (below := many[at - 1] + part) > low:
            low = below
            if low == mass:
                return mass, mass
        if at < len(many) and (above := many[at] + part) < high:
            high = above
    return low, (high if high < last else None)


@lru_cache(maxsize=4096)
def _fewest(pieces: Pieces, unit: MassUnit, mass: int) -> tuple[int, ...]:
    """How many of each kind make this mass with the fewest pieces; among equals the heaviest first.

    The kinds are tried heaviest first and as many of each as possible first. A branch is entered only if the
    lighter kinds can make what is left (so the first dive already answers), and only if it can still beat the best.
    """
    reach = _reach(pieces, unit)
    sizes, last = reach.sizes, len(pieces) - 1
    taken = [0] * len(pieces)
    best: tuple[int, ...] | None = None
    fewest, tries = sum(reach.counts) + 1, 0

    def dive(kind: int, rest: int, used: int) -> None:
        nonlocal best, fewest, tries
        if rest == 0:
            best, fewest = tuple(taken), used
            return
        size, next_size, after = sizes[kind], sizes[min(kind + 1, last)], reach.lighter[kind]
        most = 8 * len(after)
        for count in range(min(reach.counts[kind], rest // size), -1, -1):
            left = rest - count * size
            # The fewer of this kind, the more pieces are needed at least: no later count can do better either.
            if used + count - (-left // next_size) >= fewest or (best is not None and tries > SEARCH_LIMIT):
                break
            tries += 1
            if left < most and after[left >> 3] >> (left & 7) & 1:
                taken[kind] = count
                dive(kind + 1, left, used + count)
        taken[kind] = 0

    dive(0, mass // reach.step, 0)
    if best is None:
        raise ValueError("these pieces do not make this mass")
    return best


@dataclass(frozen=True, slots=True, eq=False)
class Pile:
    """Plates that may hang together: in pairs on a bar, singly on a belt.

    Told apart by identity, so that memos of what hangs need not hash all plates at each call.
    """

    plates: tuple[Plate, ...]
    """Heaviest first, only those that can be used."""
    kg: Pieces
    lb: Pieces

    def around(self, mass: int) -> tuple[int | None, int | None]:
        """Heaviest mass of all plates together that is not above, and lightest that is not below [1e-11 kg].

        Zero (no plates) always counts; None where there is nothing lighter (`mass` negative) or nothing heavier.
        """
        if not self.lb:
            return _reach(self.kg, "kg").around(mass)
        if not self.kg:
            return _reach(self.lb, "lb").around(mass)
        return _around_sums(*_both(self.kg, self.lb), mass)

    def pieces(self, mass: int) -> tuple[tuple[Plate, int], ...]:
        """The fewest pieces of this mass, heaviest first; among equals the heavier plates [1e-11 kg].

        Raises ValueError when they do not make this mass.
        """
        pounds = mass * _LB_INVERSE % PER_THOUSANDTH["kg"] if self.lb else 0
        in_lb = pounds * PER_THOUSANDTH["lb"]
        counts = {
            "kg": iter(_fewest(self.kg, "kg", mass - in_lb)) if self.kg else iter(()),
            "lb": iter(_fewest(self.lb, "lb", in_lb)) if self.lb else iter(()),
        }
        return tuple((plate, count) for plate in self.plates if (count := next(counts[plate.load.unit])))


def pile(plates: tuple[Plate, ...], *, pairs: bool) -> Pile:
    """Plates as pieces: pairs for a bar (an odd plate stays on the floor), single plates for a belt."""
    each = 2 if pairs else 1
    usable = sorted((p for p in plates if p.count >= each and p.load.value > 0), key=lambda p: -p.load.grains)

    def of(unit: MassUnit) -> Pieces:
        return tuple((round(p.load.value * 1000) * each, p.count // each) for p in usable if p.load.unit == unit)

    return Pile(tuple(usable), of("kg"), of("lb"))
