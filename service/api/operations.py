"""Operations that change a template, as bodies write them."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import AfterValidator, Field, model_validator
from pydantic_core import PydanticCustomError

from service.api.schemes import Flag
from service.api.slots import SlotBody, WeekBody
from service.api.targets import count, without
from service.api.wire import Body, Day, LiftId, Name, Scale, Weekday
from service.core.changes import operations as core


def _once(value: tuple[str | int, ...]) -> tuple[str | int, ...]:
    if len(set(value)) != len(value):
        raise PydanticCustomError("repeated", "must name each one once")
    return value


def _not_nothing(value: float) -> float:
    if value == 0:
        raise PydanticCustomError("out_of_range", "must not be 0: nothing would change")
    return value


_weeks, _weeks_doc = count(1, core.MOST_WEEKS)
_names, _names_doc = count(1, 14)
_days, _days_doc = count(1, 7)

WeekNumber = Annotated[int, Scale(1, core.MOST_WEEKS, 1)]
AfterWeek = Annotated[int, Scale(0, core.MOST_WEEKS, 1)]
WeekNumbers = Annotated[tuple[WeekNumber, ...], _weeks, _weeks_doc, AfterValidator(_once)]
SessionNames = Annotated[tuple[Name, ...], _names, _names_doc, AfterValidator(_once)]
Weekdays = Annotated[tuple[Weekday, ...], _days, _days_doc, AfterValidator(_once)]
SetsPercent = Annotated[float, Scale(5, 500, 0.001, unit="percent", hint=": did you mean {}?")]
Points = Annotated[float, Scale(-120, 120, 0.001, unit="percentage points"), AfterValidator(_not_nothing)]
RpePoints = Annotated[float, Scale(-9, 9, 0.5), AfterValidator(_not_nothing)]
AtLimit = Literal["refuse", "hold"]


class WhichBody(Body):
    """Which slots; what is left out does not narrow.

    Sessions of the kind test or meet are left as they are unless `sessions` names them; slots with the scheme ladder or
    test always are.
    """

    weeks: WeekNumbers | None = None
    """Weeks by number."""
    sessions: SessionNames | None = None
    """Sessions by name."""
    lift: LiftId | None = None
    """Slots of one lift."""
    accessory: Flag | None = None
    """True: accessories only; false: without them."""

    def record(self) -> core.Which:
        """The choice as the calculation takes it."""
        return core.Which(weeks=self.weeks, sessions=self.sessions, lift=self.lift, accessory=self.accessory)


def _which(body: WhichBody | None) -> core.Which:
    return core.Which() if body is None else body.record()


class AddWeekBody(Body):
    """A week of one's own."""

    kind: Literal["add_week"]
    """`add_week`."""
    after: AfterWeek
    """It comes after this week; 0: first."""
    week: WeekBody
    """The week."""

    def record(self) -> core.AddWeek:
        """The operation as the calculation takes it."""
        return core.AddWeek(after=self.after, week=self.week.record())


class RepeatWeekBody(Body):
    """A week again."""

    kind: Literal["repeat_week"]
    """`repeat_week`."""
    week: WeekNumber
    """Which week."""
    times: Annotated[int, Scale(1, core.MOST_WEEKS - 1, 1)] | None = None
    """How many times more; left out: once."""
    after: AfterWeek | None = None
    """The copies come after this week; left out: after the week itself."""

    def record(self) -> core.RepeatWeek:
        """The operation as the calculation takes it."""
        return core.RepeatWeek(week=self.week, times=self.times or 1, after=self.after)


class DropWeeksBody(Body):
    """Weeks taken out."""

    kind: Literal["drop_weeks"]
    """`drop_weeks`."""
    weeks: WeekNumbers
    """Which weeks, by the numbers that they have then."""

    def record(self) -> core.DropWeeks:
        """The operation as the calculation takes it."""
        return core.DropWeeks(weeks=self.weeks)


