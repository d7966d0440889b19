"""The way back from an absence before it begins: day by day, and what it does to the sessions planned on it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from uuid import UUID

from service.core import records, words
from service.core.answers import Caution, PrescribedSet, ResolvedSlot
from service.core.prescribe import cautions, ease
from service.core.records import WORK_ROLES, Role
from service.core.returning import NOTHING_EASED, Eased, Gap, gaps, of_absence, strongest
from service.core.units import GRAINS_PER_KG, Load, MassUnit, Number, tidy
from service.flows.context import with_done_before
from service.flows.in_unit import load_in
from service.flows.open_session import answer_to, inputs_of_each
from service.store import absences, people, prescribed
from service.store.people import Away
from service.store.prescribed import Inputs, Page
from service.store.session import Tx

MOST_SESSIONS = 30
"""More are not computed in one answer. Ours."""
WAITING_DAYS = 14
"""So many days are shown where nobody knows when the way back begins. Ours. [days]"""

Day = date  # a record's own field may be called date


@dataclass(frozen=True, kw_only=True)
class BackDay:
    """A day of the way back."""

    date: Day
    """The day."""
    less_percent: Number
    """Off the loads of a session on this day. [%]"""
    sets_percent: Number
    """Part of the work sets that are done, before rounding. [%]"""


@dataclass(frozen=True, kw_only=True)
class BackSlot:
    """What the way back does to one line of a session."""

    slot: UUID
    """Our id of the slot."""
    lift: str
    """The lift to be done."""
    role: Role
    """How its heaviest set is meant."""
    reps: int | None
    """Repetitions of it; null where they are open, or seconds or metres count."""
    load: Load | None
    """Its load; null where the lifter chooses."""
    usual_load: Load | None
    """What it would be without the absence."""
    sets: int
    """Work sets that are done."""
    usual_sets: int
    """What they would be without the absence."""


@dataclass(frozen=True, kw_only=True)
class BackSession:
    """A planned session of the way back."""

    session: UUID
    """Our id of the session."""
    date: Day
    """When it is planned."""
    name: str
    """As in the plan."""
    slots: tuple[BackSlot, ...]
    """Its lines, in order."""


@dataclass(frozen=True, kw_only=True)
class WayBack:
    """The way back from an absence."""

    absence: UUID
    """Our id of the absence."""
    athlete: UUID
    """Whose."""
    back: Day | None
    """The day of the return, and of the lightest loads; null where the absence has lasted no day yet, or the
    way back is long over."""
    expected: bool
    """Nobody has trained since: the return is where it would be earliest."""
    absent_days: int
    """How long the absence was by then: by what was announced, or by the gap in training around it where that is more
    than a week longer. [days]"""
    until: Day | None
    """The first day on which nothing is eased any more; null where nothing is, or while the coach has not agreed."""
    waits: bool
    """After an injury: the way back begins only when the coach agrees."""
    text: str
    """The way back in one sentence."""
    days: tuple[BackDay, ...]
    """Day by day. A gap in training that takes off more counts here too; while the coach's word is awaited, the days
    to come, all alike."""
    sessions: tuple[BackSession, ...]
    """The planned sessions of these days, before the first of them is opened."""
    cautions: tuple[Caution, ...]
    """Only those that apply."""


def way_back(tx: Tx, name: str, *, unit: MassUnit | None = None, on: date | None = None) -> WayBack:
    """What the return from an absence looks like by what is known today; `unit`: of the loads.

    `on`: as if it were that day. Raises NotFound for an absence that this caller does not have.
    """
    stored = absences.get(tx, name)
    last = stored.until or stored.from_date
    bare, away = people.conditions_and_absences(
        tx, stored.athlete, on=last, place_id=None, done_on=None if on is None else max(on, last)
    )
    if on is not None:
        away = replace(away, today=on)
    rule = bare.settings.return_rule
    own = _as_calculated(stored, rule)
    over = own.until is not None and any(own.until < day <= away.since for day in away.trained)
    gap = None if over else of_absence(rule, own, away.trained, away.today)
    days = {} if gap is None else _days(gap, rule, away, own)
    first = days[min(days)] if days else NOTHING_EASED
    pages = _planned(tx, stored.athlete, days, away.today) if days else []
    inputs = _eased_by(tx, pages, days, unit)
    return WayBack(
        absence=stored.id,
        athlete=stored.athlete,
        back=None if gap is None else min(days, default=gap.back),
        expected=gap is not None and not any(day >= gap.back for day in away.trained),
        absent_days=0 if gap is None else first.absent_days or gap.days,
        until=first.until,
        waits=first.waits,
        text="The way back from this absence is over." if over else _text(gap, first),
        days=tuple(
            BackDay(date=on, less_percent=tidy(100 * (1 - one.load), 2), sets_percent=tidy(100 * one.sets, 1))
            for on, one in days.items()
        ),
        sessions=tuple(_session(page, one, unit) for page, one in zip(pages, inputs, strict=True)),
        cautions=_cautions(first),
    )


def _as_calculated(stored: absences.Absence, rule: records.ReturnRule) -> records.Absence:
    own = None if stored.rule is None else replace(rule, **stored.rule)
    return records.Absence(
        kind=stored.kind, since=stored.from_date, until=stored.until, agreed_on=stored.agreed_on, rule=own
    )  # fmt: skip


def _days(gap: Gap, rule: records.ReturnRule, away: Away, own: records.Absence) -> dict[date, Eased]:
    """Each day from the return on that is eased; while the coach's word is awaited, the days to come."""
    others = (*(one for one in away.absences if one.since != own.since), own)

    def on_day(on: date) -> Eased:
        return strongest(gaps(rule, away.trained, on, absences=others, today=away.today), on)

    if gap.waits:
        first = max(away.today, (own.until or own.since) + timedelta(days=1))
        same = on_day(first)  # as of a return on that day: a longer wait is told when it has come
        return {first + timedelta(days=count): same for count in range(WAITING_DAYS)}
    found: dict[date, Eased] = {}
    on = gap.back
    while (one := on_day(on)) is not NOTHING_EASED:
        found[on] = one
        on += timedelta(days=1)
        if one.until is None or on >= gap.back + timedelta(days=people.DAYS_KNOWN):
            break
    return found


