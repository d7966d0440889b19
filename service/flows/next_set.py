"""What comes next in a session: of the slot at hand, of its partner where two are done in turn, or the next slot."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from typing import Any
from uuid import UUID

from service.core.ability.by_model import ByModel
from service.core.adjust.adjust import next_set
from service.core.adjust.by_scheme import gone_through, gone_to_test
from service.core.adjust.facts import facts
from service.core.adjust.ladder import as_told
from service.core.adjust.max_test_state import Trial
from service.core.adjust.next_words import last_text
from service.core.adjust.walk import advance
from service.core.answers import Choice, LiftDone, Next, ResolvedSlot, SessionDone
from service.core.context import Context
from service.core.effort import HIGHEST_RPE, LOWEST_RPE
from service.core.errors import DomainError
from service.core.estimate.rolling import support_class
from service.core.model.kin import Key
from service.core.model.passing import opened
from service.core.prescribe.from_ladder import is_ladder
from service.core.records import MODEL, DoneSet, Role
from service.core.slots import Slot
from service.core.units import MassUnit
from service.flows.context import stack_name
from service.flows.in_unit import Plan, plans_in
from service.flows.open_session import answer_to, inputs_of
from service.flows.remember import remembered
from service.store import lines, prescribed, revisions, sets
from service.store.coming import coming_after
from service.store.errors import NotFound
from service.store.lines import Line
from service.store.memories import Whole
from service.store.naming import as_id
from service.store.session import Tx
from service.store.set_records import StoredSet

_ENDED = {
    "finished": "This session is finished. What you log is kept in it.",
    "skipped": "This session was skipped. Log a set, and it counts as done.",
}
_WITHOUT_PLAN = "This session has no plan: choose what to lift, and log it."


def session_next(tx: Tx, session: str, *, slot: str | None = None, unit: MassUnit | None = None) -> Next:
    """The suggestion again: for a slot, else for that of the last set, else for the first slot that is not done.

    `unit`: with loads in this unit; None: as the plan was kept.

    Raises NotFound for a session, or a slot of it, that this caller does not have.
    """
    identity, wanted = as_id(session), None if slot is None else as_id(slot)
    at = None if identity is None else lines.line(tx, identity, wanted)
    if at is None:
        raise NotFound("session")
    if slot is not None and at.slot_id is None:
        raise NotFound("slot in this session")
    stored = sets.of_session(tx, at.session)
    return following(tx, at, stored, again=True, unit=unit)


def following(
    tx: Tx,
    at: Line,
    stored: list[StoredSet],
    *,
    again: bool = False,
    unit: MassUnit | None = None,
    now: Mapping[Key, ByModel] | None = None,
) -> Next:
    """What comes next in a session after its sets so far, in the order in which they were done.

    `at` has the slot of the newest set. `again`: the answer for the slot itself, also where its partner's turn is.
    `now`: what is known already of lifts as the whole log has them.
    """
    if at.state in _ENDED:
        return _over(_ENDED[at.state], at.slot_id)
    if not at.order:
        return _over(_WITHOUT_PLAN, None)
    walked = _Session(tx, at, stored, unit, now or {})
    if at.slot_id is None:
        return walked.after_last()
    return walked.of(at.slot_id) if again and _not_begun(at, stored) else walked.after(at.slot_id)


def coming_role(at: Line, before: list[StoredSet], done: DoneSet) -> Role:
    """How a set was meant that does not say so: the next planned one; of warm-ups and build-ups, the nearest load."""
    if at.slot is None or at.plan is None or at.context is None or not at.plan.sets:
        return "free"
    f = facts(at.slot, _apart_from_own(at, at.context, before), at.plan)
    _, coming = gone_through(f, of_slot(before, at.slot_id))
    if coming.planned is None:
        return at.plan.sets[-1].role
    on_the_way = []
    for planned in f.sets[coming.planned.index :]:
        on_the_way.append(planned)
        if planned.role not in ("warm_up", "build_up"):
            break
    kg = None if done.load is None else done.load.kg
    if kg is None or not on_the_way or any(planned.load is None or planned.load.kg is None for planned in on_the_way):
        return coming.planned.role
    return min(on_the_way, key=lambda planned: abs(float(planned.load.kg or 0) - kg) if planned.load else 0).role


def expectation(at: Line, before: list[StoredSet], done: DoneSet) -> float | None:
    """How hard a set was expected to be after those before it; words about its effort are read against this. [RPE]"""
    if at.slot is None or at.plan is None or at.context is None:
        return None
    f = facts(at.slot, _apart_from_own(at, at.context, before), at.plan)
    today, coming = gone_through(f, of_slot(before, at.slot_id))
    seen = advance(f, today, coming, done).seen
    if seen is None or seen.expected is None:
        return None
    return round(min(max(seen.expected, LOWEST_RPE), HIGHEST_RPE), 1)  # nobody expects a set beyond the scale


def by_ladder(at: Line, before: list[StoredSet], done: DoneSet) -> bool:
    """Whether a ladder asked for a set's load, after those before it."""
    if at.slot is None or not is_ladder(at.slot) or at.plan is None or at.context is None or not at.plan.sets:
        return False
    f = facts(at.slot, _apart_from_own(at, at.context, before), at.plan)
    _, coming = gone_through(f, of_slot(before, at.slot_id))
    return done.lift == at.plan.lift and as_told(coming.load, done.load)


