"""What a set asks for, as bodies write it; and the limits that members of one body set each other."""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BeforeValidator, Field, ValidationError, ValidationInfo, model_validator
from pydantic_core import InitErrorDetails, PydanticCustomError

from service.api.wire import Body, LiftId, LoadIn, Metres, Percent, Reps, Rir, Rpe, Scale, Seconds
from service.core import slots as core

ValidDays = Annotated[int, Scale(1, 14, 1, unit="days")]


def count(low: int, high: int) -> tuple[BeforeValidator, Any]:
    """What `Annotated` takes so that a list has `low` to `high` members, told in the words of the other limits."""

    def check(value: object) -> object:
        if not isinstance(value, list | tuple):
            raise PydanticCustomError("not_a_list", "must be a list")
        if not low <= len(value) <= high:
            shown = {"min": low, "max": high}
            rule = f"must have {low} to {high} members"
            raise PydanticCustomError("wrong_count", "{rule}", {"rule": rule, "allowed": shown})
        return value

    return BeforeValidator(check), Field(json_schema_extra={"minItems": low, "maxItems": high})


def at_least(other: str) -> AfterValidator:
    """The upper end of a band: not below the member `other`, which stands before it."""

    def check(value: float, info: ValidationInfo) -> float:
        low = info.data.get(other)
        if low is not None and value < low:
            rule = f"must not be less than {other}"
            raise PydanticCustomError("below_other", "{rule}", {"rule": rule, "allowed": {"min": low}})
        return value

    return AfterValidator(check)


def without(other: str) -> AfterValidator:
    """A member that excludes the member `other`, which stands before it."""

    def check(value: Any, info: ValidationInfo) -> Any:
        if value is not None and info.data.get(other) is not None:
            raise PydanticCustomError("one_of", "{rule}", {"rule": f"must not stand beside {other}: send one of them"})
        return value

    return AfterValidator(check)


def fault(path: tuple[str | int, ...], code: str, rule: str) -> ValidationError:
    """A refusal deeper than one member of the model that finds it."""
    return faults([(path, code, rule)])


def faults(found: Iterable[tuple[tuple[str | int, ...], str, str]]) -> ValidationError:
    """Several refusals at once: path within the model that finds them, code, rule."""
    errors = [
        InitErrorDetails(type=PydanticCustomError(code, "{rule}", {"rule": rule}), loc=path, input=None)
        for path, code, rule in found
    ]
    return ValidationError.from_exception_data("body", errors)


def _for_day(value: int, info: ValidationInfo) -> int:
    if info.data.get("basis", "day") != "day":
        raise PydanticCustomError("not_here", "belongs to the basis day only")
    return value


RepsTo = Annotated[Reps, at_least("reps")]


class EffortTargetBody(Body):
    """Repetitions at an effort: exactly one of `rpe` and `rir`."""

    kind: Literal["effort"]
    """`effort`."""
    reps: Reps
    """Repetitions; with `reps_to` the least of them."""
    reps_to: RepsTo | None = None
    """The most repetitions of a range."""
    rpe: Rpe | None = None
    """The effort asked on the RPE scale, halves allowed."""
    rir: Annotated[Rir, without("rpe")] | None = None
    """The effort asked as repetitions left, halves allowed."""

    @model_validator(mode="after")
    def _one_effort(self) -> EffortTargetBody:
        if self.rpe is None and self.rir is None:
            raise PydanticCustomError("one_of", "must be sent, or rir in its place", {"member": "rpe"})
        return self

    def record(self) -> core.EffortTarget:
        """The target as the calculation takes it."""
        return _effort(self.reps, self.reps_to, self.rpe, self.rir)


@lru_cache(maxsize=1024)  # templates ask for few different ones, and the same one is compared at once
def _effort(reps: int, reps_to: int | None, rpe: float | None, rir: float | None) -> core.EffortTarget:
    return core.EffortTarget(reps=reps, reps_to=reps_to, rpe=rpe, rir=rir)


class PercentTargetBody(Body):
    """A percentage, or a band of it, of a max."""

    kind: Literal["percent"]
    """`percent`."""
    reps: Reps
    """Repetitions; with `reps_to` the least of them."""
    reps_to: RepsTo | None = None
    """The most repetitions of a range."""
    percent: Percent
    """Of the basis, as coaches write it: 80 is 80 %."""
    percent_to: Annotated[Percent, at_least("percent")] | None = None
    """The upper end of a band."""
    basis: core.Basis
    """Which max: `tested`, `training`, `day` (of that day's heavy set) or `rolling` (what the log says)."""
    valid_days: Annotated[ValidDays, AfterValidator(_for_day)] | None = None
    """How many days a day's max may serve, its own included; for the basis `day` only."""
    of: LiftId | None = None
    """The lift whose max is meant; left out: the slot's own."""

    def record(self) -> core.PercentTarget:
        """The target as the calculation takes it."""
        return core.PercentTarget(
            reps=self.reps,
            reps_to=self.reps_to,
            percent=self.percent,
            percent_to=self.percent_to,
            basis=self.basis,
            valid_days=self.valid_days,
            of=self.of,
        )


class LoadTargetBody(Body):
    """A fixed load."""

    kind: Literal["load"]
    """`load`."""
    reps: Reps
    """Repetitions; with `reps_to` the least of them."""
    reps_to: RepsTo | None = None
    """The most repetitions of a range."""
    load: LoadIn
    """The load, in the sense of the lift's load kind."""

    def record(self) -> core.LoadTarget:
        """The target as the calculation takes it."""
        return core.LoadTarget(reps=self.reps, reps_to=self.reps_to, load=self.load)


class TimeTargetBody(Body):
    """Seconds under a hold or a carry."""

    kind: Literal["time"]
    """`time`."""
    seconds: Seconds
    """How long."""
    load: LoadIn | None = None
    """The load, where there is one."""

    def record(self) -> core.TimeTarget:
        """The target as the calculation takes it."""
        return core.TimeTarget(seconds=self.seconds, load=self.load)


class DistanceTargetBody(Body):
    """Metres of a carry or a drag."""

    kind: Literal["distance"]
    """`distance`."""
    metres: Metres
    """How far."""
    load: LoadIn | None = None
    """The load, where there is one."""

    def record(self) -> core.DistanceTarget:
        """The target as the calculation takes it."""
        return core.DistanceTarget(metres=self.metres, load=self.load)


class FreeTargetBody(Body):
    """The lifter chooses the load."""

    kind: Literal["free"]
    """`free`."""
    reps: Reps | None = None
    """Repetitions; with `reps_to` the least of them; left out: chosen too."""
    reps_to: RepsTo | None = None
    """The most repetitions of a range."""

    @model_validator(mode="after")
    def _both_ends(self) -> FreeTargetBody:
        if self.reps_to is not None and self.reps is None:
            raise PydanticCustomError("needed_with", "is needed with reps_to", {"member": "reps"})
        return self

    def record(self) -> core.FreeTarget:
        """The target as the calculation takes it."""
        return core.FreeTarget(reps=self.reps, reps_to=self.reps_to)


TargetBody = Annotated[
    EffortTargetBody | PercentTargetBody | LoadTargetBody | TimeTargetBody | DistanceTargetBody | FreeTargetBody,
    Field(discriminator="kind"),
]
