"""Sets as bodies write them."""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import Annotated, Any, ClassVar, cast

from pydantic import ValidationError, ValidatorFunctionWrapHandler, WrapValidator, model_validator
from pydantic_core import PydanticCustomError

from service.api.schemes import Flag
from service.api.slots import SupportWords
from service.api.targets import count, without
from service.api.wire import (
    Body,
    LiftId,
    LoadIn,
    Metres,
    Moment,
    Note,
    Reps,
    RepsDone,
    Rir,
    Rpe,
    Seconds,
    ThingId,
    ThingName,
)
from service.core.records import EndedBy, Felt, Method, Pain, Role
from service.flows.set_entry import NOT_COUNTED, SetEntry, contradiction
from service.flows.sync_sets import Queued
from service.store.set_records import DoubtAnswer, Shown

MOST_AT_ONCE = 200


class ShownBody(Body):
    """What the phone had on its screen."""

    load: LoadIn | None = None
    """The load that was suggested."""
    reps: Reps | None = None
    """The repetitions that were suggested."""


class SetMembers(Body):
    """What can be said of every set."""

    _whole: ClassVar[bool] = True

    role: Role | None = None
    """How it was meant. Left out: the next planned one; on the way to the work sets, the one whose load is nearest."""
    load: LoadIn | None = None
    """In the sense of the lift's load kind: the whole bar, one hand, added to body weight (negative: assistance; left
    out: nothing added), the machine's step. Not for lifts without a load."""
    reps: RepsDone | None = None
    """Good repetitions; 0 only with `made: false`. Left out with `seconds` or `metres`: 1. With none of the three, in
    a slot of seconds or metres: done as the slot asks, unless `made` or `ended_by` says otherwise."""
    seconds: Seconds | None = None
    """For timed sets, and for a carry beside its metres. [s]"""
    metres: Metres | None = None
    """For carries and drags: how far. [m]"""
    rpe: Rpe | None = None
    """Effort, in halves: at most one of `rpe`, `rir`, `felt`. To failure is 10. [RPE]"""
    rir: Annotated[Rir, without("rpe")] | None = None
    """Repetitions left, in halves."""
    or_more: Flag | None = None
    """`rir` or more were left; from 5 on."""
    felt: Annotated[Felt, without("rpe"), without("rir")] | None = None
    """In words, against what was expected of the set."""
    made: Flag | None = None
    """Left out: true. False: the last repetition was missed; `reps` counts the good ones."""
    ended_by: EndedBy | None = None
    """What ended it; left out: `choice`, or `strength` when not made."""
    pain: Pain | None = None
    """Left out: `none`."""
    method: Method | None = None
    """How it was done; left out: as the slot says, else `straight`, with metres `carry`. All others break the
    repetition curve: they are kept, and no max is read from them."""
    support: SupportWords | None = None
    """What was worn; left out: as the slot says."""
    note: Note | None = None
    """The lifter's words."""
    shown: ShownBody | None = None
    """What the phone had on its screen; kept for the record."""
    at: Moment | None = None
    """When it was done, with offset; left out: now. At most one day ahead."""

    @model_validator(mode="after")
    def _agrees(self) -> SetMembers:
        if self._whole:
            found = contradiction(self.entry())
            if found is not None:
                raise PydanticCustomError("contradicts", "{rule}", {"member": found[0], "rule": found[1]})
        return self

    def entry(self) -> SetEntry:
        """The set as the use case takes it."""
        said = {one.name: getattr(self, one.name, None) for one in fields(SetEntry)}
        return SetEntry(**(said | {"shown": self.shown_record()}))

    def shown_record(self) -> Shown | None:
        """What was on the screen, as it is stored."""
        return None if self.shown is None else Shown(self.shown.load, self.shown.reps)


class _Whole(SetMembers):
    @model_validator(mode="after")
    def _counted(self) -> _Whole:
        told = self.reps is not None or self.seconds is not None or self.metres is not None
        if not told and getattr(self, "slot", None) is None:  # the slot may say it: seen by the use case
            raise PydanticCustomError("required", "{rule}", {"member": "reps", "rule": NOT_COUNTED})
        return self


