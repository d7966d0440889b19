"""From what a body says of a set to what is stored: defaults worked out, and held against the lift and the plan."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from uuid import UUID
from zoneinfo import ZoneInfo

from service.core.errors import DomainError
from service.core.estimate.rolling import support_class
from service.core.methods import method_of
from service.core.prescribe.from_ladder import is_ladder
from service.core.records import EndedBy, Felt, Lift, Method, Pain, Role
from service.core.slots import DistanceTarget, TimeTarget
from service.core.units import Load, Number, load
from service.flows.context import Asked, gather, stack_name
from service.flows.next_set import by_ladder, coming_role, expectation
from service.store.errors import UnknownReference
from service.store.lines import Lifter, Line
from service.store.session import Tx
from service.store.set_records import LoggedSet, Shown, StoredSet
from service.store.unfit import fit_load, local_day, unfit

AHEAD = timedelta(days=1)
"""A phone's clock may be wrong by so much; further ahead is a slip."""


NOT_COUNTED = "is required, or seconds for a timed set, or metres for a carry"
LEAST_OR_MORE = 5
"""Who counts fewer repetitions left can tell how many. [reps]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class SetEntry:
    """What a body says of a set; None: left out."""

    slot: str | None = None
    lift: str | None = None
    role: Role | None = None
    load: Load | None = None
    reps: int | None = None
    seconds: int | None = None
    metres: Number | None = None
    rpe: Number | None = None
    rir: Number | None = None
    or_more: bool | None = None
    felt: Felt | None = None
    made: bool | None = None
    ended_by: EndedBy | None = None
    pain: Pain | None = None
    method: Method | None = None
    support: tuple[str, ...] | None = None
    note: str | None = None
    shown: Shown | None = None
    at: datetime | None = None


def contradiction(entry: SetEntry) -> tuple[str, str] | None:
    """The member of an entry that another one forbids, and the rule; None where they agree."""
    if entry.or_more and (entry.rir is None or entry.rir < LEAST_OR_MORE):
        return "or_more", "belongs to rir of 5 and more only"
    if entry.made is False and entry.ended_by == "choice":
        return "ended_by", "must not be choice where a repetition was missed: stopping early on purpose is made: true"
    if entry.reps == 0 and entry.made is not False:
        return "reps", "must be 1 or more, unless made is false"
    if entry.metres is not None and entry.method == "straight":
        return "method", "must not be straight where metres are counted; left out, it is carry"
    return None


@dataclass(frozen=True, slots=True, kw_only=True)
class Where:
    """Whose set it is, and which line of which session it belongs to."""

    lifter: Lifter
    line: Line | None
    """None outside of a session."""
    lift: Lift
    body_kg: float | None
    """For `bodyweight` lifts, on the set's day. [kg]"""


def stored_set(
    tx: Tx,
    where: Where,
    entry: SetEntry,
    identity: UUID,
    *,
    session_sets: list[StoredSet],
    was: StoredSet | None = None,
) -> StoredSet:
    """The set that an entry means. `was`: what is stored under this id; role, moment and support stay where left out.

    Raises
    ------
    UnfitReference
        For a load that the lift has no meaning for, or that it needs, a moment more than a day ahead, and where neither
        the entry nor a slot of seconds or metres says how much was done.
    """
    lift, line = where.lift, where.line
    entry = _how_much(line, entry)
    at = moment(tx, where.lifter, entry, was)
    made = True if entry.made is None else entry.made
    support = entry.support
    if support is None:
        support = was.set.support if was is not None else line.slot.support if line and line.slot else ()
    same_moment = was is not None and was.set.at == at
    logged = LoggedSet(
        id=identity,
        version=1 if was is None else was.set.version,
        athlete=where.lifter.id,
        session=None if line is None else line.session,
        slot=None if line is None else line.slot_id,
        lift=lift.id,
        role=entry.role or ("free" if was is None else was.set.role),
        load=_load(entry.load, lift, where.lifter),
        reps=1 if entry.reps is None else entry.reps,
        seconds=entry.seconds,
        metres=entry.metres,
        rpe=entry.rpe,
        rir=entry.rir,
        or_more=bool(entry.or_more),
        felt=entry.felt,
        made=made,
        ended_by=entry.ended_by or ("choice" if made else "strength"),
        pain=entry.pain or "none",
        method=entry.method or _method(line, lift, was, entry.metres),
        support=support,
        note=entry.note,
        shown=entry.shown,
        at=at,
        date=was.set.date if was is not None and same_moment else local_day(at, where.lifter.time_zone),
    )
    stored = StoredSet(
        set=logged,
        prescription=_answered(line, was),
        support_class=support_class(support),
        stack=_stack(tx, where, logged.date, was),
        expected_rpe=None,
    )
    if was is not None and _asked_of(stored.set) == _asked_of(was.set):
        stored = replace(stored, set=replace(stored.set, doubt=was.set.doubt))
    return _against_plan(where, stored, session_sets, was=was, role_open=entry.role is None and was is None)


