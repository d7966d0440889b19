"""Prescriptions as bodies write them: schemes, slots, sessions, weeks."""

from __future__ import annotations

from functools import lru_cache
from typing import Annotated, Literal

from pydantic import AfterValidator, Field, model_validator
from pydantic_core import PydanticCustomError

from service.api.settings import BuildUpBody
from service.api.targets import (
    DistanceTargetBody,
    EffortTargetBody,
    PercentTargetBody,
    TargetBody,
    TimeTargetBody,
    count,
    fault,
    without,
)
from service.api.wire import (
    Body,
    LessPercent,
    LiftId,
    Name,
    Note,
    Reps,
    Rpe,
    Scale,
    Seconds,
    SetCount,
    SupportWord,
    Tempo,
)
from service.core import slots as core

PartPercent = Annotated[float, Scale(10, 100, 0.001, unit="percent", hint=": did you mean {}?")]
Flag = Annotated[bool, Field(strict=True)]


def _rising_to_100(value: tuple[float, ...]) -> tuple[float, ...]:
    if list(value) != sorted(set(value)):
        raise PydanticCustomError("not_rising", "must rise from set to set")
    if value[-1] != 100:
        raise PydanticCustomError("not_100", "must end at 100: the last set has the target's load")
    return value


def _support(value: tuple[str, ...]) -> tuple[str, ...]:
    if len(set(value)) != len(value) or ("none" in value and len(value) > 1):
        raise PydanticCustomError("repeated", "must name each thing once, and none alone")
    return value


_few, _few_doc = count(0, 6)
SupportWords = Annotated[tuple[SupportWord, ...], _few, _few_doc, AfterValidator(_support)]


_steps, _steps_doc = count(1, 20)


class BackOffBody(Body):
    """Sets after the top set with a stated part of its load taken off."""

    sets: SetCount
    """How many sets after the top set."""
    less_percent: LessPercent
    """How much of the top set's load is taken off."""


class SameLoadBody(Body):
    """Further sets with the top set's load and repetitions."""

    sets: SetCount
    """How many sets after the top set."""


class SetsAtTargetBody(Body):
    """A number of sets, each chosen to land on the target."""

    kind: Literal["sets_at_target"]
    """`sets_at_target`."""
    sets: SetCount
    """How many sets."""

    def record(self) -> core.SetsAtTarget:
        """The scheme as the calculation takes it."""
        return core.SetsAtTarget(sets=self.sets)


class TopSetBody(Body):
    """The heaviest set of the day, alone or with back-off sets or same-load sets after it."""

    kind: Literal["top_set"]
    """`top_set`."""
    back_off: BackOffBody | None = None
    """Lighter sets after it."""
    same_load: Annotated[SameLoadBody, without("back_off")] | None = None
    """Sets of the same load after it; not beside `back_off`."""
    build_up: BuildUpBody | None = None
    """The sets on the way to it; left out: as the settings say."""

    def record(self) -> core.TopSet:
        """The scheme as the calculation takes it."""
        off, same, up = self.back_off, self.same_load, self.build_up
        if same is None and up is None:
            return _top_set() if off is None else _top_set(off.sets, off.less_percent)
        return core.TopSet(
            back_off=None if off is None else core.BackOff(sets=off.sets, less_percent=off.less_percent),
            same_load=None if same is None else core.SameLoad(sets=same.sets),
            build_up=None if up is None else core.BuildUp(rpes=up.rpes, percents=up.percents, reps=up.reps),
        )


@lru_cache(maxsize=256)  # templates ask for few different ones, and the same one is compared at once
def _top_set(sets: int = 0, less_percent: float = 0) -> core.TopSet:
    """The scheme without anything stated of its build-up; no back-off sets where there are none."""
    return core.TopSet(back_off=core.BackOff(sets=sets, less_percent=less_percent) if sets else None)


class OpenLastSetBody(Body):
    """Sets at the target, then as many good repetitions as possible, to a stated limit."""

    kind: Literal["open_last_set"]
    """`open_last_set`."""
    sets_before: SetCount
    """How many sets before the open one."""
    most_reps: Reps | None = None
    """Stop at so many repetitions."""
    stop_rpe: Rpe | None = None
    """Stop when it is so hard."""

    def record(self) -> core.OpenLastSet:
        """The scheme as the calculation takes it."""
        return core.OpenLastSet(sets_before=self.sets_before, most_reps=self.most_reps, stop_rpe=self.stop_rpe)


class AscendingSetsBody(Body):
    """One set at each percentage of the target's load; they rise, and the last is 100."""

    kind: Literal["ascending_sets"]
    """`ascending_sets`."""
    percents: Annotated[tuple[PartPercent, ...], _steps, _steps_doc, AfterValidator(_rising_to_100)]
    """Percentages of the target's load."""

    def record(self) -> core.AscendingSets:
        """The scheme as the calculation takes it."""
        return core.AscendingSets(percents=self.percents)


SchemeBody = Annotated[SetsAtTargetBody | TopSetBody | OpenLastSetBody | AscendingSetsBody, Field(discriminator="kind")]


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

    @model_validator(mode="after")
    def _scheme_fits_target(self) -> SlotBody:
        kind, target = self.scheme.kind, self.target
        timed = isinstance(target, TimeTargetBody | DistanceTargetBody)
        if kind == "open_last_set" and timed:
            rule = "must ask for repetitions: the last set is as many of them as possible"
            raise PydanticCustomError("does_not_fit", "{rule}", {"rule": rule, "member": "target"})
        loaded = isinstance(target, EffortTargetBody | PercentTargetBody) or getattr(target, "load", None) is not None
        if kind == "ascending_sets" and not loaded:
            rule = "must have a load: the scheme's percentages are of it"
            raise PydanticCustomError("does_not_fit", "{rule}", {"rule": rule, "member": "target"})
        return self

    def record(self) -> core.Slot:
        """The slot as the calculation takes it."""
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
        )


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
    sessions: Annotated[tuple[SessionBody, ...], _sessions, _sessions_doc]
    """The sessions, in order."""

    def record(self) -> core.WeekPlan:
        """The week as the calculation takes it."""
        return core.WeekPlan(
            name=self.name, note=self.note, sessions=tuple(session.record() for session in self.sessions)
        )
