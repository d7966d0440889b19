"""The settings of a gym or an athlete, as bodies write them."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import AfterValidator, Field, model_validator
from pydantic_core import PydanticCustomError

from service.api.wire import Body, LiftId, Reps, Rpe, Scale
from service.core.curves.curves import CURVES
from service.core.records import MODEL

BuildUpPercent = Annotated[float, Scale(30, 99, 0.001, unit="percent")]


class BuildUpBody(Body):
    """Build-up sets: by effort or by percentages of the planned load; empty: 2.5 and 1 points under the target."""

    rpes: tuple[Rpe, ...] | None = Field(None, max_length=6)
    """The effort of each, rising. [RPE]"""
    percents: tuple[BuildUpPercent, ...] | None = Field(None, max_length=6)
    """Percentages of the planned load, rising."""
    reps: Reps | None = None
    """Repetitions of each; left out: as in the target."""

    @model_validator(mode="after")
    def _one_way(self) -> BuildUpBody:
        if self.rpes is not None and self.percents is not None:
            raise PydanticCustomError("one_of", "must have rpes or percents, not both")
        for steps in (self.rpes, self.percents):
            if steps is not None and list(steps) != sorted(set(steps)):
                raise PydanticCustomError("not_rising", "must rise from set to set")
        return self


def _known_curve(value: str) -> str:
    if value not in READ_BY:
        raise PydanticCustomError(
            "not_one_of", "must be model or a curve of /v1/curves", {"allowed": {"values": list(READ_BY)}}
        )
    return value


READ_BY = (MODEL, *sorted(CURVES))
CurveWord = Annotated[str, AfterValidator(_known_curve), Field(json_schema_extra={"enum": list(READ_BY)})]


class LiftCurveBody(Body):
    """What one lift is read by."""

    lift: LiftId
    """The lift's word."""
    curve: CurveWord
    """`model`, or a curve of `/v1/curves`."""


def _no_fraction(value: float) -> float:
    """Refuse a part of one where percent are meant; nothing at all is right."""
    if 0 < value < 1:
        rule = f"must be 0, or 1 or more: did you mean {100 * value:g}?"
        raise PydanticCustomError("out_of_range", "{rule}", {"rule": rule})
    return value


class ReturnRuleBody(Body):
    """How an athlete comes back after an absence; a member that is left out or null is as usual."""

    off: bool | None = Field(None, strict=True)
    """True: nothing is eased."""
    from_days: Annotated[int, Scale(5, 60, 1, unit="days")] | None = None
    """Shortest absence that it acts after. Usual: 14."""
    less_percent_a_week: Annotated[float, Scale(0, 10, 0.001, unit="percent")] | None = None
    """Off the loads for each week of absence after the first. Usual: 1.5."""
    most_percent: Annotated[float, Scale(0, 50, 0.001, unit="percent"), AfterValidator(_no_fraction)] | None = None
    """Most that is taken off the loads. Usual: 10."""
    fewer_sets_percent: Annotated[float, Scale(0, 90, 0.001, unit="percent"), AfterValidator(_no_fraction)] | None = (
        None
    )
    """Part of the sets that is left out at first; one stays at least. Usual: 33."""
    back_percent: Annotated[float, Scale(0, 200, 0.001, unit="percent"), AfterValidator(_no_fraction)] | None = None
    """Part of the absence's length that coming back takes. Usual: 50."""
    fewest_days: Annotated[int, Scale(1, 60, 1, unit="days")] | None = None
    """Shortest way back. Usual: 7."""
    most_days: Annotated[int, Scale(1, 60, 1, unit="days")] | None = None
    """Longest; it goes before the shortest. Usual: 21."""


class SettingsBody(Body):
    """What differs from the gym's settings; null gives a setting back to the gym."""

    effort_limit: Annotated[float, Scale(6, 10, 0.5)] | None = None
    """Work sets stay below this; tests, maximal days and meets lift it. [RPE]"""
    training_max_percent: Annotated[float, Scale(80, 100, 0.001, unit="percent")] | None = None
    """A training max that nobody entered is this part of the tested max."""
    build_up: BuildUpBody | None = None
    """How work sets are built up to."""
    rounding: Literal["nearest", "down", "up"] | None = None
    """To the nearest load that can be hung, the next lighter or the next heavier."""
    adjustment: Literal["calculation", "published_step"] | None = None
    """How far a load moves in the session: by the calculation, or 2 % per half RPE point (Helms et al. 2018)."""
    curve: CurveWord | None = None
    """What maxes and loads are read by: `model`, the athlete's own model, unless the coach pins a curve."""
    lift_curves: tuple[LiftCurveBody, ...] | None = Field(None, max_length=200)
    """The same for single lifts, each named once; it goes before `curve`. An athlete's list takes the place of the
    gym's."""
    return_rule: ReturnRuleBody | None = None
    """How an athlete comes back after an absence: lighter and less at first. An athlete's rule takes the place of the
    gym's."""

    @model_validator(mode="after")
    def _each_once(self) -> SettingsBody:
        named = [one.lift for one in self.lift_curves or ()]
        if len(named) != len(set(named)):
            raise PydanticCustomError("repeated", "must name each lift once", {"member": "lift_curves"})
        return self


def stored_settings(body: SettingsBody | None) -> dict[str, Any]:
    """The members that were sent, as they are stored; null members are kept so that they can clear."""
    if body is None:
        return {}
    stored = body.model_dump(exclude_unset=True, mode="json")
    if body.return_rule is not None:
        stored["return_rule"] = stored_rule(body.return_rule)
    return stored


def stored_rule(body: ReturnRuleBody | None) -> dict[str, Any] | None:
    """The numbers of a rule that were sent, as they are stored."""
    return None if body is None else body.model_dump(exclude_none=True, mode="json")
