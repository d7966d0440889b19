"""Opening a session: what is prescribed is kept with its inputs, and computed anew only where something changed."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import replace
from datetime import date, timedelta
from uuid import UUID

from service.core.answers import ResolvedSlot
from service.core.context import Behind, Context, KnownRow
from service.core.estimate.rolling import support_class
from service.core.model.state import new_person
from service.core.prescribe.able import known_row
from service.core.prescribe.add_load import rule_of
from service.core.prescribe.prescribe import resolve_session
from service.core.records import MODEL, WORK_ROLES, KnownMax
from service.core.slots import PercentTarget
from service.core.templates import named_by
from service.core.units import MassUnit
from service.flows.context import Asked, gather_each, stacks
from service.flows.knowledge import known_on, rows_for
from service.store import prescribed, sessions, sets, states
from service.store.behind import behind
from service.store.known_maxes import DAYS_BACK, SOURCES
from service.store.lines import Lifter
from service.store.plans import SLOT
from service.store.prescribed import Inputs, Kept, KeptSlot, Page
from service.store.session import Tx

FIRST_WEEKS = 2
"""In these nothing can lie a whole week back. [weeks]"""
LONG_AGO, FAR_OFF = date(1900, 1, 1), date(9999, 1, 1)


def inputs_of(tx: Tx, page: Page, unit: MassUnit | None = None, *, done_on: date | None = None) -> Inputs:
    """Everything that the loads of a session depend on, as it stands now; `unit`: told in it, else in the athlete's.

    `done_on`: the day on which it is done, where sets say so; None: what is still to be done is done today at the
    earliest.
    """
    return inputs_of_each(tx, [page], unit, done_on=done_on)[0]


def inputs_of_each(
    tx: Tx, pages: Sequence[Page], unit: MassUnit | None = None, *, done_on: date | None = None
) -> list[Inputs]:
    """As `inputs_of`, of many sessions in as many statements as of one."""
    slots = [tuple(KeptSlot(row.id, SLOT.validate_json(row.body)) for row in page.slots) for page in pages]
    asked = [
        Asked(
            athlete=page.athlete,
            on=page.date,
            lifts={name for kept in own for name in named_by(kept.slot)},
            place=page.place_id,
            session_kind=page.kind,
            unit=unit,
            eased=True,
            done_on=done_on or (None if page.to_be_done else page.date),
            growing={kept.slot.lift for kept in own if rule_of(kept.slot) is not None},
            session=page.id,
        )
        for page, own in zip(pages, slots, strict=True)
    ]
    late = _behind(tx, pages)
    return [
        Inputs(replace(context, minutes_available=page.minutes_available, behind=late.get(page.id)), own)
        for page, own, context in zip(pages, slots, gather_each(tx, asked), strict=True)
    ]


def _behind(tx: Tx, pages: Sequence[Page]) -> dict[UUID, Behind | None]:
    """Which sessions come weeks after what was done last; none is looked for in the first two weeks of a block."""
    asked = {
        page.id: (page.block, page.week, page.number or 0, min(page.date, tx.now.date()))
        for page in pages
        if page.block is not None and page.week is not None and page.week > FIRST_WEEKS
    }
    return dict(zip(asked, behind(tx, list(asked.values())), strict=True)) if asked else {}


def answer_to(inputs: Inputs) -> tuple[ResolvedSlot, ...]:
    """The sets of all slots; a slot without an answer says how the lifter can choose."""
    return resolve_session([kept.slot for kept in inputs.slots], inputs.context)


def open_session(tx: Tx, session: UUID) -> Kept:
    """Open a planned session: keep what is prescribed, with its inputs, at the place where it happens.

    The place is frozen here: who trains elsewhere later does not change what was done.
    """
    return _keep(tx, prescribed.page(tx, session), {"state": "open", "opened_at": tx.now})


def ensure_open(tx: Tx, session: UUID, on: date) -> None:
    """Before a set of a day is stored: open a planned session. A skipped one was done then: it becomes finished.

    The caller holds the athlete's lock (`states.lock`). Open and finished sessions stay as they are.
    """
    page = prescribed.page(tx, session)
    if page.state == "planned":
        _keep(tx, page, {"state": "open", "opened_at": tx.now}, on)
    elif page.state == "skipped":
        _keep(tx, page, {"state": "finished", "opened_at": tx.now, "finished_at": tx.now}, on)


def _keep(tx: Tx, page: Page, values: dict[str, object], done_on: date | None = None) -> Kept:
    inputs = inputs_of(tx, page, done_on=done_on)
    kept = prescribed.keep(tx, page.id, page.date, inputs, answer_to(inputs))
    sessions.change(tx, page.id, {**values, "place_id": page.place_id})
    return kept


def refresh_open(
    tx: Tx, athlete: UUID, *, day_of: AbstractSet[str] | None = None, on: date | None = None
) -> list[Kept]:
    """Compute anew what changed in an athlete's open sessions; return the revisions that are new.

    Parameters
    ----------
    tx : Tx
        A writing transaction.
    athlete : UUID
        Whose sessions.
    day_of : collection of str, optional
        The lifts whose max of the day `on` changed: only percentages of such a max follow, all else keeps its answer.
        Without it an override, a max, a setting or the place changed: all slots without a logged work set follow.
    on : date, optional
        With `day_of`: the day whose estimates changed.
    """
    states.lock(tx, athlete)
    if day_of is not None and on is not None:
        return _after_day(tx, athlete, day_of, on)
    return [
        new for kept in prescribed.open_ones(tx, athlete, since=LONG_AGO, until=FAR_OFF) if (new := _after(tx, kept))
    ]


def _after(tx: Tx, kept: Kept) -> Kept | None:
    """A new revision from what stands now; slots that were worked on stay as they were, unless they were left out."""
    stored = sets.of_session(tx, kept.session)
    worked = {done.set.slot for done in stored if done.set.role in WORK_ROLES}
    done_on = max((one.set.date for one in stored), default=None)
    inputs = inputs_of(tx, prescribed.page(tx, kept.session), done_on=done_on)
    begun = {(done.set.lift, done.support_class) for done in stored}
    inputs = replace(inputs, context=_as_begun(inputs.context, kept.inputs.context, begun))
    open_slots = {at for at, one in enumerate(inputs.slots) if one.id not in worked or kept.answer[at].left_out}
    return _kept_where_new(tx, kept, inputs, open_slots)


def _as_begun(now: Context, before: Context, begun: AbstractSet[tuple[str, str]]) -> Context:
    """What stands now; but lifts that have been trained in the session stay as they were known before their sets.

    The session's sets are gone through once more after it: what they taught must not count twice.
    """
    if not begun:
        return now
    rows = tuple(one for one in now.rows if (one.lift, one.support) not in begun)
    kept = tuple(one for one in before.rows if (one.lift, one.support) in begun)
    return replace(now, rows=rows + kept, person=before.person)


def _after_day(tx: Tx, athlete: UUID, lifts: AbstractSet[str], on: date) -> list[Kept]:
    """New revisions of sessions in which a percentage is of a day max that changed."""
    last = on + timedelta(days=DAYS_BACK - 1)
    found = prescribed.open_ones(tx, athlete, since=on, until=last, wanted=_waits_for_a_day)
    waiting = [(kept, which) for kept in found if (which := _following(kept, lifts))]
    if not waiting:
        return []
    estimates = states.days(tx, athlete, since=on, until=on)
    new = []
    for kept, which in waiting:
        context = kept.inputs.context
        machines = stacks(context.lifts, context.kit)
        maxes = tuple(
            KnownMax(
                lift=key.lift,
                basis="day",
                kg=kg,
                on=day,
                source=SOURCES["day"],
                support=key.support_class,
            )
            for key, day, kg in estimates
            if key.lift in lifts and key.stack == machines.get(key.lift, "")
        )
        others = tuple(one for one in context.maxes if (one.basis, one.on) != ("day", on) or one.lift not in lifts)
        context = _as_known_now(tx, athlete, kept, which, replace(context, maxes=others + maxes), machines)
        inputs = replace(kept.inputs, context=context)
        made = _kept_where_new(tx, kept, inputs, which)
        if made is not None:
            new.append(made)
    return new


def _as_known_now(
    tx: Tx, athlete: UUID, kept: Kept, places: AbstractSet[int], context: Context, machines: Mapping[str, str]
) -> Context:
    """The context with what the log says by now of the lifts of some slots that have not been begun.

    How hard they will be stands on it; a variation without a log of its own starts from its lift as today's sets have
    shown it. What the session's sets so far were held against stays.
    """
    begun = {(done.set.lift, done.support_class) for done in sets.of_session(tx, kept.session)}
    waiting = {
        (kept.answer[at].lift, support_class(kept.inputs.slots[at].slot.support))
        for at in places
        if context.settings.curve_of(kept.answer[at].lift) == MODEL
    } - begun
    if not waiting:
        return context
    lifter = Lifter(athlete, context.unit, "", context.settings)
    now = known_on(tx, lifter, context.on, stacks=machines)
    read = replace(context, person=now.person, rows=rows_for(now, context.lifts))
    version = (context.person or new_person()).version
    new = []
    for lift, support in sorted(waiting):
        row = None if context.lifts[lift].technique else known_row(lift, read, support, now.person)[1]
        if row is not None and row.reference is not None:
            # as if it had adopted the older person of the context: it knows more of the athlete already
            new.append(KnownRow(lift=lift, support=support, row=replace(row, seen=version)))
    others = tuple(one for one in context.rows if (one.lift, one.support) not in waiting)
    return replace(context, rows=(*others, *new))


def _waits_for_a_day(slots: Iterable[KeptSlot]) -> bool:
    return any(isinstance(one.slot.target, PercentTarget) and one.slot.target.basis == "day" for one in slots)


def _following(kept: Kept, lifts: AbstractSet[str]) -> set[int]:
    """Places of the slots whose percentage is of the day's max of one of these lifts, by a ratio too."""
    found = set()
    for at, (one, answered) in enumerate(zip(kept.inputs.slots, kept.answer, strict=True)):
        target = one.slot.target
        if not isinstance(target, PercentTarget) or target.basis != "day" or answered.left_out:
            continue
        exchanged = answered.lift != one.slot.lift
        whose: str | None = answered.lift if exchanged or target.of is None else target.of
        if not lifts.isdisjoint(_line_of(whose, kept.inputs.context)):
            found.add(at)
    return found


def _line_of(lift: str | None, ctx: Context) -> Iterable[str]:
    """A lift and those that it is based on: whose max may serve for it."""
    line: list[str] = []
    while lift is not None and lift not in line:
        line.append(lift)
        known = ctx.lifts.get(lift)
        lift = None if known is None else known.based_on
    return line


def _kept_where_new(tx: Tx, kept: Kept, inputs: Inputs, which: Collection[int]) -> Kept | None:
    answer = _anew(inputs, kept.answer, which)
    return None if answer == kept.answer else prescribed.keep(tx, kept.session, kept.date, inputs, answer)


def _anew(inputs: Inputs, before: tuple[ResolvedSlot, ...], which: Collection[int]) -> tuple[ResolvedSlot, ...]:
    """The answer with some slots computed anew."""
    stays = {at: one for at, one in enumerate(before) if at not in which}
    return resolve_session([kept.slot for kept in inputs.slots], inputs.context, kept=stays)
