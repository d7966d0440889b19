"""What a row belongs to, and which other row it is tied to: a variation to its lift, a class of support to none."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from math import log
from typing import NamedTuple

from service.core.catalogue import PRACTICE, PULLS
from service.core.model.levels import LEAST_FACTOR
from service.core.model.spread import level_variance
from service.core.model.state import Row
from service.core.records import CurveGroup, Lift, SupportClass

RATIO_SD, COACHED_SD = 0.05, 0.03
"""How far a lifter's ratio lies from that of the built-in list, and from one that a coach entered. Ours. [log]"""
SUPPORT: dict[SupportClass, tuple[float, float]] = {"wraps": (log(1.10), 0.07), "suit": (log(1.20), 0.12)}
"""What knee wraps, and a suit or shirt, add to a max, and how much that differs (common practice, no source). [log]"""
RATIO_WANDER = 0.002
"""Spread that a lifter's ratio gains a day. Ours. [log / sqrt(day)]"""


class Key(NamedTuple):
    """What a row belongs to: a lift, a class of support, and for machines the stack (else empty)."""

    lift: str
    support_class: SupportClass
    stack: str


class Level(NamedTuple):
    """A max as a logarithm, with its variance. [log kg], [log²]."""

    at: float
    variance: float


@dataclass(frozen=True, slots=True)
class Kin:
    """The parent of a row, and what is known of the ratio before the lifter has done both."""

    parent: Key
    log_ratio: float
    """Log of this max divided by the parent's. [log]"""
    spread: float
    """Its standard deviation between lifters. [log]"""


@dataclass(frozen=True, slots=True)
class Facts:
    """What the model has to be told of a lift."""

    group: CurveGroup
    kin: Kin | None


@dataclass(slots=True)
class Ratio:
    """What the lifter has shown of the ratio to the parent. Treated as if it were frozen."""

    parent: Key
    mean: float
    """Log of this max divided by the parent's. [log]"""
    variance: float
    """At the end of `on`. [log²]"""
    on: date | None = None
    """Day on which the two were last compared; None: never."""
    here: int = 0
    """Sessions of this lift that taught something since the parent last had one."""
    there: int = 0
    """The other way round."""
    up: int = 0
    """Sessions of this lift that informed the parent since the parent last had one that taught something."""
    down: int = 0
    """The other way round."""

    def variance_at(self, on: date) -> float:
        """The variance on a day, not before `self.on`: once learned, a ratio wanders. [log²]."""
        return (
            self.variance
            if self.on is None
            else self.variance + RATIO_WANDER * RATIO_WANDER * max((on - self.on).days, 0)
        )


def facts_of(lifts: Mapping[str, Lift], key: Key) -> Facts | None:
    """What the model has to know of a key, from the lifts' records.

    The parent of a variation is the lift that it is based on, in the same class of support; that of a class of support
    is the same lift without any. So a paused squat in wraps hangs on the squat in wraps, and that on the squat.

    Parameters
    ----------
    lifts : Mapping of str to Lift
        All lifts of the gym, by id.
    key : Key
        Its lift is one of them.

    Returns
    -------
    Facts or None
        None where no strength is measured: technique ends the sets, or they have no load.

    Raises
    ------
    KeyError
        If the lift is not among `lifts`.

    Examples
    --------
    >>> from service.core.catalogue import BUILT_IN
    >>> facts_of(BUILT_IN, Key("pause-squat", "wraps", "")).kin.parent
    Key(lift='squat', support_class='wraps', stack='')
    """
    lift = lifts[key.lift]
    if lift.technique or lift.load_kind == "none":
        return None
    return Facts(lift.curve_group, _kin(lifts, lift, key))


def _kin(lifts: Mapping[str, Lift], lift: Lift, key: Key) -> Kin | None:
    parent = lifts.get(lift.based_on) if lift.based_on is not None else None
    # A parent that is no model's (technique) knows nothing; the ratio of a lift to it is then of no use.
    if parent is not None and lift.ratio is not None and not parent.technique and parent.load_kind != "none":
        spread = RATIO_SD if lift.ratio_source in (PRACTICE, PULLS) else COACHED_SD
        return Kin(Key(parent.id, key.support_class, ""), log(lift.ratio), spread)
    if key.support_class in SUPPORT:
        return Kin(key._replace(support_class="unsupported"), *SUPPORT[key.support_class])
    return None


def level_of(row: Row) -> Level | None:
    """The max of a typical day that a row stands for; None: an empty row, or only a bound is known. [log kg], [log²].

    >>> from service.core.model.state import new_row
    >>> level = level_of(new_row("other", 100, spread=0.05))
    >>> round(level.at, 6), round(level.variance, 6)
    (4.60517, 0.0025)
    """
    if row.reference is None or row.at_least:
        return None
    factor = max(LEAST_FACTOR, row.m[1])
    t = row.m[0] / factor
    return Level(row.reference + t, level_variance(row.p, t) / (factor * factor))
