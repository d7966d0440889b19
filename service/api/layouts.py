"""How a block's days are asked for, as bodies write it: wishes, holidays, places by weekday."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import AfterValidator, BaseModel, Field, ValidationInfo, model_validator
from pydantic_core import PydanticCustomError

from service.api.targets import count, without
from service.api.wire import Body, Day, LiftId, Name, Scale, ThingName, Weekday
from service.core.layout.wishes import Apart, Holiday, LightBefore, Wishes

Flag = Annotated[bool, Field(strict=True)]


def once(value: tuple[str, ...]) -> tuple[str, ...]:
    """A list that names each one once."""
    if len(set(value)) != len(value):
        raise PydanticCustomError("repeated", "must name each one once")
    return value


def not_before(other: str) -> AfterValidator:
    """A day that is not before the member `other`, which stands before it."""

    def check(value: Day, info: ValidationInfo) -> Day:
        first = info.data.get(other)
        if first is not None and value < first:
            raise PydanticCustomError("out_of_range", "{rule}", {"rule": f"must not be before {first}"})
        return value

    return AfterValidator(check)


_days, _days_doc = count(1, 7)
_kinds, _kinds_doc = count(1, 6)
_few, _few_doc = count(0, 8)
_some, _some_doc = count(0, 40)
Weekdays = Annotated[tuple[Weekday, ...], _days, _days_doc, AfterValidator(once)]
Names = Annotated[tuple[Name, ...], _kinds, _kinds_doc, AfterValidator(once)]
Lifts = Annotated[tuple[LiftId, ...], _kinds, _kinds_doc, AfterValidator(once)]


class HolidayBody(Body):
    """Days without training."""

    from_: Day = Field(alias="from")
    """The first one."""
    until: Annotated[Day, not_before("from_")] | None = None
    """The last one, included; left out: only that one day."""

    def record(self) -> Holiday:
        """The holiday as the calculation takes it."""
        return Holiday(since=self.from_, until=self.until or self.from_)


class ApartBody(Body):
    """Free days between two kinds of session: by their names, or by the lifts that they are heavy in."""

    sessions: Names | None = None
    """Names of sessions of the template; of one alone, its sessions are kept apart from each other."""
    lifts: Annotated[Lifts, without("sessions")] | None = None
    """In place of `sessions`: words of lifts; sessions in which one of them is heavy."""
    days: Annotated[int, Scale(1, 4, 1, unit="days")]
    """How many free days between them, at least."""
    must: Flag | None = None
    """True: never broken, and a week runs on where it has to. Left out: a wish, met by the days of the week."""

    @model_validator(mode="after")
    def _of_something(self) -> ApartBody:
        if self.sessions is None and self.lifts is None:
            raise PydanticCustomError("required", "is required, or lifts in its place", {"member": "sessions"})
        return self

    def record(self) -> Apart:
        """The wish as the calculation takes it."""
        by: Literal["sessions", "lifts"] = "sessions" if self.lifts is None else "lifts"
        return Apart(by=by, kinds=self.lifts or self.sessions or (), days=self.days, must=self.must or False)


class LightBeforeBody(Body):
    """Nothing heavy in the days before a date, and on the date nothing heavy but what it is about.

    That is a session that is a test or a meet, or in which a max is tested.
    """

    date: Day
    """The date: a test, a competition."""
    days: Annotated[int, Scale(1, 14, 1, unit="days")]
    """How many days before it."""
    must: Flag | None = None
    """True: never broken, and heavy sessions wait until the day after the date where they have to."""

    def record(self) -> LightBefore:
        """The wish as the calculation takes it."""
        return LightBefore(date=self.date, days=self.days, must=self.must or False)


class WishesBody(Body):
    """What else the days shall be like. Weekdays, holidays and the most a week are never broken."""

    never_on: Annotated[tuple[Weekday, ...], _few, _few_doc, AfterValidator(once)] | None = None
    """Weekdays without training, whatever `weekdays` says."""
    holidays: Annotated[tuple[HolidayBody, ...], _some, _some_doc] | None = None
    """Days without training."""
    apart: Annotated[tuple[ApartBody, ...], _few, _few_doc] | None = None
    """Free days between kinds of session."""
    light_before: Annotated[tuple[LightBeforeBody, ...], _few, _few_doc] | None = None
    """Dates that nothing heavy comes right before, nor onto, but a test or a meet."""
    most_a_week: Annotated[int, Scale(1, 7, 1)] | None = None
    """Sessions from a Monday to the Sunday after it, at most."""

    def record(self) -> Wishes:
        """The wishes as the calculation takes them."""
        return Wishes(
            never_on=self.never_on or (),
            holidays=tuple(one.record() for one in self.holidays or ()),
            apart=tuple(one.record() for one in self.apart or ()),
            light_before=tuple(one.record() for one in self.light_before or ()),
            most_a_week=self.most_a_week,
        )


class PlacesBody(Body):
    """Where sessions are, by the weekday that they come to stand on: our id, or `ref:` and the gym's own reference."""

    monday: ThingName | None = None
    """On Mondays."""
    tuesday: ThingName | None = None
    """On Tuesdays."""
    wednesday: ThingName | None = None
    """On Wednesdays."""
    thursday: ThingName | None = None
    """On Thursdays."""
    friday: ThingName | None = None
    """On Fridays."""
    saturday: ThingName | None = None
    """On Saturdays."""
    sunday: ThingName | None = None
    """On Sundays."""

    def by_day(self) -> dict[Weekday, str]:
        """The places that were named."""
        return {day: place for day, place in self if place is not None}  # type: ignore[misc]


class LayoutShown(BaseModel):
    """How a block's days were asked for; what was not said is absent."""

    weekdays: list[Weekday]
    """The days to train on."""
    start: Day | None = None
    """Forwards: the first day that could be used."""
    end: Day | None = None
    """Backwards, or beside `start`: the last one."""
    wishes: WishesBody | None = None
    """What else the days were to be like."""
    places: PlacesBody | None = None
    """Our ids of the places on some weekdays."""
    reorder: Flag | None = None
    """True: the sessions of a week could change their order."""
    spread: Flag | None = None
    """True: spread evenly."""
