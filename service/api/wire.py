"""The few shapes that every resource shares: numbers with their limits, texts, loads, days, pages."""

from __future__ import annotations

import re
import unicodedata
from datetime import UTC, date, datetime, timedelta
from typing import Annotated, Any, Generic, Literal, TypeVar
from zoneinfo import available_timezones

from pydantic import AfterValidator, AwareDatetime, BaseModel, BeforeValidator, ConfigDict, Field, GetJsonSchemaHandler
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

from service.core.units import Load, load

T = TypeVar("T")

ZONES = frozenset(available_timezones())


class Body(BaseModel):
    """A request body: unknown members are refused, never ignored."""

    model_config = ConfigDict(extra="forbid", frozen=True)


def allowed(low: float, high: float, step: float | None, unit: str | None = None) -> dict[str, Any]:
    """The allowed range as a problem shows it."""
    shown: dict[str, Any] = {"min": low, "max": high}
    if step is not None:
        shown["step"] = step
    if unit is not None:
        shown["unit"] = unit
    return shown


class Scale:
    """A number from `low` to `high` in steps: text, booleans, NaN and infinities are refused, 5.0 is 5."""

    def __init__(
        self, low: float, high: float, step: float | None = None, *, unit: str | None = None, hint: str = ""
    ) -> None:
        self.low, self.high, self.step, self.unit, self.hint = low, high, step, unit, hint
        self.whole_fit = step in (None, 1, 0.5, 0.001)
        steps = {None: "", 1: " as a whole number", 0.001: " with at most 3 decimals"}
        self.rule = f"must be from {low:g} to {high:g}{steps.get(step, f' in steps of {step:g}' if step else '')}"

    def _refuse(self, code: str, hint: str = "") -> PydanticCustomError:
        shown = allowed(self.low, self.high, self.step, self.unit)
        return PydanticCustomError(code, "{rule}", {"rule": self.rule + hint, "allowed": shown})

    def check(self, value: object) -> int | float:
        """Give the number, or refuse it with the allowed range."""
        if type(value) is int and self.whole_fit and self.low <= value <= self.high:  # most numbers that are sent
            return value
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise self._refuse("not_a_number")
        if not self.low <= value <= self.high:
            meant = value * 100  # a fraction where a percentage is asked
            hint = self.hint.format(f"{meant:g}") if self.low <= meant <= self.high else ""
            raise self._refuse("out_of_range", hint)
        if self.step is not None:
            count = value / self.step
            if abs(count - round(count)) > 1e-6:
                raise self._refuse("not_a_step")
            value = round(value, 3)
        return int(value) if int(value) == value else value

    def __get_pydantic_core_schema__(self, source: object, handler: object) -> CoreSchema:
        return core_schema.no_info_plain_validator_function(self.check)

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        shown: dict[str, Any] = {"type": "integer" if self.step == 1 else "number"}
        shown |= {"minimum": self.low, "maximum": self.high}
        if self.step not in (None, 1):
            shown["multipleOf"] = self.step
        return shown


class Words:
    """A text of 1 to `most` characters, kept in normal form C; NUL and lone surrogates are refused."""

    def __init__(self, most: int) -> None:
        self.most = most

    def check(self, value: object) -> str:
        """Give the text, or refuse it."""
        if not isinstance(value, str):
            raise PydanticCustomError("not_a_text", "must be a text")
        try:
            value.encode()
        except UnicodeEncodeError:
            raise PydanticCustomError("not_unicode", "must not contain lone surrogates") from None
        if "\0" in value:
            raise PydanticCustomError("not_unicode", "must not contain NUL")
        text = unicodedata.normalize("NFC", value)
        if not text.strip() or len(text) > self.most:
            raise PydanticCustomError(
                "wrong_length",
                "must have 1 to {most} characters",
                {"most": self.most, "allowed": {"max_length": self.most}},
            )
        return text

    def __get_pydantic_core_schema__(self, source: object, handler: object) -> CoreSchema:
        return core_schema.no_info_plain_validator_function(self.check)

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        return {"type": "string", "minLength": 1, "maxLength": self.most}


def _pattern(value: object, pattern: re.Pattern[str], rule: str) -> str:
    if not isinstance(value, str) or not pattern.fullmatch(value):
        raise PydanticCustomError("wrong_form", "{rule}", {"rule": rule})
    return value


def _formed(pattern: str, rule: str) -> tuple[BeforeValidator, Any]:
    compiled = re.compile(pattern)
    return BeforeValidator(lambda value: _pattern(value, compiled, rule)), Field(pattern=f"^{pattern}$")


UUID_FORM = "[0-9a-f]{8}-[0-9a-f]{4}-[47][0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}"
REF_FORM = "[A-Za-z0-9._~-]{1,64}"
LIFT_FORM = "[a-z0-9][a-z0-9-]{0,62}"