def test_so_far(tx: Tx, session: UUID, slot: UUID, stored: list[StoredSet]) -> Trial | None:
    """A test of an opened session after its sets; None where nothing can be said of it."""
    at = lines.line(tx, session, slot)
    if at is None or at.slot is None or at.plan is None or at.context is None or not at.plan.sets:
        return None
    try:
        return gone_to_test(facts(at.slot, _apart_from_own(at, at.context, stored), at.plan), of_slot(stored, slot))
    except DomainError:
        return None


def of_slot(stored: list[StoredSet], slot: UUID | None) -> list[DoneSet]:
    """The sets of a slot, as the calculation takes them: words are read against what it expects by itself."""
    return [replace(one.done(), expected_rpe=None) for one in stored if slot is not None and one.set.slot == slot]


def _nothing() -> None:
    """Nothing is told of the next time."""


def _over(text: str, slot: UUID | None, **more: Any) -> SessionDone:
    return SessionDone(slot=None if slot is None else str(slot), text=text, **({"why": (), "cautions": ()} | more))


def _not_begun(at: Line, stored: list[StoredSet]) -> bool:
    return not any(one.set.slot == at.slot_id for one in stored)


def _apart_from_own(at: Line, ctx: Context, stored: list[StoredSet]) -> Context:
    """The context without the day's max that the slot's own sets gave: they are walked through once more."""
    own = any(one.set.id in at.day_sources and one.set.slot == at.slot_id for one in stored)
    if not own or at.plan is None:
        return ctx
    lift = at.plan.lift
    return replace(
        ctx, maxes=tuple(m for m in ctx.maxes if not (m.lift == lift and m.basis == "day" and m.on == ctx.on))
    )


