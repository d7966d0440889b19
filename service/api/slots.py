"""Prescriptions as bodies write them: slots, sessions, weeks."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import AfterValidator, model_validator
from pydantic_core import PydanticCustomError

from service.api.schemes import AddLoadBody, Flag, SchemeBody
from service.api.targets import (
    DistanceTargetBody,
    EffortTargetBody,
    PercentTargetBody,
    TargetBody,
    TimeTargetBody,
    count,
    fault,
)
from service.api.wire import (
    Body,
    LiftId,
    Name,
    Note,
    Scale,
    Seconds,
    SupportWord,
    Tempo,
)
from service.core import slots as core


def _support(value: tuple[str, ...]) -> tuple[str, ...]:
    if len(set(value)) != len(value) or ("none" in value and len(value) > 1):
        raise PydanticCustomError("repeated", "must name each thing once, and none alone")
    return value


_few, _few_doc = count(0, 6)
SupportWords = Annotated[tuple[SupportWord, ...], _few, _few_doc, AfterValidator(_support)]


class ComplexPartBody(Body):
    """A lift of a complex with its repetitions."""

    lift: LiftId
    """The lift's word."""
    reps: Annotated[int, Scale(1, 20, 1)]
    """How many of it in a row."""


_parts, _parts_doc = count(2, 8)


class SlotBody(Body):
    """One line of a session: a lift, a scheme, a target."""

    lift: LiftId
    """The lift's word."""
    scheme: SchemeBody
    """How many sets, and how they belong together."""
    target: TargetBody
    """What each of them asks for."""
    tempo: Tempo | None = None
    """Seconds down, pause, up, pause; x: as fast as possible."""
    rest_seconds: Seconds | None = None
    """Rest after each set."""
    note: Note | None = None
    """For the lifter."""
    accessory: Flag | None = None
    """True: supporting work; no warm-ups, no max behind it."""
    optional: Flag | None = None
    """True: may be left out by the lifter."""
    with_next: Flag | None = None
    """True: done in turn with the slot that follows."""
    support: SupportWords | None = None
    """What is worn that changes a max; maxes are compared like with like."""
    complex: Annotated[tuple[ComplexPartBody, ...], _parts, _parts_doc] | None = None
    """What is done in a row without putting the load down, a clean and two jerks: it is logged as the slot's lift, and
    the target's repetitions say how often the row is gone through."""
    priority: Annotated[int, Scale(1, 9, 1)] | None = None
    """1 stays longest where the time is short or accessories are trimmed; left out: 3, of an accessory 6, of an
    optional slot 8."""

    @model_validator(mode="after")
    def _scheme_fits_target(self) -> SlotBody:
        kind, target = self.scheme.kind, self.target
        fault_of = _misfit(self)
        if fault_of is not None:
            raise PydanticCustomError("does_not_fit", "{rule}", {"rule": fault_of[1], "member": fault_of[0]})
        if kind == "open_last_set" and isinstance(target, TimeTargetBody | DistanceTargetBody):
            rule = "must ask for repetitions: the last set is as many of them as possible"
            raise PydanticCustomError("does_not_fit", "{rule}", {"rule": rule, "member": "target"})
        if self.scheme.kind == "open_last_set" and self.scheme.most_reps is not None:
            least = getattr(target, "reps", None)
            if least is not None and self.scheme.most_reps < least:
                rule = f"must be at least the target's repetitions, {least}"
                raise fault(("scheme", "most_reps"), "does_not_fit", rule)
        if kind == "ascending_sets" and not _is_loaded(target):
            rule = "must have a load: the scheme's percentages are of it"
            raise PydanticCustomError("does_not_fit", "{rule}", {"rule": rule, "member": "target"})
        return self

    def record(self) -> core.Slot:
        """The slot as the calculation takes it, made once: a template's slots that are alike are one body."""
        made: core.Slot | None = self.__dict__.get("made")
        if made is None:
            made = self.__dict__["made"] = self._made()
        return made

    def _made(self) -> core.Slot:
        return core.Slot(
            lift=self.lift,
            scheme=self.scheme.record(),
            target=self.target.record(),
            tempo=self.tempo,
            rest_seconds=self.rest_seconds,
            note=self.note,
            accessory=self.accessory or False,
            optional=self.optional or False,
            with_next=self.with_next or False,
            support=self.support or (),
            complex=()
            if self.complex is None
            else tuple(core.ComplexPart(lift=one.lift, reps=one.reps) for one in self.complex),
            priority=self.priority,
        )


