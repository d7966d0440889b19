"""What a way to go on comes to: in numbers, and in words."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from math import ceil

from service.core.plan.sizes import minutes, work_sets
from service.core.records import Lift
from service.core.replan.records import (
    BlockSession,
    Change,
    Effect,
    Extend,
    Further,
    Kind,
    LiftSets,
    Move,
    Running,
    Skip,
)
from service.core.slots import SessionPlan, Slot
from service.core.words import day, listing, plural


def effect(running: Running, changes: Sequence[Change], lifts: Mapping[str, Lift]) -> Effect:
    """What changes come to; the missed sessions count as still to come before."""
    to_come = {one.id: one for one in running.sessions if one.planned}
    days = {one.id: one.date for one in running.sessions}
    before: Counter[str] = Counter()
    for one in to_come.values():
        before += _sets(one.plan)
    after, plans = before.copy(), []
    ended_on = max(days.values())
    for change in changes:
        if isinstance(change, Skip):
            after -= _sets(to_come[change.session].plan)
            days.pop(change.session)
        elif isinstance(change, Move):
            days[change.session] = change.to
        elif isinstance(change, Further):
            after += _sets(change.plan)
            days[f"{change.week}/{change.number}/{change.to}"] = change.to
        else:
            after += Counter({slot.lift: 0 for slot in change.slots})
            for slot in change.slots:
                after[slot.lift] += work_sets(slot)
            plans.append(minutes([*to_come[change.session].plan.slots, *change.slots], lifts))
    return Effect(
        ends_on=max(days.values(), default=ended_on),
        ended_on=ended_on,
        moved=sum(isinstance(one, Move) for one in changes),
        left_out=sum(isinstance(one, Skip) for one in changes),
        further=sum(isinstance(one, Further) for one in changes),
        longest_minutes=ceil(max(plans, default=0)),
        lifts=tuple(
            LiftSets(lift=lift, before=before[lift], after=after[lift])
            for lift in sorted(before.keys() | after.keys())
            if before[lift] != after[lift]
        ),
    )


def _sets(plan: SessionPlan) -> Counter[str]:
    found: Counter[str] = Counter()
    for slot in plan.slots:
        found[slot.lift] += work_sets(slot)
    return found


@dataclass(frozen=True, slots=True)
class _Way:
    """A way to go on, as its words need it."""

    running: Running
    changes: Sequence[Change]
    result: Effect
    away: Sequence[BlockSession]
    """The missed sessions that it is about."""
    lifts: Mapping[str, Lift]
    whole: bool
    """Whether all main work of them is taken over, where sessions take work over."""

    @property
    def over(self) -> bool:
        """Whether nothing of the block is left to be done."""
        skipped = {one.session for one in self.changes if isinstance(one, Skip)}
        return not self.result.further and all(one.id in skipped for one in self.running.sessions if one.planned)


def told(
    kind: Kind,
    running: Running,
    changes: Sequence[Change],
    result: Effect,
    away: Sequence[BlockSession],
    lifts: Mapping[str, Lift],
    *,
    gentle: int,
    whole: bool = True,
) -> tuple[str, tuple[str, ...]]:
    """A way to go on in words, and what to take care of.

    `gentle`: the week that goes on most gently; a later one is warned of. `whole`: all main work that was missed is
    taken over.
    """
    way = _Way(running, changes, result, away, lifts, whole)
    text = _BEGINS[kind](way)
    if way.over:  # there is no day on which it will end
        return text, ()
    later = (result.ends_on - result.ended_on).days
    text += f" {_ends(result.ends_on, later)}"
    cautions = []
    if running.goal is not None and result.ends_on > running.goal:
        past = plural((result.ends_on - running.goal).days, "day")
        cautions.append(f"The block was laid out towards {day(running.goal)}: it would end {past} after that.")
    if kind != "return" and (later_week := _goes_on_with(way)) > gentle:
        cautions.append(_too_far(way, later_week, gentle))
    return text, tuple(cautions)


def _goes_on_with(way: _Way) -> int:
    """The week of the first session to come."""
    skipped = {one.session for one in way.changes if isinstance(one, Skip)}
    days = {one.id: (one.date, one.week) for one in way.running.sessions if one.planned and one.id not in skipped}
    weeks = {one.id: one.week for one in way.running.sessions}
    days |= {one.session: (one.to, weeks[one.session]) for one in way.changes if isinstance(one, Move)}
    further = [(one.to, one.week) for one in way.changes if isinstance(one, Further)]
    return min([*days.values(), *further])[1]


def _too_far(way: _Way, week: int, gentle: int) -> str:
    """That a way goes on later than the gentlest."""
    running = way.running
    weeks = {one.week for one in way.away}
    done = max((one for one in running.sessions if one.done), key=lambda one: (one.week, one.number), default=None)
    last = "Nothing of the block was done"
    if done is not None:
        last = f"The last done was {done.plan.name} of week {done.week} on {day(done.date)}"
    missed = "will be missed" if running.ahead else "were missed"
    if running.ahead and done is not None:
        last = f"Before it comes {done.plan.name} of week {done.week} on {day(done.date)}"
    return (
        f"{last}; sessions of {plural(len(weeks), 'week')} {missed}, and this goes on with week {week}: to begin with "
        f"week {gentle} is gentler."
    )


def _ends(on: date, later: int) -> str:
    if later == 0:
        return f"The block still ends on {day(on)}."
    side = "later" if later > 0 else "earlier"
    return f"The block ends on {day(on)}, {plural(abs(later), 'day')} {side} than planned."


def _dropped(way: _Way) -> str:
    if way.over:
        return f"Leave out {_named_in(way)}: no session is left after that, and the block is over."
    return f"Leave out {_named_in(way)}: all later sessions stay on their days."


def _merged(way: _Way) -> str:
    hosts = [one for one in way.changes if isinstance(one, Extend)]
    into = "the next session" if len(hosts) == 1 else f"the next {plural(len(hosts), 'session')}"
    longest = f"The longest of them then takes about {plural(way.result.longest_minutes, 'minute')}."
    if way.whole:
        what = f"Put the main work of {_named_in(way)} into {into}, with half its sets; accessories are left out."
        return f"{what} {longest}"
    taken = listing(tuple(dict.fromkeys(lift_words(slot, way.lifts) for one in hosts for slot in one.slots)))
    return (
        f"Put a part of the main work of {_named_in(way)} into {into}, with half its sets: {taken}. All else of "
        f"{'it' if len(way.away) == 1 else 'them'} is left out. {longest}"
    )


def lift_words(slot: Slot, lifts: Mapping[str, Lift]) -> str:
    """A slot's lift as it stands within a sentence."""
    known = lifts.get(slot.lift)
    return known.name.lower() if known is not None else slot.lift.replace("-", " ")


