"""Schemes as bodies write them: how many sets, and how they belong together."""

from __future__ import annotations

from functools import lru_cache
from typing import Annotated, Literal

from pydantic import AfterValidator, Field, model_validator
from pydantic_core import PydanticCustomError

from service.api.settings import BuildUpBody
from service.api.targets import (
    at_least,
    count,
    without,
)
from service.api.wire import (
    Body,
    LessPercent,
    Mass,
    Reps,
    Rpe,
    Scale,
    SetCount,
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
    """How the load grows from session to session, for lifters who go by repetitions instead of an effort.

    The rule goes on as long as the lift is done by it: another number of sets, another effort or percentage and other
    repetitions go on from the last load, with no more of it where more repetitions are asked. Only a stated load starts
    anew, where the coach states another one. Of sessions with different repetitions in turn, each goes on from its own.
    Nothing is added after sets that were clearly harder than the target's effort.
    """

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
    lighter_percent: Annotated[float, Scale(0, 90, 0.001, unit="percent")] | None = None
    """The session is lighter on purpose: so much less than the last load, 0: the same again. Nothing is added, and the
    session counts neither as complete nor as failed. Lighter weeks set it; left out: a session like the others."""

    @model_validator(mode="after")
    def _both(self) -> AddLoadBody:
        if (self.after_failures is None) != (self.less_percent is None):
            names = ("after_failures", "less_percent")
            member, other = names if self.after_failures is None else reversed(names)
            raise PydanticCustomError("needed_with", "is needed with {other}", {"other": other, "member": member})
        return self

    def record(self) -> core.AddLoad:
        """The rule as the calculation takes it."""
        return core.AddLoad(
            when=self.when,
            step=self.step,
            after_failures=self.after_failures,
            less_percent=self.less_percent,
            until_sure=self.until_sure or False,
            lighter_percent=self.lighter_percent,
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
    """It ends here at the latest; left out: 8. It ends before that where its sets have 65 repetitions together."""

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