class FreeSetBody(_Whole):
    """A set outside of a session."""

    id: ThingId | None = None
    """Made by the phone; left out: ours."""
    lift: LiftId
    """The lift's word."""


class SessionSetBody(_Whole):
    """A set of a session: of one of its slots, or of a lift beside them."""

    id: ThingId | None = None
    """Made by the phone; left out: ours."""
    slot: ThingId | None = None
    """The line of the session that it belongs to."""
    lift: LiftId | None = None
    """Left out: the slot's."""

    @model_validator(mode="after")
    def _named(self) -> SessionSetBody:
        if self.slot is None and self.lift is None:
            raise PydanticCustomError("required", "is required, or lift for a set beside the slots", {"member": "slot"})
        return self


class PutSetBody(_Whole):
    """A set of a session, or of an athlete outside of one."""

    session: ThingId | None = None
    """The session; or `athlete` and `lift`."""
    athlete: Annotated[ThingName, without("session")] | None = None
    """Whose it is, for a set outside of a session."""
    slot: ThingId | None = None
    """The line of the session that it belongs to."""
    lift: LiftId | None = None
    """Left out: the slot's."""

    @model_validator(mode="after")
    def _placed(self) -> PutSetBody:
        if self.session is None and self.athlete is None:
            raise PydanticCustomError("required", "is required, or athlete and lift", {"member": "session"})
        if self.session is None and self.slot is not None:
            raise PydanticCustomError("not_here", "belongs to a session only", {"member": "slot"})
        if self.slot is None and self.lift is None:
            raise PydanticCustomError("required", "is required, or slot in a session", {"member": "lift"})
        return self


class QueuedSetBody(PutSetBody):
    """A set of a phone's queue."""

    id: ThingId
    """Made by the phone: sent again, nothing is doubled."""
    at: Moment
    """When it was done, with offset; at most one day ahead."""

    def queued(self) -> Queued:
        """The set as the use case takes it."""
        return Queued(id=self.id, session=self.session, athlete=self.athlete, entry=self.entry())


@dataclass(frozen=True, slots=True)
class Faulty:
    """A set of a queue that cannot be read: Pydantic's errors."""

    id: str | None
    errors: tuple[Any, ...]


def _each_by_itself(value: Any, handler: ValidatorFunctionWrapHandler) -> Any:
    """One bad set is kept with its errors, so that it does not block the queue."""
    try:
        return handler(value)
    except ValidationError as error:
        named = value.get("id") if isinstance(value, dict) else None
        return Faulty(named if isinstance(named, str) else None, tuple(error.errors()))


_some, _some_doc = count(1, MOST_AT_ONCE)


class QueueBody(Body):
    """A phone's queue, emptied in one call."""

    sets: Annotated[list[Annotated[QueuedSetBody, WrapValidator(_each_by_itself)]], _some, _some_doc]
    """1 to 200 sets, in any order."""

    def read(self) -> list[QueuedSetBody | Faulty]:
        """The sets; those that cannot be read with their errors."""
        return cast("list[QueuedSetBody | Faulty]", self.sets)


class SetPatch(SetMembers):
    """What is to change; null clears. Another effort takes the place of the one entered."""

    _whole: ClassVar[bool] = False  # what is left out stands already: held together by the use case

    slot: ThingId | None = None
    """The line of the session that it belongs to."""
    lift: LiftId | None = None
    """The lift that was done."""
    doubt: DoubtAnswer | None = None
    """To the question about the set, sent alone: `confirmed` where it is right, `excluded` to leave it out, null to
    take the answer back. Correcting load or repetitions is an answer too."""

    def sent(self) -> dict[str, Any]:
        """The members that were sent; those without a "none" stay as they are where null."""
        kept = ("role", "load", "reps", "made", "at", "lift", "or_more", "pain", "method")
        values = {name: getattr(self, name) for name in self.model_fields_set}
        if "shown" in values:
            values["shown"] = self.shown_record()
        return {name: value for name, value in values.items() if value is not None or name not in kept}