class ReorderWeeksBody(Body):
    """All weeks in another order."""

    kind: Literal["reorder_weeks"]
    """`reorder_weeks`."""
    order: WeekNumbers
    """All weeks, each by the number that it has then."""

    def record(self) -> core.ReorderWeeks:
        """The operation as the calculation takes it."""
        return core.ReorderWeeks(order=self.order)


class ScaleSetsBody(Body):
    """Set counts times a percentage, half a set rounded up; where there were sets, one stays.

    Top sets, open sets, ascending sets, tests and ladders are no counts, and stay.
    """

    kind: Literal["scale_sets"]
    """`scale_sets`."""
    percent: SetsPercent
    """60: three fifths of the sets."""
    which: WhichBody | None = None
    """Which slots; left out: all."""
    at_limit: AtLimit | None = None
    """More than 20 sets: `refuse` (as when left out), or `hold` at 20."""

    def record(self) -> core.ScaleSets:
        """The operation as the calculation takes it."""
        return core.ScaleSets(percent=self.percent, which=_which(self.which), at_limit=self.at_limit or "refuse")


class ShiftEffortBody(Body):
    """Efforts harder or easier: the target's, where sets stop, those of stated build-up sets."""

    kind: Literal["shift_effort"]
    """`shift_effort`."""
    rpe_points: RpePoints
    """1: a point harder, a repetition less left."""
    which: WhichBody | None = None
    """Which slots; left out: all."""
    at_limit: AtLimit | None = None
    """Beyond RPE 1 to 10, or 0 to 9 left: `refuse` (as when left out), or `hold` there."""

    def record(self) -> core.ShiftEffort:
        """The operation as the calculation takes it."""
        return core.ShiftEffort(
            rpe_points=self.rpe_points, which=_which(self.which), at_limit=self.at_limit or "refuse"
        )


class ShiftPercentBody(Body):
    """Percentages of a max up or down, bands with both ends."""

    kind: Literal["shift_percent"]
    """`shift_percent`."""
    percent_points: Points
    """2.5: 75 % becomes 77.5 %."""
    which: WhichBody | None = None
    """Which slots; left out: all."""
    at_limit: AtLimit | None = None
    """Beyond 10 to 130 %: `refuse` (as when left out), or `hold` there."""

    def record(self) -> core.ShiftPercent:
        """The operation as the calculation takes it."""
        return core.ShiftPercent(
            percent_points=self.percent_points, which=_which(self.which), at_limit=self.at_limit or "refuse"
        )


class ExchangeLiftBody(Body):
    """Another lift in the place of one, also in complexes, and where percentages are of its max.

    Efforts, percentages and set counts stay; a fixed load belongs to the old lift, so the lifter chooses one. A complex
    that is logged as the old lift, or of which one lift alone would be left, stays as it is and is told: write it anew.
    """

    kind: Literal["exchange_lift"]
    """`exchange_lift`."""
    lift: LiftId
    """The lift's word."""
    to_lift: LiftId
    """The word of the one that takes its place."""
    weeks: WeekNumbers | None = None
    """Weeks by number; left out: all."""

    def record(self) -> core.ExchangeLift:
        """The operation as the calculation takes it."""
        return core.ExchangeLift(lift=self.lift, to_lift=self.to_lift, weeks=self.weeks)


class InsertLighterWeekBody(Body):
    """A lighter copy of a week: fewer sets, lower percentages and fixed loads, easier efforts; without tests and meets.

    What the numbers come to is told slot by slot; where nothing would be lighter, it is refused.
    """

    kind: Literal["insert_lighter_week"]
    """`insert_lighter_week`."""
    after: WeekNumber
    """It comes after this week."""
    of: WeekNumber | None = None
    """The week that it is made from; left out: the one before it."""
    sets_percent: Annotated[float, Scale(5, 100, 0.001, unit="percent", hint=": did you mean {}?")] | None = None
    """How much of the sets is left; left out: 60."""
    percent_points: Annotated[float, Scale(-100, 0, 0.001, unit="percentage points")] | None = None
    """How far percentages go down; left out: -10. Fixed loads go down by as many percent of themselves, to half
    kilograms, whole pounds or whole steps. Loads that grow by `add_load` do not grow in the week, and are so many
    percent under the last load."""
    rpe_points: Annotated[float, Scale(-9, 0, 0.5)] | None = None
    """How far efforts go down; left out: -1."""

    def record(self) -> core.InsertLighterWeek:
        """The operation as the calculation takes it."""
        stated = {
            name: value
            for name in ("sets_percent", "percent_points", "rpe_points")
            if (value := getattr(self, name)) is not None
        }
        return core.InsertLighterWeek(after=self.after, of=self.of, **stated)


