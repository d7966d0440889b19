"""How often an invented lifter can lift a load: five families of curves, none of them the model's.

Each family is anchored at 8.3 repetitions with 80 % of the max and lies near the published repetitions of the bench
press at 70, 80 and 90 % (Nuzzo et al. 2024, Sports Med 54(2):303-321). Elsewhere they part: at 60 % they say 16 to 29.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import exp, log

ANCHOR_SHARE, ANCHOR_MORE = 0.80, 7.3
"""Where the families meet: share of the max, and the repetitions beyond the first."""
MOST = 60.0
"""Nobody is asked for more. [reps]"""


@dataclass(frozen=True, slots=True)
class Family:
    """Share of the max by the repetitions beyond the first, its inverse, and the log load of the second repetition."""

    name: str
    share: Callable[[float], float]
    more: Callable[[float], float]
    at_one: float


def _sinking(floor: float = 0.5) -> Family:
    """Falls exponentially to a floor, as the equations of Mayhew 1992, Wathen 1994 and Reynolds 2006 do."""
    k = -log((ANCHOR_SHARE - floor) / (1 - floor)) / ANCHOR_MORE
    return Family(
        "sinking to a floor",
        lambda x: floor + (1 - floor) * exp(-k * x),
        lambda s: MOST if s <= floor * 1.001 else -log((s - floor) / (1 - floor)) / k,
        (1 - floor) * k,
    )


def _reciprocal() -> Family:
    """Max = load (1 + k x), as the equations of Epley 1985 and O'Conner 1989 do."""
    k = (1 / ANCHOR_SHARE - 1) / ANCHOR_MORE
    return Family("reciprocal", lambda x: 1 / (1 + k * x), lambda s: (1 / s - 1) / k, k)


def _logarithmic(width: float = 4.0) -> Family:
    """Falls with the log of the repetitions, near the power of Lombardi 1989: steep at first, flat in long sets."""
    k = (1 - ANCHOR_SHARE) / log(1 + ANCHOR_MORE / width)
    return Family(
        "logarithmic",
        lambda x: 1 - k * log(1 + x / width),
        lambda s: width * (exp(min((1 - s) / k, 4.0)) - 1),
        k / width,
    )


def _straight() -> Family:
    """A straight line, as Brzycki 1993."""
    k = (1 - ANCHOR_SHARE) / ANCHOR_MORE
    return Family("straight", lambda x: max(0.02, 1 - k * x), lambda s: (1 - s) / k, k)


def _critical(floor: float = 0.4) -> Family:
    """A hyperbola above a critical load, as in the physiology of hard efforts."""
    part = (ANCHOR_SHARE - floor) / (1 - floor)
    k = ANCHOR_MORE * part / (1 - part)
    return Family(
        "above a critical load",
        lambda x: floor + (1 - floor) * k / (k + x),
        lambda s: MOST if s <= floor * 1.001 else k * ((1 - floor) / (s - floor) - 1),
        (1 - floor) / k,
    )


FAMILIES = (_sinking(), _reciprocal(), _logarithmic(), _straight(), _critical())


@dataclass(frozen=True, slots=True)
class Own:
    """The curve of one lifter in one lift: a family, with the repetitions beyond the first stretched."""

    family: Family
    stretch: float

    def share(self, reps: float) -> float:
        """Share of the max that can be lifted `reps` times; above 1 below one repetition."""
        more = (reps - 1) / self.stretch
        return self.family.share(more) if more >= 0 else exp(-self.family.at_one * more)

    def reps(self, share: float) -> float:
        """Repetitions to failure with a share of the max, at most `MOST`; below 1, down to -9, past the max."""
        if share >= 1:
            return max(-9.0, 1 - self.stretch * log(share) / self.family.at_one)
        return min(MOST, 1 + self.stretch * self.family.more(share))
