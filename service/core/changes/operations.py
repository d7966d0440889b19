"""What a coach may do to a template in one step, and how a step that cannot be done is refused."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from service.core.calendar import Day, Weekday
from service.core.errors import DomainError
from service.core.slots import Slot, WeekPlan
from service.core.templates import Fault
from service.core.units import Number

AtLimit = Literal["refuse", "hold"]
"""What becomes of a number that would leave its range: the operation is refused, or the number is held there."""
MOST_WEEKS, MOST_SESSIONS, MOST_SLOTS = 104, 14, 30
"""A template's most weeks, a week's most sessions, a session's most slots."""


class Refused(DomainError):
    """An operation that cannot be done, with all that is wrong with it; the message is the first of that.

    Pointers lead from the operation to its member, such as `/weeks/0`, until `apply` puts its place before them.
    """

    code = "unfit"

    def __init__(self, *faults: Fault) -> None:
        super().__init__(faults[0].text)
        self.faults = faults


def refused(pointer: str, code: str, rule: str) -> Refused:
    """The refusal of one member; `rule` goes on after the member's name."""
    return Refused(Fault(pointer, code, rule))


@dataclass(frozen=True, slots=True, kw_only=True)
class Which:
    """Which slots an operation acts on; what is left out does not narrow.

    Sessions of the kind test or meet are left as they are unless `sessions` names them: what is to be shown on the day
    is not made easier with the weeks before it. Slots with the scheme ladder or test always stay.
    """

    weeks: tuple[int, ...] | None = None
    """By number, from 1."""
    sessions: tuple[str, ...] | None = None
    """By name."""
    lift: str | None = None
    accessory: bool | None = None
    """True: accessories only; false: without them."""


@dataclass(frozen=True, slots=True, kw_only=True)
class AddWeek:
    """A week of one's own put after another; `after` 0 puts it first."""

    kind: Literal["add_week"] = "add_week"
    after: int
    week: WeekPlan


@dataclass(frozen=True, slots=True, kw_only=True)
class RepeatWeek:
    """A week again, `times` more; the copies come after the week itself, or after `after`."""

    kind: Literal["repeat_week"] = "repeat_week"
    week: int
    times: int = 1
    after: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class DropWeeks:
    """Weeks taken out."""

    kind: Literal["drop_weeks"] = "drop_weeks"
    weeks: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ReorderWeeks:
    """All weeks in another order, each by the number that it has now."""

    kind: Literal["reorder_weeks"] = "reorder_weeks"
    order: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ScaleSets:
    """Set counts times a percentage, half a set rounded up; where there were sets, one stays."""

    kind: Literal["scale_sets"] = "scale_sets"
    percent: Number
    which: Which = Which()
    at_limit: AtLimit = "refuse"


@dataclass(frozen=True, slots=True, kw_only=True)
class ShiftEffort:
    """Every effort asked harder or easier by RPE points; repetitions left go the other way."""

    kind: Literal["shift_effort"] = "shift_effort"
    rpe_points: Number
    which: Which = Which()
    at_limit: AtLimit = "refuse"


@dataclass(frozen=True, slots=True, kw_only=True)
class ShiftPercent:
    """Every percentage of a max up or down by points, bands with both ends."""

    kind: Literal["shift_percent"] = "shift_percent"
    percent_points: Number
    which: Which = Which()
    at_limit: AtLimit = "refuse"


@dataclass(frozen=True, slots=True, kw_only=True)
class ExchangeLift:
    """Another lift in the place of one, in slots, in complexes, and as the lift whose max percentages are of."""

    kind: Literal["exchange_lift"] = "exchange_lift"
    lift: str
    to_lift: str
    weeks: tuple[int, ...] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class InsertLighterWeek:
    """A lighter copy of week `of` (left out: of the week before it), put after week `after`.

    Tests and meets are left out of it: a second one would not be lighter. Fixed loads go down by as many percent of
    themselves as percentages do by points.
    """

    kind: Literal["insert_lighter_week"] = "insert_lighter_week"
    after: int
    of: int | None = None
    sets_percent: Number = 60
    percent_points: Number = -10
    rpe_points: Number = -1


@dataclass(frozen=True, slots=True, kw_only=True)
class AddAccessory:
    """A slot of supporting work at the end of the sessions of a name."""

    kind: Literal["add_accessory"] = "add_accessory"
    slot: Slot
    session: str
    weeks: tuple[int, ...] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class TrimAccessories:
    """No accessory with more than `most_sets`, no session with more than `most_slots` accessories.

    What goes first is what goes first where the time is short (`plan.priorities`): the highest priority number, of
    those with one number the last.
    """

    kind: Literal["trim_accessories"] = "trim_accessories"
    most_sets: int | None = None
    most_slots: int | None = None
    weeks: tuple[int, ...] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """Longer or shorter to a number of weeks, or so that it ends on or before a day.

    Either `weeks`, or `end` with `start` and `weekdays`.
    """

    kind: Literal["stretch"] = "stretch"
    weeks: int | None = None
    end: Day | None = None
    start: Day | None = None
    weekdays: tuple[Weekday, ...] = ()


Operation = (
    AddWeek
    | RepeatWeek
    | DropWeeks
    | ReorderWeeks
    | ScaleSets
    | ShiftEffort
    | ShiftPercent
    | ExchangeLift
    | InsertLighterWeek
    | AddAccessory
    | TrimAccessories
    | Stretch
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Changed:
    """What an operation made of a template.

    `origins` tells for each week where it stood before, from 0; None: it is new. A week stands in it once at most.
    """

    weeks: tuple[WeekPlan, ...]
    origins: tuple[int | None, ...]
    text: str
    """What was done, as a sentence."""
    slots: tuple[str, ...] = ()
    """Of a week that was made from another one: what came of each of its slots, in sentences."""


def in_place(weeks: tuple[WeekPlan, ...], text: str) -> Changed:
    """A change that leaves each week where it stood."""
    return Changed(weeks=weeks, origins=tuple(range(len(weeks))), text=text)


def known_week(number: int, weeks: int, pointer: str, *, lowest: int = 1) -> None:
    """Refuse the number of a week that the template does not have."""
    if not lowest <= number <= weeks:
        raise refused(pointer, "out_of_range", f"must be from {lowest} to {weeks}: so many weeks there are then")


def chosen_weeks(numbers: tuple[int, ...] | None, weeks: int, pointer: str) -> range | frozenset[int]:
    """Places of the weeks named, from 0; of all where none are."""
    if numbers is None:
        return range(weeks)
    for at, number in enumerate(numbers):
        known_week(number, weeks, f"{pointer}/{at}")
    return frozenset(number - 1 for number in numbers)
