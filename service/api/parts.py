"""Parts of a template as bodies write them: one week, how many of them, and what changes from week to week."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import AfterValidator, Field, model_validator
from pydantic_core import PydanticCustomError

from service.api.schemes import Flag
from service.api.slots import WeekBody
from service.api.targets import count, without
from service.api.wire import Body, LiftId, LoadIn, Name, Scale
from service.core.progressions import records
from service.core.progressions.numbers import Member


def _not_nothing(value: float) -> float:
    if value == 0:
        raise PydanticCustomError("out_of_range", "must not be 0: nothing would change")
    return value


def _once(value: tuple[int, ...]) -> tuple[int, ...]:
    if list(value) != sorted(set(value)):
        raise PydanticCustomError("not_rising", "must rise, each number once")
    return value


_sessions, _sessions_doc = count(1, 14)
_numbers, _numbers_doc = count(1, 14)
_slots, _slots_doc = count(1, 30)
_lighter, _lighter_doc = count(1, 104)

By = Annotated[float, Scale(-100_000, 100_000, 0.001), AfterValidator(_not_nothing)]
To = Annotated[float, Scale(0, 100_000, 0.001)]
SetsPercent = Annotated[float, Scale(1, 99, 0.001, unit="percent", hint=": did you mean {}?")]
PointsLess = Annotated[float, Scale(-100, -0.001, 0.001, unit="points")]
RpeLess = Annotated[float, Scale(-9, -0.5, 0.5)]
WeekNumber = Annotated[int, Scale(1, 104, 1)]


class WhereBody(Body):
    """Which slots are meant: those that fit everything said; accessories where `lift` or `slots` names them."""

    lift: LiftId | None = None
    """Slots of this lift; left out: of any."""
    sessions: Annotated[tuple[Name, ...], _sessions, _sessions_doc] | None = None
    """Names of sessions; left out: all but tests and meets."""
    session_numbers: (
        Annotated[tuple[Annotated[int, Scale(1, 14, 1)], ...], _numbers, _numbers_doc, AfterValidator(_once)] | None
    ) = None
    """Sessions by their place in the week, for names that stand there twice."""
    slots: Annotated[tuple[Annotated[int, Scale(1, 30, 1)], ...], _slots, _slots_doc, AfterValidator(_once)] | None = (
        None
    )
    """Places in the session, from 1; left out: all."""


def _load_or_number(change: Member, number: object, load: object, names: tuple[str, str]) -> None:
    """A load moves by a load, all else by a number."""
    wanted, other = (load, number) if change == "load" else (number, load)
    name, unwanted = (names[1], names[0]) if change == "load" else names
    if other is not None:
        rule = f"does not belong to {change}: send {name}"
        raise PydanticCustomError("not_here", "{rule}", {"rule": rule, "member": unwanted})
    if wanted is None:
        raise PydanticCustomError("required", "is required", {"member": name})


class EachWeekBody(WhereBody):
    """A number that moves by the same amount from week to week, rounded to what it counts, halves up."""

    kind: Literal["each_week"]
    """`each_week`."""
    change: Member
    """Which number; of a band or a range both ends move."""
    by: By | None = None
    """By how much a week, in points of percent, RPE, sets, seconds; negative: less. Not for a load."""
    by_load: LoadIn | None = None
    """For `load`: by how much a week, in the unit in which the slot's load is written; negative: less."""

    @model_validator(mode="after")
    def _one_amount(self) -> EachWeekBody:
        _load_or_number(self.change, self.by, self.by_load, ("by", "by_load"))
        if self.by_load is not None and self.by_load.value == 0:
            raise PydanticCustomError("out_of_range", "must not be 0: nothing would change", {"member": "by_load"})
        return self

    def record(self) -> records.EachWeek:
        """The progression as the calculation takes it."""
        return records.EachWeek(
            change=self.change,
            by=self.by,
            by_load=self.by_load,
            lift=self.lift,
            sessions=self.sessions or (),
            session_numbers=self.session_numbers or (),
            slots=self.slots or (),
        )