def _planned(tx: Tx, athlete: UUID, days: Mapping[date, Eased], today: date) -> list[Page]:
    since, until = max(min(days), today), max(days)
    if since > until:
        return []
    pages = [page for page in prescribed.days(tx, athlete, since=since, until=until) if page.state == "planned"]
    return pages[:MOST_SESSIONS]


def _eased_by(
    tx: Tx, pages: Sequence[Page], days: Mapping[date, Eased], unit: MassUnit | None
) -> list[Inputs]:  # fmt: skip
    """Sessions with what their day is told to be eased by: whoever asks as of another day knows no more by then."""
    found = inputs_of_each(tx, pages, unit)
    eased = [replace(one.context, eased=days[page.date]) for page, one in zip(pages, found, strict=True)]
    contexts = with_done_before(tx, [page.athlete for page in pages], eased)
    return [replace(one, context=context) for one, context in zip(found, contexts, strict=True)]


def _session(page: Page, inputs: Inputs, unit: MassUnit | None) -> BackSession:
    """A session on the way back, and as it would be without the absence."""
    usual = replace(inputs, context=replace(inputs.context, eased=None, day_maxes_since=None))
    each = zip(inputs.slots, answer_to(inputs), answer_to(usual), strict=True)
    slots = tuple(_slot(kept.id, eased, before, unit) for kept, eased, before in each if not eased.left_out)
    return BackSession(session=page.id, date=page.date, name=page.name, slots=slots)


def _slot(identity: UUID, eased: ResolvedSlot, usual: ResolvedSlot, unit: MassUnit | None) -> BackSlot:
    work, before = list(_work(eased)), list(_work(usual))
    heaviest = max(work, key=_grains)
    return BackSlot(
        slot=identity,
        lift=eased.lift,
        role=heaviest.role,
        reps=heaviest.reps,
        load=_told(heaviest.load, unit),
        usual_load=_told(max(before, key=_grains).load, unit),
        sets=len(work),
        usual_sets=len(before),
    )


def _told(shown: Load | None, unit: MassUnit | None) -> Load | None:
    return shown if shown is None or unit is None else load_in(shown, unit)


def _work(slot: ResolvedSlot) -> Iterator[PrescribedSet]:
    return (one for one in slot.sets if one.role in WORK_ROLES)


def _grains(one: PrescribedSet) -> float:
    if one.load is None:
        return float("-inf")
    return float(one.load.value) if one.load.unit == "step" else one.load.grains / GRAINS_PER_KG


def _text(gap: Gap | None, first: Eased) -> str:
    if gap is None:
        return "The absence has only begun: nothing comes off yet."
    away = f"After {words.plural(first.absent_days or gap.days, 'day')} without training"
    if first is NOTHING_EASED or (first.load >= 1 and first.sets >= 1):
        asked = ", once your coach agrees" if first.waits else ""
        return f"{away} loads and sets are as planned{asked}."
    off = f"loads start {words.number(100 * (1 - first.load), 1)} % lighter" if first.load < 1 else ""
    fewer = f"{words.number(100 * first.sets, 0)} % of the work sets are done" if first.sets < 1 else ""
    parts = " and ".join(part for part in (off, fewer) if part)
    if first.until is None:
        return f"{away} {parts}, and stay so until your coach agrees that the way back begins."
    return f"{away} {parts}; from {words.day(first.until)} on all is as planned."


def _cautions(first: Eased) -> tuple[Caution, ...]:
    old = cautions.long_away(first.absent_days)
    return (*ease.of_day(None if first is NOTHING_EASED else first), *(() if old is None else (old,)))