class _Session:
    """A session while the way through it is looked for; other slots are read when they are needed."""

    def __init__(
        self, tx: Tx, at: Line, stored: list[StoredSet], unit: MassUnit | None, now: Mapping[Key, ByModel]
    ) -> None:
        self.tx, self.at, self.stored, self.unit, self.now = tx, at, stored, unit, now
        self._whole: Whole | None = None
        self._unkept: tuple[Context, dict[UUID, ResolvedSlot]] | None = None
        self._told: dict[UUID, Plan] | None = None

    def of(self, slot: UUID, *, told: bool = True) -> Next:
        """What comes next in one slot, whatever the others are; `told`: where it is done, with what comes next time."""
        at = self._line(slot)
        if at.slot is None or at.plan is None or at.context is None:
            return LiftDone(slot=str(slot), text=_WITHOUT_PLAN, why=(), next_slot=None, cautions=())
        ctx = _apart_from_own(at, at.context, self.stored)
        try:
            done = of_slot(self.stored, slot)
            day = max((one.set.date for one in self.stored if one.set.slot == slot), default=None)
            now = None if day is None else self._now(at.slot, ctx, at.plan.lift, day)
            look = coming_after(self.tx, at.session, slot, day) if told and day is not None else _nothing
            return next_set(at.slot, ctx, done, plan=at.plan, slot_id=str(slot), now=now, look=look)
        except DomainError as refusal:  # a set that was logged is kept, whatever can be said of the next
            return LiftDone(slot=str(slot), text=str(refusal), why=(), next_slot=None, cautions=())

    def _now(self, slot: Slot, ctx: Context, lift: str, day: date) -> ByModel | None:
        """A lift as the whole log has it, if the slot's sets are of its newest day; else what they say must do.

        It need not be the session's day: a session may be done later than planned.
        """
        known = ctx.lifts.get(lift)
        if known is None or ctx.settings.curve_of(lift) != MODEL:
            return None
        key = Key(lift, support_class(slot.support), stack_name(known, ctx.kit))
        given = self.now.get(key)
        if given is not None and given.row.day == day:
            return given
        if self._whole is None:
            self._whole = remembered(self.tx, self.at.athlete)
        whole = self._whole
        if whole.memory.day != day or key not in whole.memory.lifts:
            return None
        person = whole.memory.person
        return ByModel(opened(whole.memory.lifts[key].row, person, day), person)

    def after(self, slot: UUID) -> Next:
        """What comes next after a set of a slot: slots that are done in turn alternate."""
        mine = self.of(slot)
        if isinstance(mine, Choice):
            return mine
        done = isinstance(mine, LiftDone)
        if not (done and mine.cautions):
            for partner in self._partners(slot):
                theirs = self.of(partner, told=False)
                if not isinstance(theirs, LiftDone):
                    return theirs
        if not isinstance(mine, LiftDone):
            return mine
        return self._done(slot, mine)

    def after_last(self) -> Next:
        """What comes next, by the newest set that belongs to a slot; without one, the first slot that is not done."""
        last = next((one.set.slot for one in reversed(self.stored) if one.set.slot in self.at.order), None)
        if last is not None:
            return self.after(last)
        for slot in self.at.order:
            found = self.of(slot, told=False)
            if not isinstance(found, LiftDone):
                return found
        return _over("Nothing is left to do in this session.", None)

    def _done(self, slot: UUID, mine: LiftDone) -> Next:
        here = self.at.order.index(slot)
        for other in self.at.order[here + 1 :] + self.at.order[:here]:
            if not isinstance(self.of(other, told=False), LiftDone):
                return replace(mine, next_slot=str(other))
        return _over(last_text(mine.text), slot, why=mine.why, cautions=mine.cautions)

    def _partners(self, slot: UUID) -> tuple[UUID, ...]:
        """The slots that are done in turn with this one, in the order in which their turns come."""
        order, turns = self.at.order, self.at.turns
        here = order.index(slot)
        first, last = here, here
        while first > 0 and turns[first - 1]:
            first -= 1
        while last + 1 < len(order) and turns[last]:
            last += 1
        return order[here + 1 : last + 1] + order[first:here]

    def _line(self, slot: UUID) -> Line:
        found: Line | None = self.at if slot == self.at.slot_id else lines.line(self.tx, self.at.session, slot)
        if found is None:
            raise NotFound("session")
        if found.prescription is None:
            return self._unopened(slot, found)
        return found if self.unit is None else self._in_unit(slot, found, self.unit)

    def _in_unit(self, identity: UUID, found: Line, unit: MassUnit) -> Line:
        """A slot of an opened session, told in a unit."""
        if self._told is None:
            self._told = plans_in(revisions.of_session(self.tx, found.session), unit)
        told = self._told.get(identity)
        return found if told is None else replace(found, plan=told.sets, context=told.context)

    def _unopened(self, identity: UUID, found: Line) -> Line:
        """A slot of a session that is not open yet: computed, and kept nowhere."""
        if self._unkept is None:
            inputs = inputs_of(self.tx, prescribed.page(self.tx, found.session), self.unit)
            self._unkept = inputs.context, dict(zip((one.id for one in inputs.slots), answer_to(inputs), strict=True))
        context, plans = self._unkept
        return replace(found, plan=plans[identity], context=context)