class FromToBody(WhereBody):
    """A number that goes evenly from what the week says to another, reached in the last week that is not lighter."""

    kind: Literal["from_to"]
    """`from_to`."""
    change: Member
    """Which number; the upper end of a band or a range goes with it."""
    to: To | None = None
    """Where it ends. Not for a load."""
    to_load: LoadIn | None = None
    """For `load`: where it ends, in the unit in which the slot's load is written."""

    @model_validator(mode="after")
    def _one_end(self) -> FromToBody:
        _load_or_number(self.change, self.to, self.to_load, ("to", "to_load"))
        return self

    def record(self) -> records.FromTo:
        """The progression as the calculation takes it."""
        return records.FromTo(
            change=self.change,
            to=self.to,
            to_load=self.to_load,
            lift=self.lift,
            sessions=self.sessions or (),
            session_numbers=self.session_numbers or (),
            slots=self.slots or (),
        )


class LighterWeeksBody(WhereBody):
    """Weeks that are lighter than what would stand there, accessories too; tests and ladders stay as they are."""

    kind: Literal["lighter_weeks"]
    """`lighter_weeks`."""
    every: Annotated[int, Scale(2, 104, 1)] | None = None
    """Each week of the part whose number this divides: 3 is weeks 3, 6, 9; or `weeks`."""
    weeks: Annotated[tuple[WeekNumber, ...], _lighter, _lighter_doc, AfterValidator(_once), without("every")] | None = (
        None
    )
    """Numbers of the weeks, in the part, from 1."""
    sets_percent: SetsPercent | None = None
    """So much of the sets stays, rounded half up, at least one."""
    percent_points: PointsLess | None = None
    """So much less of the max, in points: -10 makes 80 % of it 70 %. Fixed loads go down by as many percent of
    themselves, to half kilograms, whole pounds or whole steps: 60 kg become 54 kg. Loads that grow by `add_load` do
    not grow in these weeks, and are so many percent under the last load."""
    rpe_points: RpeLess | None = None
    """So much easier: -1 makes RPE 8 RPE 7, and two repetitions left three."""
    pause: Flag | None = None
    """True: what rises from week to week stands still in these weeks and goes on after them from where it was; left
    out: it goes on as if they were like the others."""
    name: Name | None = None
    """What these weeks are called; left out: as the others."""

    @model_validator(mode="after")
    def _which_and_how(self) -> LighterWeeksBody:
        if self.every is None and self.weeks is None:
            raise PydanticCustomError("required", "is required, or weeks in its place", {"member": "every"})
        if (self.sets_percent, self.percent_points, self.rpe_points) == (None, None, None):
            rule = "is required, or percent_points or rpe_points"
            raise PydanticCustomError("required", "{rule}", {"rule": rule, "member": "sets_percent"})
        return self

    def record(self) -> records.LighterWeeks:
        """The progression as the calculation takes it."""
        return records.LighterWeeks(
            every=self.every,
            weeks=self.weeks or (),
            sets_percent=self.sets_percent,
            percent_points=self.percent_points,
            rpe_points=self.rpe_points,
            pause=self.pause or False,
            name=self.name,
            lift=self.lift,
            sessions=self.sessions or (),
            session_numbers=self.session_numbers or (),
            slots=self.slots or (),
        )


ProgressionBody = Annotated[EachWeekBody | FromToBody | LighterWeeksBody, Field(discriminator="kind")]
_progressions, _progressions_doc = count(1, records.MOST_PROGRESSIONS)


class PartBody(Body):
    """Weeks that are written as one: the first as it is, the others by what changes."""

    name: Name | None = None
    """What the part is called; its weeks are called so where `week` has no name."""
    weeks: WeekNumber
    """How many weeks it has."""
    week: WeekBody
    """Its first week."""
    progressions: Annotated[tuple[ProgressionBody, ...], _progressions, _progressions_doc] | None = None
    """What changes from week to week; left out: nothing."""

    def record(self) -> records.Part:
        """The part as the calculation takes it."""
        return records.Part(
            name=self.name,
            weeks=self.weeks,
            week=self.week.record(),
            progressions=tuple(one.record() for one in self.progressions or ()),
        )