def _shifted(way: _Way) -> str:
    move = "1 session moves" if way.result.moved == 1 else f"{way.result.moved} sessions move"
    return f"Go on with {_named(way.away[:1])} and let all later sessions follow in their order: {move}."


def _repeated(way: _Way) -> str:
    week = min(one.week for one in way.away)
    return f"Do week {week} again from its first session, and let all later ones follow.{_again(way.result)}"


def _returned(way: _Way) -> str:
    weeks = [one.week for one in way.changes if isinstance(one, Further)]
    begin = f"with week {min(weeks)}, which was done before," if weeks else "with the next week"
    return (
        f"Come back {begin} and let all later weeks follow; loads and sets start lower by the return rule."
        f"{_again(way.result)}"
    )


def _again(result: Effect) -> str:
    if not result.further:
        return ""
    return f" {plural(result.further, 'session')} {'is' if result.further == 1 else 'are'} done once more."


_BEGINS = {"drop": _dropped, "merge": _merged, "shift": _shifted, "repeat": _repeated, "return": _returned}


def _named(away: Sequence[BlockSession]) -> str:
    if len(away) == 1:
        return f"{away[0].plan.name} of {day(away[0].date)}"
    return f"the {len(away)} missed sessions"


def _named_in(way: _Way) -> str:
    """The sessions that a way is about."""
    if way.running.ahead and len(way.away) > 1:
        return f"the {len(way.away)} sessions in the absence"
    return _named(way.away)
