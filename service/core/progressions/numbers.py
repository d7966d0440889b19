"""The numbers of a slot that may change from week to week: which there are, their limits, how they are read and set."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Literal, TypeVar, get_args

from service.core.errors import DomainError
from service.core.slots import (
    Cluster,
    DistanceTarget,
    Ladder,
    LoadTarget,
    MaxTest,
    OpenLastSet,
    Scheme,
    SetsAtTarget,
    Slot,
    Target,
    TimeTarget,
    TopSet,
)
from service.core.units import Number, Unit, load, tidy

Member = Literal[
    "percent",
    "rpe",
    "rir",
    "reps",
    "sets",
    "back_off_sets",
    "same_load_sets",
    "load",
    "less_percent",
    "seconds",
    "metres",
    "rest_seconds",
]
T = TypeVar("T")

MEMBERS: tuple[Member, ...] = get_args(Member)


@dataclass(frozen=True, slots=True)
class Limit:
    """From where to where a number of a written slot may go, and in which steps."""

    low: Number
    high: Number
    step: Number
    words: str
    """What the number is called in a sentence."""


LIMITS: dict[Member, Limit] = {
    "percent": Limit(10, 130, 0.001, "the percentage"),
    "rpe": Limit(1, 10, 0.5, "the effort"),
    "rir": Limit(0, 9, 0.5, "the number of repetitions left"),
    "reps": Limit(1, 100, 1, "the number of repetitions"),
    "sets": Limit(1, 20, 1, "the number of sets"),
    "back_off_sets": Limit(1, 20, 1, "the number of back-off sets"),
    "same_load_sets": Limit(1, 20, 1, "the number of same-load sets"),
    "load": Limit(-1000, 2500, 0.001, "the load"),
    "less_percent": Limit(0.5, 90, 0.001, "the percentage taken off"),
    "seconds": Limit(1, 7200, 1, "the time"),
    "metres": Limit(0.1, 100_000, 0.001, "the distance"),
    "rest_seconds": Limit(1, 7200, 1, "the rest"),
}
"""As bodies are read; a test compares the two. Of `open_last_set` the sets before the open one may be 0."""

_UNITS: dict[Member, str] = {"percent": " %", "less_percent": " %", "seconds": " s", "metres": " m"}


class OutOfLimits(DomainError):
    """A number of a slot would leave what a written slot may hold."""

    code = "out_of_range"

    def __init__(self, member: Member, value: Number, low: Number, high: Number) -> None:
        shown = f"RPE {value:g}" if member == "rpe" else f"{value:g}{_UNITS.get(member, '')}"
        super().__init__(f"{LIMITS[member].words} would be {shown}; it goes from {low:g} to {high:g}")
        self.member, self.value, self.low, self.high = member, value, low, high


class NoSuchMember(DomainError):
    """A slot has no such number to be moved."""

    code = "no_such_member"

    def __init__(self, member: Member) -> None:
        super().__init__(f"this slot has nothing of {LIMITS[member].words} to change")
        self.member = member


def thousandths(value: Number) -> int:
    """A number of a slot, which has at most three decimals, as a whole number of thousandths."""
    return value * 1000 if type(value) is int else round(value * 1000)


def nearest(member: Member, numerator: int, denominator: int = 1) -> Number:
    """A fraction of thousandths as the nearest number that the member may have; halves go up.

    Sets and repetitions are whole, efforts are halves, all else has three decimals.

    >>> nearest("sets", 4500), nearest("rpe", 7250), nearest("percent", 220_000, 3)
    (5, 7.5, 73.333)
    """
    step = _STEPS[member]
    count = (2 * numerator + step * denominator) // (2 * step * denominator)
    return tidy(count * step / 1000)


_STEPS: dict[Member, int] = {member: thousandths(limit.step) for member, limit in LIMITS.items()}
"""Steps of the members. [thousandths]"""


def value_of(slot: Slot, member: Member) -> Number | None:
    """A number of a slot, of a range or band its lower end, of a load its value; None where the slot has none.

    `sets` are those of sets at target and clusters and those before an open last set; further sets after a top set
    go by their own words. What a test and a newcomer's ladder ask for belongs to their protocol and is not read.

    >>> from service.core.slots import EffortTarget
    >>> slot = Slot(lift="squat", scheme=SetsAtTarget(sets=4), target=EffortTarget(reps=6, reps_to=8, rpe=8))
    >>> value_of(slot, "sets"), value_of(slot, "reps"), value_of(slot, "percent")
    (4, 6, None)
    """
    return _READ[member](slot)


def load_unit(slot: Slot) -> Unit | None:
    """The unit in which a slot's fixed load is written; None where it has none."""
    target = slot.target
    if not isinstance(target, LoadTarget | TimeTarget | DistanceTarget) or target.load is None:
        return None
    return target.load.unit


def with_value(slot: Slot, member: Member, value: Number) -> Slot:
    """The slot with a number set; the upper end of a band or range goes with its lower end. Limits are not looked at.

    Raises
    ------
    NoSuchMember
        If the slot has no such number.
    """
    return with_values(slot, ((member, value),))


def with_values(slot: Slot, values: Iterable[tuple[Member, Number]]) -> Slot:
    """As `with_value`, for several numbers at once."""
    scheme, target, rest = slot.scheme, slot.target, slot.rest_seconds
    for member, value in values:
        if _READ[member](slot) is None:
            raise NoSuchMember(member)
        if member == "rest_seconds":
            rest = int(value)
        elif member in _OF_SCHEME:
            scheme = _scheme_with(scheme, member, value)
        else:
            target = _target_with(target, member, value)
    if (scheme, target, rest) == (slot.scheme, slot.target, slot.rest_seconds):
        return slot
    return replace(slot, scheme=scheme, target=target, rest_seconds=rest)


