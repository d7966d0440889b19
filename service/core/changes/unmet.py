"""Wishes of a block's days that its sessions meet no longer once they follow another version."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import date

from service.core.calendar import WEEKDAYS
from service.core.changes.follow import Follows
from service.core.layout.days import kinds_of, opposed, too_near
from service.core.layout.wishes import Apart, Planned, Unmet, Wishes
from service.core.plan.sizes import heavy_lifts, is_occasion, session_is_heavy
from service.core.records import Lift
from service.core.replan.records import BlockSession
from service.core.slots import SessionPlan
from service.core.words import day, plural

Dated = tuple[date, Planned]


def newly_unmet(
    sessions: Sequence[BlockSession], found: Sequence[Follows], wishes: Wishes, lifts: Mapping[str, Lift]
) -> list[Unmet]:
    """Wishes that sessions break by what is added or changed, what must be as well; by day.

    Parameters
    ----------
    sessions : sequence of BlockSession
        The block as it stands; those that were left out count nowhere.
    found : sequence of Follows
        What becomes of it.
    wishes : Wishes
        Those that it was laid out by.
    lifts : mapping
        Lifts by word: those named before and afterwards.
    """
    if not (wishes.apart or wishes.light_before) or all(one.what == "stays" for one in found):
        return []
    others = {one.session: one.after for one in found if one.what in ("changed", "removed")}
    before, after = [], []
    for one in sessions:
        if one.planned or one.done:
            known = _planned(one.week, one.number, one.plan, lifts)
            before.append((one.date, known))
            plan = others.get(one.id, one.plan)
            if plan is not None:
                now = known if plan is one.plan else _planned(one.week, one.number, plan, lifts)
                after.append((one.date, now))
    after += [
        (one.date, _planned(one.week, one.number, one.after, lifts))
        for one in found
        if one.what == "added" and one.after is not None
    ]
    stood = {key for key, _ in _broken(before, wishes)}
    new = [unmet for key, unmet in _broken(after, wishes) if key not in stood]
    return sorted(new, key=lambda one: (one.date, one.wish))


def _planned(week: int, number: int, plan: SessionPlan, lifts: Mapping[str, Lift]) -> Planned:
    return Planned(
        week=week,
        number=number,
        name=plan.name,
        heavy_in=heavy_lifts(plan, lifts),
        heavy=session_is_heavy(plan, lifts),
        occasion=is_occasion(plan),
    )


Broken = tuple[tuple[object, ...], Unmet]
"""Which wish is broken by whom, and how it is told."""


def _broken(sessions: Sequence[Dated], wishes: Wishes) -> Iterator[Broken]:
    in_time = sorted(sessions, key=lambda one: one[0])
    for number, wish in enumerate(wishes.apart):
        yield from _too_close(in_time, wish, f"#/wishes/apart/{number}")
    for number, before in enumerate(wishes.light_before):
        pointer = f"#/wishes/light_before/{number}"
        for on, one in in_time:
            if too_near(one, on, before):
                ahead = plural((before.date - on).days, "day")
                where = "on the day itself" if on == before.date else f"{ahead} before {_day(before.date)}"
                light = "the day before" if before.days == 1 else f"the {before.days} days before"
                text = (
                    f"Week {one.week}: {one.name} on {_day(on)} is heavy, {where}; {light} "
                    f"{'must' if before.must else 'were to' if before.days > 1 else 'was to'} be light."
                )
                yield (pointer, on, one.week, one.number), _unmet(pointer, on, one, text)


def _too_close(in_time: Sequence[Dated], wish: Apart, pointer: str) -> Iterator[Broken]:
    kinds = [kinds_of(one, wish) for _, one in in_time]
    for at, (on, one) in enumerate(in_time):
        for before in range(at - 1, -1, -1):
            since, other = in_time[before]
            free = (on - since).days - 1
            if free >= wish.days:
                break
            if opposed(wish, kinds[before], kinds[at]):
                near = "is on the day of" if free < 0 else "comes after"
                since_when = "" if free < 0 else f" on {_day(since)}"
                text = (
                    f"Week {one.week}: {one.name} on {_day(on)} {near} {other.name}{since_when} with {_free(free)} "
                    f"between them; {wish.days} {'must be' if wish.must else 'wished'}."
                )
                yield (
                    (pointer, on, one.week, one.number, since, other.week, other.number),
                    _unmet(pointer, on, one, text),
                )


def _unmet(pointer: str, on: date, one: Planned, text: str) -> Unmet:
    return Unmet(wish=pointer, week=one.week, number=one.number, date=on, text=text)


def _free(days: int) -> str:
    return "no free day" if days <= 0 else plural(days, "free day")


def _day(on: date) -> str:
    return f"{WEEKDAYS[on.weekday()].capitalize()} {day(on)}"
