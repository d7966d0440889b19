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
    at_least,
    count,
    fault,
    without,
)
from service.api.wire import (
    Body,
    LessPercent,
    LiftId,
    Mass,
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
    """Sets after the top set with a stated part of its load taken off: so many, or until one is hard enough."""

    sets: SetCount | None = None
    """How many sets after the top set; or `until_rpe`."""
    less_percent: LessPercent
    """How much of the top set's load is taken off."""
    until_rpe: Annotated[Rpe, without("sets")] | None = None
    """Sets go on until one is so hard. [RPE]"""
    fewest: SetCount | None = None
    """With `until_rpe`: at least so many; left out: 1."""
    most: Annotated[SetCount, at_least("fewest")] | None = None
    """With `until_rpe`: at most so many; left out: 8."""

    @model_validator(mode="after")
    def _one_count(self) -> BackOffBody:
        if self.sets is None and self.until_rpe is None:
            raise PydanticCustomError("required", "is required, or until_rpe in its place", {"member": "sets"})
        if self.until_rpe is None and (self.fewest, self.most) != (None, None):
            member = "most" if self.fewest is None else "fewest"
            raise PydanticCustomError("needed_with", "belongs to until_rpe", {"member": member})
        return self

    def record(self) -> core.BackOff:
        """The back-off sets as the calculation takes them."""
        return core.BackOff(
            sets=self.sets,
            less_percent=self.less_percent,
            until_rpe=self.until_rpe,
            fewest=self.fewest,
            most=self.most,
        )


class SameLoadBody(Body):
    """Further sets with the top set's load and repetitions."""

    sets: SetCount
    """How many sets after the top set."""


class AddLoadBody(Body):
    """How the load grows from session to session, for lifters who go by repetitions instead of an effort."""

    when: Literal["all_sets_complete", "two_more_twice"]
    """`all_sets_complete`: every set had all repetitions, of a range its top; `two_more_twice`: in the last set two
    over the goal, in two sessions in a row."""
    step: Mass
    """How much is added."""
    after_failures: Annotated[int, Scale(1, 10, 1)] | None = None
    """After so many sessions in a row that were not complete, `less_percent` comes off; left out: the load is
    repeated."""
    less_percent: LessPercent | None = None
    """How much comes off then."""
    until_sure: Flag | None = None
    """True: until the model knows the lift well enough for the target to take over."""

    @model_validator(mode="after")
    def _both(self) -> AddLoadBody:
        if (self.after_failures is None) != (self.less_percent is None):
            member = "after_failures" if self.after_failures is None else "less_percent"
            raise PydanticCustomError("needed_with", "must stand beside the other one", {"member": member})
        return self

    def record(self) -> core.AddLoad:
        """The rule as the calculation takes it."""
        return core.AddLoad(
            when=self.when,
            step=self.step,
            after_failures=self.after_failures,
            less_percent=self.less_percent,
            until_sure=self.until_sure or False,
        )


class SetsAtTargetBody(Body):
    """A number of sets, each chosen to land on the target."""

    kind: Literal["sets_at_target"]
    """`sets_at_target`."""
    sets: SetCount
    """How many sets."""
    add_load: AddLoadBody | None = None
    """How the load grows from session to session; left out: by the target alone."""

    def record(self) -> core.SetsAtTarget:
        """The scheme as the calculation takes it."""
        if self.add_load is None:
            return _sets_at_target(self.sets)
        return core.SetsAtTarget(sets=self.sets, add_load=self.add_load.record())


@lru_cache(maxsize=32)  # as `_top_set`
def _sets_at_target(sets: int) -> core.SetsAtTarget:
    return core.SetsAtTarget(sets=sets)


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
        if same is None and up is None and (off is None or off.sets is not None):
            return _top_set() if off is None else _top_set(off.sets or 0, off.less_percent)
        return core.TopSet(
            back_off=None if off is None else off.record(),
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
    sets_before: Annotated[int, Scale(0, 20, 1)]
    """How many sets before the open one; 0: it stands alone."""
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


class ClusterBody(Body):
    """Sets in parts with a short rest between them; the target's repetitions are those of one part."""

    kind: Literal["cluster"]
    """`cluster`."""
    sets: SetCount
    """How many sets."""
    parts: Annotated[int, Scale(2, 10, 1)]
    """How many parts a set has."""
    rest_seconds: Annotated[int, Scale(5, 120, 1, unit="seconds")]
    """Rest between the parts of a set."""

    def record(self) -> core.Cluster:
        """The scheme as the calculation takes it."""
        return core.Cluster(sets=self.sets, parts=self.parts, rest_seconds=self.rest_seconds)


class LadderBody(Body):
    """A newcomer's way to a working load: from the lightest implement up, by how many more were possible."""

    kind: Literal["ladder"]
    """`ladder`."""
    most_sets: Annotated[int, Scale(2, 12, 1)] | None = None
    """It ends here at the latest; left out: 8."""

    def record(self) -> core.Ladder:
        """The scheme as the calculation takes it."""
        return core.Ladder(most_sets=self.most_sets)


class MaxTestBody(Body):
    """A test: by the published protocol from warm-ups to single attempts."""

    kind: Literal["test"]
    """`test`."""
    attempts: Annotated[int, Scale(1, 6, 1)] | None = None
    """At most so many; left out: 5."""

    def record(self) -> core.MaxTest:
        """The scheme as the calculation takes it."""
        return core.MaxTest(attempts=self.attempts)


SchemeBody = Annotated[
    SetsAtTargetBody | TopSetBody | OpenLastSetBody | AscendingSetsBody | ClusterBody | LadderBody | MaxTestBody,
    Field(discriminator="kind"),
]


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
    """Where the time is short, 1 stays longest; left out: accessories go before others, optional slots first."""

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
    """True: lighter on purpose; checks and reviews read it so."""
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