class AddAccessoryBody(Body):
    """A slot of supporting work at the end of sessions."""

    kind: Literal["add_accessory"]
    """`add_accessory`."""
    slot: SlotBody
    """The slot; it becomes an accessory."""
    session: Name
    """The name of the sessions that get it."""
    weeks: WeekNumbers | None = None
    """Weeks by number; left out: all."""

    def record(self) -> core.AddAccessory:
        """The operation as the calculation takes it."""
        return core.AddAccessory(slot=self.slot.record(), session=self.session, weeks=self.weeks)


class TrimAccessoriesBody(Body):
    """Fewer accessories. What goes first also goes first where the time is short.

    That is the highest `priority`, where it is left out 6, of an optional slot 8; of those with one number the last.
    """

    kind: Literal["trim_accessories"]
    """`trim_accessories`."""
    most_sets: Annotated[int, Scale(1, 20, 1)] | None = None
    """No accessory has more sets; or `most_slots`, or both."""
    most_slots: Annotated[int, Scale(0, 30, 1)] | None = None
    """No session has more accessories."""
    weeks: WeekNumbers | None = None
    """Weeks by number; left out: all."""

    @model_validator(mode="after")
    def _one_of_both(self) -> TrimAccessoriesBody:
        if self.most_sets is None and self.most_slots is None:
            raise PydanticCustomError("required", "is required, or most_slots in its place", {"member": "most_sets"})
        return self

    def record(self) -> core.TrimAccessories:
        """The operation as the calculation takes it."""
        return core.TrimAccessories(most_sets=self.most_sets, most_slots=self.most_slots, weeks=self.weeks)


class StretchBody(Body):
    """Longer or shorter, to a number of weeks or to end by a day; the last week, the goal, always stays.

    Lengthening repeats ordinary weeks, those in the middle first, each once before any twice. Shortening takes
    out weeks that only repeat the one before them, then weeks from the start; a lighter week goes rather than stand
    first.
    """

    kind: Literal["stretch"]
    """`stretch`."""
    weeks: WeekNumber | None = None
    """So many weeks; or `end`."""
    end: Annotated[Day, without("weeks")] | None = None
    """The last session is on this day or in the week before it, when the block is laid out as told here."""
    start: Day | None = None
    """With `end`: the first day that may be used."""
    weekdays: Weekdays | None = None
    """With `end`: the days to train on."""

    @model_validator(mode="after")
    def _by_weeks_or_by_a_day(self) -> StretchBody:
        if self.weeks is None and self.end is None:
            raise PydanticCustomError("required", "is required, or end in its place", {"member": "weeks"})
        for member in ("start", "weekdays"):
            sent = getattr(self, member) is not None
            if self.end is not None and not sent:
                raise PydanticCustomError("needed_with", "is needed with end", {"member": member})
            if self.end is None and sent:
                raise PydanticCustomError("needed_with", "belongs to end", {"member": member})
        return self

    def record(self) -> core.Stretch:
        """The operation as the calculation takes it."""
        return core.Stretch(weeks=self.weeks, end=self.end, start=self.start, weekdays=self.weekdays or ())


OperationBody = Annotated[
    AddWeekBody
    | RepeatWeekBody
    | DropWeeksBody
    | ReorderWeeksBody
    | ScaleSetsBody
    | ShiftEffortBody
    | ShiftPercentBody
    | ExchangeLiftBody
    | InsertLighterWeekBody
    | AddAccessoryBody
    | TrimAccessoriesBody
    | StretchBody,
    Field(discriminator="kind"),
]