@lru_cache(maxsize=1024)  # blocks ask for few different ones, and the same one is compared at once
def _scheme_with(scheme: Scheme, member: Member, value: Number) -> Scheme:
    if isinstance(scheme, OpenLastSet):
        return _replaced(scheme, "sets_before", value)
    if not isinstance(scheme, TopSet):
        return _replaced(scheme, "sets", value)
    if scheme.same_load is not None and member == "same_load_sets":
        return replace(scheme, same_load=_replaced(scheme.same_load, "sets", value))
    if scheme.back_off is not None:
        name = "sets" if member == "back_off_sets" else member
        return replace(scheme, back_off=_replaced(scheme.back_off, name, value))
    return scheme


@lru_cache(maxsize=4096)  # as above
def _target_with(target: Target, member: Member, value: Number) -> Target:
    if isinstance(target, LoadTarget | TimeTarget | DistanceTarget) and member == "load" and target.load is not None:
        return replace(target, load=load(value, target.load.unit))
    moved = _replaced(target, member, value)
    upper = _upper(target, member)
    if upper is None:
        return moved
    before = getattr(target, member)
    return _replaced(
        moved, f"{member}_to", tidy((thousandths(upper) + thousandths(value) - thousandths(before)) / 1000)
    )


def checked(slot: Slot, members: Sequence[Member] | None = None) -> Slot:
    """The slot, if all its numbers, or the named ones, lie where those of a written slot may.

    Raises
    ------
    OutOfLimits
        For the first number that does not.
    """
    for member, number in _all(slot) if members is None else _named(slot, members):
        limit = LIMITS[member]
        if not limit.low <= number <= limit.high:
            low = 0 if member == "sets" and isinstance(slot.scheme, OpenLastSet) else limit.low
            if number < low or number > limit.high:
                raise OutOfLimits(member, number, low, limit.high)
    return slot


def _replaced(record: T, name: str, value: Number) -> T:
    """A record with one member set whose name is only known when it runs."""
    changed: T = replace(record, **{name: value})  # type: ignore[type-var]
    return changed


def _upper(target: Target, member: Member) -> Number | None:
    """The upper end of a band or a range."""
    if member not in ("percent", "reps"):
        return None
    found: Number | None = getattr(target, f"{member}_to", None)
    return found


def _all(slot: Slot) -> Iterator[tuple[Member, Number]]:
    """Every number of a slot that can be moved, upper ends and efforts to stop at included."""
    yield from _named(slot, MEMBERS)
    scheme = slot.scheme
    if isinstance(scheme, OpenLastSet) and scheme.stop_rpe is not None:
        yield "rpe", scheme.stop_rpe
    if isinstance(scheme, TopSet):
        yield from _of_top_set(scheme)


def _named(slot: Slot, members: Sequence[Member]) -> Iterator[tuple[Member, Number]]:
    for member in members:
        value = _READ[member](slot)
        if value is not None:
            yield member, value
            upper = _upper(slot.target, member)
            if upper is not None:
                yield member, upper


def _of_top_set(scheme: TopSet) -> Iterator[tuple[Member, Number]]:
    """Where its back-off sets stop, and the efforts of its build-up."""
    off = scheme.back_off
    if off is not None and off.until_rpe is not None:
        yield "rpe", off.until_rpe
        for count in (off.most, off.fewest):
            if count is not None:
                yield "back_off_sets", count
    if scheme.build_up is not None:
        for rpe in scheme.build_up.rpes or ():
            yield "rpe", rpe


def _of_target(member: str) -> Callable[[Slot], Number | None]:
    def read(slot: Slot) -> Number | None:
        if isinstance(slot.scheme, Ladder | MaxTest):
            return None
        found: Number | None = getattr(slot.target, member, None)
        return found

    return read


def _sets(slot: Slot) -> Number | None:
    scheme = slot.scheme
    if isinstance(scheme, SetsAtTarget | Cluster):
        return scheme.sets
    return scheme.sets_before if isinstance(scheme, OpenLastSet) else None


def _of_back_off(member: str) -> Callable[[Slot], Number | None]:
    def read(slot: Slot) -> Number | None:
        if not isinstance(slot.scheme, TopSet) or slot.scheme.back_off is None:
            return None
        found: Number | None = getattr(slot.scheme.back_off, member)
        return found

    return read


def _same_load(slot: Slot) -> Number | None:
    scheme = slot.scheme
    return scheme.same_load.sets if isinstance(scheme, TopSet) and scheme.same_load is not None else None


def _load(slot: Slot) -> Number | None:
    target = slot.target
    if not isinstance(target, LoadTarget | TimeTarget | DistanceTarget) or target.load is None:
        return None
    return target.load.value


_OF_SCHEME = frozenset({"sets", "back_off_sets", "same_load_sets", "less_percent"})
_READ: dict[Member, Callable[[Slot], Number | None]] = {
    "percent": _of_target("percent"),
    "rpe": _of_target("rpe"),
    "rir": _of_target("rir"),
    "reps": _of_target("reps"),
    "sets": _sets,
    "back_off_sets": _of_back_off("sets"),
    "same_load_sets": _same_load,
    "load": _load,
    "less_percent": _of_back_off("less_percent"),
    "seconds": _of_target("seconds"),
    "metres": _of_target("metres"),
    "rest_seconds": lambda slot: slot.rest_seconds,
}
