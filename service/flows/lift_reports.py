"""What is known of an athlete's lifts, for reading: now, on a day before, ahead, over the weeks. Nothing is stored."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from uuid import UUID

from service.core.answers import Caution
from service.core.context import Context, KnownRow
from service.core.model.closing import as_of
from service.core.model.kin import Key
from service.core.model.memory import Memory
from service.core.model.replay import steps
from service.core.model.smooth import smooth
from service.core.prescribe.ease import before_sets
from service.core.records import SupportClass
from service.core.tell import estimates
from service.core.tell.answers import HistoryPoint, LiftDetail, LiftEstimate, LoadList
from service.core.tell.estimates import stand
from service.core.tell.load_list import load_list
from service.core.tell.measure import Measure
from service.core.tell.past import sessions
from service.core.units import MassUnit
from service.flows.context import Asked, gather, stack_name
from service.flows.last_session import Last, last_session
from service.flows.lift_log import read_log
from service.flows.remember import remembered
from service.store import lifts as lift_store
from service.store import people
from service.store.errors import NotFound
from service.store.people import Person
from service.store.session import Tx
from service.store.trained import Trained, trained

UNTRAINED = Trained(None, 0)


@dataclass(frozen=True, slots=True, kw_only=True)
class History:
    """The max of a lift over its sessions, for a chart."""

    lift: str
    """The lift's word."""
    name: str
    """As lists and sentences show it."""
    support: SupportClass
    """What it was done in."""
    unit: MassUnit
    """Unit of the loads."""
    text: str
    """What the line shows, or why there is none."""
    points: tuple[HistoryPoint, ...]
    """One for each session, oldest first."""


def listed(
    tx: Tx,
    athlete: str,
    *,
    after: tuple[str, ...] | None,
    limit: int,
    unit: MassUnit | None = None,
    why: bool = True,
) -> list[LiftEstimate]:
    """Up to `limit` lifts that were trained or have a max, by name, starting past `after`; raises NotFound."""
    person = _find(tx, athlete)
    found = trained(tx, person.id, on=person.today)
    ctx = gather(
        tx, Asked(athlete=person.id, on=person.today, lifts={key.lift for key in found}, place=None, unit=unit)
    )
    elsewhere = _on_other_machines(tx, person.id, ctx, found)
    known = []
    for key, logged in found.items():
        own = ctx if key not in elsewhere else _with(ctx, elsewhere[key])
        at = stand(ctx.lifts[key.lift], key.support_class, own, logged=logged.last is not None)
        one = estimates.estimate(at, own, stack=key.stack or None, last=logged.last)
        known.append(replace(one, cautions=(*one.cautions, *_doubts(logged)), why=one.why if why else ()))
    place = () if after is None else after
    return [one for one in estimates.in_order(known) if estimates.sort_values(one) > place][:limit]


def detail(
    tx: Tx,
    athlete: str,
    lift: str,
    *,
    on: date | None = None,
    support: SupportClass = "unsupported",
    unit: MassUnit | None = None,
    why: bool = True,
) -> LiftDetail:
    """One lift: today, as it was on a day before, or ahead; raises NotFound for an unknown athlete or lift."""
    person = _find(tx, athlete)
    lift_store.get(tx, lift)
    day = person.today if on is None else on
    until = min(day, person.today)
    ctx = gather(tx, Asked(athlete=person.id, on=until, lifts=[lift], place=None, unit=unit))
    key = Key(lift, support, stack_name(ctx.lifts[lift], ctx.kit))
    logged = trained(tx, person.id, on=until).get(key, UNTRAINED)
    found = last_session(tx, person.id, key, until) if until == person.today else None
    if found is None:
        whole = read_log(tx, person.id, ctx.settings, ctx.lifts)
        done, memory = sessions(whole.until(until), whole.known, key)
        found = Last(done[-1] if done else None, whole.weights.on(done[-1].on) if done else None)
        if until < person.today:
            ctx = _as_it_was(ctx, as_of(memory, until))
    at = stand(ctx.lifts[lift], support, ctx, logged=logged.last is not None)
    ahead = (day - until).days
    one = estimates.estimate(at, ctx, stack=key.stack or None, last=logged.last, days_ahead=ahead)
    one = replace(one, cautions=(*one.cautions, *_doubts(logged)), why=one.why if why else ())
    shown = _with_body(at.shown, found.body_kg)
    return estimates.detail(at, ctx, one, last=found.session, last_shown=shown, on=day, days_ahead=ahead, why=why)