_uuid, _uuid_doc = _formed(UUID_FORM, "must be a UUID of version 4 or 7 in lower case")
_name, _name_doc = _formed(f"(ref:{REF_FORM}|{UUID_FORM})", "must be an id, or ref: and the gym's own reference")
_ref, _ref_doc = _formed(REF_FORM, "must have 1 to 64 letters, digits or . _ ~ -")
_lift, _lift_doc = _formed(LIFT_FORM, "must be a lift's word: lower-case letters, digits and -, at most 63")
_tempo, _tempo_doc = _formed(
    r"(\d{1,2}|x)(-(\d{1,2}|x)){3}", "must be four numbers or x with - between: seconds down, pause, up, pause"
)

ThingId = Annotated[str, _uuid, _uuid_doc]
ThingName = Annotated[str, _name, _name_doc]
Ref = Annotated[str, _ref, _ref_doc]
LiftId = Annotated[str, _lift, _lift_doc]
Tempo = Annotated[str, _tempo, _tempo_doc]

Reps = Annotated[int, Scale(1, 100, 1)]
RepsDone = Annotated[int, Scale(0, 100, 1)]
Rpe = Annotated[float, Scale(1, 10, 0.5)]
Rir = Annotated[float, Scale(0, 9, 0.5)]
Percent = Annotated[float, Scale(10, 130, 0.001, unit="percent", hint=": did you mean {}?")]
LessPercent = Annotated[float, Scale(0.5, 90, 0.001, unit="percent")]
SetCount = Annotated[int, Scale(1, 20, 1)]
Seconds = Annotated[int, Scale(1, 7200, 1, unit="seconds")]
Metres = Annotated[float, Scale(0.1, 100_000, 0.001, unit="metres")]
Name = Annotated[str, Words(200)]
Note = Annotated[str, Words(2000)]
UnitWord = Literal["kg", "lb"]
SupportWord = Literal["none", "belt", "sleeves", "wraps", "suit", "shirt"]
Weekday = Literal["monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"]


def _zone(value: object) -> str:
    if not isinstance(value, str) or value not in ZONES:
        raise PydanticCustomError("unknown_zone", "must be an IANA time zone such as Europe/Oslo")
    return value


TimeZone = Annotated[str, BeforeValidator(_zone)]

FIRST_DAY = date(1900, 1, 1)


def last_day() -> date:
    """Days after this one are refused: a slip of the finger, not a plan."""
    return datetime.now(UTC).date() + timedelta(days=5 * 366)


def _day(value: date) -> date:
    if not FIRST_DAY <= value <= last_day():
        raise PydanticCustomError(
            "out_of_range",
            "must be a day from {min} to {max}",
            {
                "min": str(FIRST_DAY),
                "max": str(last_day()),
                "allowed": {"min": str(FIRST_DAY), "max": str(last_day())},
            },
        )
    return value


def _day_text(value: object) -> object:
    if not isinstance(value, str) or not re.fullmatch(r"\d{4}-\d{2}-\d{2}", value):
        raise PydanticCustomError("not_a_day", "must be a day such as 2026-11-25")
    return value


def _moment_text(value: object) -> object:
    if not isinstance(value, str) or not re.match(r"\d{4}-\d{2}-\d{2}[Tt]", value):
        raise PydanticCustomError("not_a_moment", "must be a moment with offset such as 2026-11-25T18:05:00+01:00")
    return value


def _moment(value: datetime) -> datetime:
    _day(value.date())
    return value


Day = Annotated[date, BeforeValidator(_day_text), AfterValidator(_day)]
Moment = Annotated[AwareDatetime, BeforeValidator(_moment_text), AfterValidator(_moment)]


class LoadEntry(Body):
    """A load as entered. The same shape in requests and answers."""

    value: Annotated[float, Scale(-1000, 2500, 0.001)]
    """As entered, at most three decimals. By the lift's load kind: the whole bar, one hand, added to body weight
    (negative: assistance), the machine's step."""
    unit: Literal["kg", "lb", "step"]
    """`kg`, `lb`, or `step` where a machine lists steps without a mass."""
    kg: Annotated[float, Scale(-1000, 2500)] | None = None
    """Kilograms, rounded to the gram; read-only: sent back, it must agree."""


def _entered(value: object) -> Load:
    if isinstance(value, Load):
        return value
    if type(value) is dict and len(value) == 2 and value.get("unit") in ("kg", "lb"):  # as nearly all are sent
        number: Any = value.get("value")
        if type(number) in (int, float) and -1000 <= number <= 2500 and round(number, 3) == number:
            return load(number, value["unit"])
    entry = LoadEntry.model_validate(value)
    made = load(entry.value, entry.unit)
    if entry.kg is not None and (made.kg is None or abs(made.kg - entry.kg) > 0.001):
        raise PydanticCustomError(
            "kg_disagrees", "kg is read-only: leave it out, or send what belongs to value and unit", {"member": "kg"}
        )
    return made


LoadIn = Annotated[Load, BeforeValidator(_entered)]


def _massive(value: Load) -> Load:
    if value.kg is None or value.kg <= 0:
        raise PydanticCustomError("out_of_range", "must be more than 0 kg or lb", {"allowed": {"min": 0}})
    return value


Mass = Annotated[LoadIn, AfterValidator(_massive)]


class Page(BaseModel, Generic[T]):
    """One page of a list; `next_page` is what `after` takes, null on the last page."""

    items: list[T]
    next_page: str | None