def _is_loaded(target: TargetBody) -> bool:
    return isinstance(target, EffortTargetBody | PercentTargetBody) or getattr(target, "load", None) is not None


def _misfit(slot: SlotBody) -> tuple[str, str] | None:
    """The member that does not fit the scheme or the complex, and the rule; None where all fit."""
    kind, target = slot.scheme.kind, slot.target
    if slot.scheme.kind == "sets_at_target" and slot.scheme.add_load is not None:
        fault_of = _growth_misfit(slot.scheme.add_load, target)
        if fault_of is not None:
            return fault_of
    if kind in ("sets_at_target", "top_set", "ascending_sets") and slot.complex is None:
        return None
    if slot.complex is not None and kind not in ("sets_at_target", "top_set", "ascending_sets"):
        return "complex", "must not stand in this scheme: a complex is done in sets"
    if slot.complex is not None and isinstance(target, EffortTargetBody):
        return (
            "target",
            "cannot be an effort in a complex: no repetition curve holds for it; use a percentage or a load",
        )
    if slot.complex is not None and isinstance(target, TimeTargetBody | DistanceTargetBody):
        return "target", "must ask for repetitions in a complex: how often the row is gone through"
    if kind in ("cluster", "ladder", "test") and isinstance(target, TimeTargetBody | DistanceTargetBody):
        return "target", "must ask for repetitions in this scheme"
    if kind in ("ladder", "test") and not isinstance(target, EffortTargetBody):
        return "target", "must be an effort in this scheme: what is to be left when it ends"
    return None


def _growth_misfit(add: AddLoadBody, target: TargetBody) -> tuple[str, str] | None:
    """As `_misfit`, of a load that grows: by repetitions; a target can only take over where a load comes of it."""
    if isinstance(target, TimeTargetBody | DistanceTargetBody) or target.reps is None:
        return "target", "must ask for repetitions: the load grows by them"
    if add.until_sure and not isinstance(target, EffortTargetBody | PercentTargetBody):
        return "target", "must be an effort or a percentage: it takes over when the lift is known well enough"
    return None


_slots, _slots_doc = count(1, 30)
_sessions, _sessions_doc = count(1, 14)


class SessionBody(Body):
    """One session of a week."""

    name: Name
    """What the session is called."""
    kind: Literal["block", "test", "meet"] | None = None
    """`block` unless it is a test or a meet, which lift the effort limit."""
    note: Note | None = None
    """For the lifter."""
    slots: Annotated[tuple[SlotBody, ...], _slots, _slots_doc]
    """The lifts, in order."""

    @model_validator(mode="after")
    def _followed(self) -> SessionBody:
        if self.slots[-1].with_next:
            last = len(self.slots) - 1
            raise fault(("slots", last, "with_next"), "does_not_fit", "must not stand on the last slot: none follows")
        return self

    def record(self) -> core.SessionPlan:
        """The session as the calculation takes it."""
        return core.SessionPlan(
            name=self.name, slots=tuple(slot.record() for slot in self.slots), kind=self.kind or "block", note=self.note
        )


class WeekBody(Body):
    """One week of a template."""

    name: Name | None = None
    """What the week is called."""
    note: Note | None = None
    """For the lifter."""
    lighter: Flag | None = None
    """True: lighter on purpose; checks and reviews read it so, and loads that grow by `add_load` do not grow in it."""
    sessions: Annotated[tuple[SessionBody, ...], _sessions, _sessions_doc]
    """The sessions, in order."""

    def record(self) -> core.WeekPlan:
        """The week as the calculation takes it."""
        return core.WeekPlan(
            name=self.name,
            note=self.note,
            lighter=self.lighter or False,
            sessions=tuple(session.record() for session in self.sessions),
        )