def _how_much(line: Line | None, entry: SetEntry) -> SetEntry:
    """An entry that says how much was done: where it does not, and it went as planned, what its slot asks for."""
    if entry.reps is not None or entry.seconds is not None or entry.metres is not None:
        return entry
    target = None if line is None or line.slot is None else line.slot.target
    if entry.made is not False and entry.ended_by in (None, "choice"):
        if isinstance(target, TimeTarget):
            return replace(entry, seconds=target.seconds)
        if isinstance(target, DistanceTarget):
            entry = replace(entry, metres=target.metres)
            against = contradiction(entry)
            if against is not None:
                raise unfit(against[1], f"#/{against[0]}")
            return entry
    raise unfit(NOT_COUNTED, "#/reps")


def _method(line: Line | None, lift: Lift, was: StoredSet | None, metres: Number | None) -> Method:
    """How a set was done where nobody said: as it is stored, else as its slot has it, with metres never straight."""
    slot = None if line is None else line.slot_id
    if was is not None and (was.set.lift, was.set.slot) == (lift.id, slot) and far_alike(was.set.metres, metres):
        return was.set.method
    usual = method_of(None if line is None else line.slot, lift)
    return "carry" if metres is not None and usual == "straight" else usual


def far_alike(before: Number | None, after: Number | None) -> bool:
    """Whether metres are counted after a correction as they were before it, or in neither; however many."""
    return (before is None) == (after is None)


def _asked_of(one: LoggedSet) -> tuple[object, ...]:
    """What a question about a set is about: with another load another question is asked, or none."""
    return one.lift, one.load, one.reps


def _answered(line: Line | None, was: StoredSet | None) -> UUID | None:
    """The revision that a set answered: a correction does not answer another one."""
    if line is None:
        return None
    return was.prescription if was is not None and was.set.session == line.session else line.prescription


def _against_plan(
    where: Where, stored: StoredSet, session_sets: list[StoredSet], *, was: StoredSet | None, role_open: bool
) -> StoredSet:
    """The role where it was left out, what words about the effort are read against, and whether a ladder asked."""
    line = where.line
    ladder = line is not None and line.slot is not None and is_ladder(line.slot)
    if line is None or line.slot_id is None or not (role_open or stored.set.felt is not None or ladder):
        return stored
    before = [one for one in session_sets if one.order < stored.order and one.set.id != stored.set.id]
    try:
        if role_open:
            stored = replace(stored, set=replace(stored.set, role=coming_role(line, before, stored.done())))
        if stored.set.felt is not None:
            stored = replace(stored, expected_rpe=expectation(line, before, stored.done()))
        if ladder and stored.set.role != "warm_up":
            kept = was is not None and was.by_ladder and was.set.load == stored.set.load
            stored = replace(stored, by_ladder=kept or by_ladder(line, before, stored.done()))
    except DomainError:  # where nothing can be said of the plan, the set is kept all the same
        return stored
    return stored


def moment(tx: Tx, lifter: Lifter, entry: SetEntry, was: StoredSet | None) -> datetime:
    """When a set was done: as given, as stored, or now on the athlete's clock."""
    if entry.at is None:
        return was.set.at if was is not None else tx.now.astimezone(ZoneInfo(lifter.time_zone))
    if entry.at > tx.now + AHEAD:
        here = tx.now.isoformat(timespec="seconds")
        raise unfit(f"must not be more than one day ahead; it is {here} here", "#/at")
    return entry.at


def _load(entered: Load | None, lift: Lift, lifter: Lifter) -> Load | None:
    if entered is not None:
        fit_load(entered, lift)
        return entered
    if lift.load_kind == "none":
        return None
    if lift.load_kind == "bodyweight":
        return load(0, "lb" if lifter.unit == "lb" else "kg")  # nothing added
    raise unfit(f"is required: the {lift.name.lower()} is done with a load", "#/load")


def _stack(tx: Tx, where: Where, on: date, was: StoredSet | None) -> str:
    """The machine that the set was done on; a correction does not move it to another."""
    lift, line = where.lift, where.line
    if lift.load_kind != "stack":
        return ""
    if was is not None and was.set.lift == lift.id:
        return was.stack
    if line is not None and line.context is not None:
        return stack_name(lift, line.context.kit)
    place = None if line is None else line.place
    return stack_name(lift, gather(tx, Asked(athlete=where.lifter.id, on=on, lifts=[lift.id], place=place)).kit)


def known_lift(lift: Lift | None) -> Lift:
    """The lift, or the refusal of a word that the gym does not have."""
    if lift is None:
        raise UnknownReference("lift", "#/lift")
    return lift
