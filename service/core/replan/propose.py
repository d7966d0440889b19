"""Ways to go on after missed sessions: shift, drop, merge, repeat the week, return after an absence.

None of them touches a session that was trained, opened or skipped, and none changes the order of those to come. What
suits whom is the coach's decision; the ways themselves are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta

from service.core.errors import DomainError
from service.core.records import Lift
from service.core.replan.effect import effect, told
from service.core.replan.merge import merged
from service.core.replan.records import (
    BlockSession,
    Change,
    Coming,
    Further,
    Kind,
    Move,
    PlaceDays,
    Replan,
    Running,
    Skip,
)

WEEKS_BACK = ((56, None), (28, 2), (0, 1))
"""After so many days away a return begins so many weeks before the one that would come next; None: the block begins
again. Ours. [days], [weeks]"""


def missed(running: Running) -> tuple[BlockSession, ...]:
    """Planned sessions whose day has passed, or lies in the absence that is going on."""
    first = first_day(running)
    return tuple(one for one in running.sessions if one.planned and one.date < first)


def first_day(running: Running) -> date:
    """The first day that can be trained on."""
    away = running.away_until
    return running.today if away is None else max(running.today, away + timedelta(days=1))


def current(running: Running) -> tuple[BlockSession, ...]:
    """The missed sessions that are still to be thought of: those after the last one trained.

    Where training went on since, those of the latest week in which some were missed. Older ones are only skipped.
    """
    away = missed(running)
    last = max(((one.week, one.number) for one in running.sessions if one.done), default=(0, 0))
    after = tuple(one for one in away if (one.week, one.number) > last)
    latest = max((one.week for one in away), default=0)
    return after or tuple(one for one in away if one.week == latest)


def proposals(running: Running, lifts: Mapping[str, Lift], place: PlaceDays) -> tuple[Replan, ...]:
    """All ways to go on, the least change first; none where nothing was missed.

    Parameters
    ----------
    running : Running
        The block as it stands.
    lifts : mapping
        The gym's lifts by word, at least those that the block names.
    place : PlaceDays
        Gives sessions their days.

    Returns
    -------
    tuple of Replan
        A way for which no days can be found, or that would be the same as another one, is not among them.
    """
    found: list[Replan] = []
    order: tuple[Kind, ...] = ("drop", "merge", "shift", "repeat", "return")  # of two alike the first is told
    for kind in order:
        try:
            one = propose(kind, running, lifts, place)
        except DomainError:
            continue
        if all(one.changes != other.changes for other in found):
            found.append(one)
    return tuple(found)


def propose(kind: Kind, running: Running, lifts: Mapping[str, Lift], place: PlaceDays) -> Replan:
    """One way to go on.

    Raises
    ------
    CannotReplan
        Where nothing was missed, or this way does not fit: `nothing_missed`, `nothing_to_merge`, `no_absence`.
    DomainError
        Where no days can be found, as `place` raises.
    """
    away = missed(running)
    returns = kind == "return" and long_away(running)
    if not away and not returns:
        raise CannotReplan("nothing_missed", "No planned session of this block has passed undone: nothing to re-plan.")
    notes: tuple[str, ...] = ()
    changes: tuple[Change, ...]
    now = current(running)
    stale = tuple(Skip(session=one.id, was=one.date) for one in away if one not in now)
    if kind == "drop":
        changes = tuple(Skip(session=one.id, was=one.date) for one in away)
    elif kind == "merge":
        changes, notes = merged(now, _ahead(running), _standing(running), running.wishes, lifts)
        changes = (*stale, *changes)
        if not any(not isinstance(one, Skip) for one in changes):
            raise CannotReplan(
                "nothing_to_merge", "None of the missed work fits into the next seven days without crowding a session."
            )
    elif kind == "shift":
        old = {one.session for one in stale}
        # one after the other on the training days, as if they were one long week: no day is left unused
        going_on = [replace(_coming(one), week=1) for one in running.sessions if one.planned and one.id not in old]
        changes = (*stale, *_dated(going_on, running, place))
    elif kind == "repeat":
        changes = _from_week(min(one.week for one in now), running, place)
    else:
        if not long_away(running):
            raise CannotReplan(
                "no_absence", "Nobody was away for long enough: choose another way, or enter the absence."
            )
        changes = _from_week(back_to(running), running, place)
    result = effect(running, changes, lifts)
    about = away if kind == "drop" else now
    gentle = back_to(running) if long_away(running) else next_week(running)
    text, cautions = told(kind, running, changes, result, about, lifts, gentle=gentle, whole=not notes)
    return Replan(kind=kind, text=text, changes=changes, effect=result, cautions=(*cautions, *notes))


class CannotReplan(DomainError):
    """A way to go on that does not fit the block as it stands."""

    def __init__(self, code: str, text: str) -> None:
        super().__init__(text)
        self.code = code


def long_away(running: Running) -> bool:
    """Whether the time away is long enough to come back by a week that was done before."""
    return running.return_from_days is not None and running.absent_days >= running.return_from_days


def back_to(running: Running) -> int:
    """The week that a return begins with: one or two before the one that comes next; after 8 weeks the first.

    The longer the absence, the earlier the week. Ours. [week]
    """
    begins = min(one.week for one in running.sessions)
    back = next(weeks for days, weeks in WEEKS_BACK if running.absent_days >= days)
    return begins if back is None else max(begins, next_week(running) - back)


def next_week(running: Running) -> int:
    """The week of the session after the last one trained; the one after that week where it was the block's last."""
    trained = [(one.week, one.number) for one in running.sessions if one.done]
    if not trained:
        return min(one.week for one in running.sessions)
    last = max(trained)
    return min((one.week for one in running.sessions if (one.week, one.number) > last), default=last[0] + 1)