def history(
    tx: Tx,
    athlete: str,
    lift: str,
    *,
    support: SupportClass = "unsupported",
    since: date | None = None,
    until: date | None = None,
    unit: MassUnit | None = None,
) -> History:
    """One point a session: the max as it looks today, and as it was believed then; raises NotFound."""
    person = _find(tx, athlete)
    name = lift_store.get(tx, lift).name
    ctx = gather(tx, Asked(athlete=person.id, on=person.today, lifts=[lift], place=None, unit=unit))
    whole = read_log(tx, person.id, ctx.settings, ctx.lifts)
    key = Key(lift, support, stack_name(ctx.lifts[lift], ctx.kit))
    events = whole.until(person.today)
    done, memory = sessions(events, whole.known, key)
    at = stand(ctx.lifts[lift], support, ctx, logged=bool(done))
    then = {one.on: one for one in done}
    points = []
    for point in smooth(steps(events, whole.known, key), memory.person) if done else ():
        session = then.get(point.on)
        if session is None or (since is not None and point.on < since) or (until is not None and point.on > until):
            continue
        believed = estimates.believed(session)
        if believed is not None:
            points.append(estimates.point(point, believed, _with_body(at.shown, whole.weights.on(point.on))))
    return History(
        lift=lift,
        name=name,
        support=support,
        unit=ctx.unit,
        text=estimates.history_text(at, len(points)),
        points=tuple(points),
    )


def load_list_of(
    tx: Tx,
    athlete: str,
    lift: str,
    *,
    support: SupportClass = "unsupported",
    unit: MassUnit | None = None,
    why: bool = True,
) -> LoadList:
    """The load list of a lift at the athlete's place; raises NotFound for an unknown athlete or lift."""
    person = _find(tx, athlete)
    lift_store.get(tx, lift)
    ctx = gather(tx, Asked(athlete=person.id, on=person.today, lifts=[lift], place=None, unit=unit, eased=True))
    key = Key(lift, support, stack_name(ctx.lifts[lift], ctx.kit))
    logged = trained(tx, person.id, on=person.today).get(key, UNTRAINED)
    found = load_list(stand(ctx.lifts[lift], support, ctx, logged=logged.last is not None), ctx, why=why)
    return replace(found, cautions=(*before_sets(ctx.eased), *found.cautions))


def _find(tx: Tx, athlete: str) -> Person:
    person = people.find(tx, athlete)
    if person is None:
        raise NotFound("athlete")
    return person


def _doubts(logged: Trained) -> tuple[Caution, ...]:
    if not logged.doubtful:
        return ()
    sets = "1 set of this lift waits" if logged.doubtful == 1 else f"{logged.doubtful} sets of this lift wait"
    text = f"{sets} for an answer whether it was entered right; until then it teaches nothing."
    if logged.doubtful > 1:
        text = f"{sets} for an answer whether they were entered right; until then they teach nothing."
    return (Caution("doubtful_sets", text),)


def _on_other_machines(tx: Tx, athlete: UUID, ctx: Context, found: Mapping[Key, Trained]) -> dict[Key, KnownRow | None]:
    """What is known of lifts on machines that the athlete's place does not have."""
    keys = [key for key in found if key.stack and key.stack != stack_name(ctx.lifts[key.lift], ctx.kit)]
    whole = remembered(tx, athlete) if keys else None
    rows: dict[Key, KnownRow | None] = {}
    for key in keys:
        lift = None if whole is None else whole.memory.lifts.get(key)
        rows[key] = (
            None if lift is None else KnownRow(lift=key.lift, support=key.support_class, row=lift.row, ratio=lift.ratio)
        )
    return rows


def _with(ctx: Context, row: KnownRow | None) -> Context:
    """The same athlete on another machine."""
    if row is None:
        return ctx
    others = tuple(one for one in ctx.rows if (one.lift, one.support) != (row.lift, row.support))
    return replace(ctx, rows=(*others, row))


def _as_it_was(ctx: Context, memory: Memory) -> Context:
    """The same conditions, with what the log had taught by then."""
    rows = tuple(
        KnownRow(lift=key.lift, support=key.support_class, row=lift.row, ratio=lift.ratio)
        for key, lift in memory.lifts.items()
        if key.lift in ctx.lifts and key.stack == stack_name(ctx.lifts[key.lift], ctx.kit)
    )
    return replace(ctx, rows=rows, person=memory.person)


def _with_body(shown: Measure, body_kg: float | None) -> Measure:
    """As loads of a day are shown: with the body weight of then. [kg]"""
    if shown.lift.load_kind != "bodyweight":
        return shown
    return replace(shown, body_kg=body_kg or shown.body_kg)