def looking_ahead(running: Running, absences: Sequence[tuple[date, date]]) -> Running:
    """The block as it stands on the first day of the next planned absence that sessions lie in, if all goes well.

    What is planned before it counts as trained by then. The same block where sessions were missed already, or lie in
    no absence that is still to come. `absences`: first and last days, both included.
    """
    if missed(running):
        return running
    planned = [one.date for one in running.sessions if one.planned]
    coming = [
        (since, until)
        for since, until in sorted(absences)
        if since > running.today and any(since <= on <= until for on in planned)
    ]
    if not coming:
        return running
    since, until = coming[0]
    sessions = tuple(
        replace(one, planned=False, done=True) if one.planned and one.date < since else one for one in running.sessions
    )
    last = max((one.date for one in sessions if one.done and one.date < since), default=since - timedelta(days=1))
    back = until + timedelta(days=1)
    return replace(
        running, sessions=sessions, today=since, away_until=until, absent_days=(back - last).days, ahead=True
    )  # fmt: skip


def _coming(one: BlockSession) -> Coming:
    return Coming(id=one.id, week=one.week, number=one.number, plan=one.plan)


def _ahead(running: Running) -> tuple[BlockSession, ...]:
    first = first_day(running)
    soon = first + timedelta(days=7)
    return tuple(one for one in running.sessions if one.planned and first <= one.date < soon)


def _standing(running: Running) -> tuple[BlockSession, ...]:
    """Sessions that were trained, and those to come that were not missed."""
    first = first_day(running)
    return tuple(one for one in running.sessions if one.done or (one.planned and one.date >= first))


def _from_week(week: int, running: Running, place: PlaceDays) -> tuple[Change, ...]:
    """A week is done again from its first session, and everything after it follows."""
    sequence = [
        _coming(one) if one.planned else Coming(week=one.week, number=one.number, plan=one.plan)
        for one in sorted(running.sessions, key=lambda one: (one.week, one.number))
        if one.planned or (one.week >= week and one.date < first_day(running))
    ]
    earlier = [one for one in sequence if one.week < week]  # left over from weeks before: they are not done any more
    skips = tuple(
        Skip(session=one.id, was=one.date)
        for one in running.sessions
        if one.id in {left.id for left in earlier if left.id is not None}
    )
    return (*skips, *_dated([one for one in sequence if one.week >= week], running, place))


def _dated(sequence: Sequence[Coming], running: Running, place: PlaceDays) -> tuple[Change, ...]:
    days = place(sequence, first_day(running))
    was = {one.id: one.date for one in running.sessions}
    found: list[Change] = []
    for one, to in zip(sequence, days, strict=True):
        if one.id is None:
            found.append(Further(week=one.week, number=one.number, to=to, plan=one.plan))
        elif was[one.id] != to:
            found.append(Move(session=one.id, was=was[one.id], to=to))
    return tuple(found)
