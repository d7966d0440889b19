"""From one set to the next: which planned set was done, and what it changes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import inf

from service.core.ability.by_curve import ByCurve
from service.core.ability.by_model import ByModel
from service.core.adjust.by_curve import tired
from service.core.adjust.decide import ON_TARGET, complete, decide
from service.core.adjust.facts import Decision, Facts, Planned
from service.core.adjust.judged import Judged, Stands
from service.core.adjust.no_less import REPORTS, may_be_less, may_go_on_too_long, no_less
from service.core.adjust.steady import too_hard
from service.core.adjust.today import Today, against_asked, expectation, judge, lighten, mass_kg, work_set
from service.core.adjust.until import reached
from service.core.estimate.rolling import effective_kg, reported_rpe
from service.core.records import WORK_ROLES, DoneSet

MOST_MISSES = 2
"""So many misses by strength end the lift: common practice, no source. [sets]"""


def walk(f: Facts, sets: Sequence[DoneSet], now: ByModel | None = None) -> tuple[Today, Decision]:
    """The state after all sets of a slot, in order, and what comes next; `now`: what the whole log says by then."""
    today = Today(ability=f.g.ability)
    coming = _begins(f, today) if sets else decide(f, today)
    for done in sets:
        today, coming = step(f, today, coming, done)
    if now is not None and isinstance(today.ability, ByModel):
        today.ability = now
        if today.seen is not None:
            today.seen.after = now
        coming = decide(f, today)
    return today, complete(f, today, coming)


def _begins(f: Facts, today: Today) -> Decision:
    """What comes first, worked out once for what is remembered of a slot: an app asks again after each set of it."""
    if f.begins is None:
        f.begins = decide(f, today)
    return f.begins


def step(f: Facts, today: Today, coming: Decision, done: DoneSet) -> tuple[Today, Decision]:
    """The state after one more set, and what comes next. `coming` is what was decided before it."""
    stands = standing(f, today, coming, done)
    after = taken(f, today, coming, done, stands, _reported(f, stands, done))
    d = decide(f, after)
    seen = after.seen
    by_curve = isinstance(after.ability, ByCurve)
    if seen is None or seen.reported is None or seen.verdict == "missed" or not seen.counts or not by_curve:
        return after, d
    heard, said = seen.reported, replace(done, rpe=None, rir=None, or_more=False, felt=None)

    def had_it_been(rpe: float) -> Decision:
        return decide(f, taken(f, today, coming, said, stands, rpe))

    if may_go_on_too_long(f, after, d):
        too_hard = heard - ((seen.as_asked or heard) - (f.target_rpe or heard)) + ON_TARGET
        easier = (had_it_been(rpe) for rpe in REPORTS if too_hard < rpe < heard)
        ended = next((one for one in easier if one.ends == "left_out"), None)
        if ended is not None:
            return after, ended
    if may_be_less(f, d):
        d = no_less(f, d, (had_it_been(rpe) for rpe in REPORTS if rpe > heard))
    return after, d


def advance(f: Facts, today: Today, coming: Decision, done: DoneSet) -> Today:
    """The state after one more set. A set of another lift only takes its place in the plan."""
    stands = standing(f, today, coming, done)
    return taken(f, today, coming, done, stands, _reported(f, stands, done))


def _reported(f: Facts, stands: Stands, done: DoneSet) -> float | None:
    return reported_rpe(done, stands.expected) if done.lift == f.g.lift.id else None


def standing(f: Facts, today: Today, coming: Decision, done: DoneSet) -> Stands:
    """What stands of a set whatever is said of how it went."""
    place = None if done.method == "drop_set" else _place(f, coming, today, done)  # it belongs to the set before
    if done.lift != f.g.lift.id:
        return Stands(place)
    kg = moved(f, done)
    return Stands(place, _asked(f, coming, place, done), kg, *expectation(today, done, kg))


def moved(f: Facts, done: DoneSet) -> float | None:
    """What was moved, effective; None without a mass, or where nothing was. [kg]"""
    return mass_kg(done.load, f.body_kg) if effective_kg(done, f.g.lift, f.body_kg) is not None else None


def taken(
    f: Facts, today: Today, coming: Decision, done: DoneSet, stands: Stands, reported: float | None
) -> Today:  # fmt: skip
    """The state after one more set that was `reported` so hard. [RPE]"""
    place = stands.place
    now = today.copy()
    now.done, now.seen = done, None
    if place is not None:
        now.at = place + 1
    if done.lift == f.g.lift.id and done.method not in ("straight", f.method):
        _by_another_method(now, done, judge(today, done, f.g.lift, stands, reported))
    elif done.lift == f.g.lift.id:
        judged = judge(today, done, f.g.lift, stands, reported)
        now.ability, now.seen = judged.after, judged
        if coming.leaves_out and coming.planned is not None and coming.planned.index == place:
            now.dropped += 1
        if done.role in WORK_ROLES:
            is_top = done.role == "top_set" or (place is not None and f.sets[place].role == "top_set")
            work_set(now, judged, is_top=is_top)
        elif done.role == "build_up":
            now.heaviest_build_up = max(now.heaviest_build_up, judged.kg or 0.0)
            now.build_up = judged if judged.verdict != "nothing" else now.build_up
        if f.possible is not None and done.role != "warm_up":
            against_asked(now, judged, f.reps, f.possible)
        aside = judged.verdict == "doubtful" or done.pain != "none" or done.ended_by == "pain"
        if now.light is not None or not done.made or aside:
            lighten(now, done, judged)
        if f.steady or f.method != "straight" or f.until is not None:
            _by_scheme(f, now, judged, place)
    _end(f, now, done)
    return now


def _by_another_method(now: Today, done: DoneSet, judged: Judged) -> None:
    """A drop set, or a set with a rest in it, where the slot has straight ones: no measure for what follows.

    What stands of it is that it tires, pain, and a load that could not be moved.
    """
    now.ability, now.seen = judged.after, judged
    if isinstance(now.ability, ByCurve) and done.method != "drop_set" and done.role in WORK_ROLES:
        now.ability = tired(now.ability, judged)
    painful = done.pain != "none" or done.ended_by == "pain"
    if painful or (done.method != "drop_set" and not done.made):
        lighten(now, done, judged)


def _end(f: Facts, now: Today, done: DoneSet) -> None:
    """Whether the lift is over for pain or misses."""
    if done.pain == "stop":
        now.over = "pain"
    elif now.misses >= MOST_MISSES and not f.as_planned and now.over is None:
        now.over = "missed"


def _by_scheme(f: Facts, now: Today, judged: Judged, place: int | None) -> None:
    """What some schemes make of a set: loads that stand give way to one that was too hard; one may be the last."""
    if (f.steady or f.method != "straight") and judged.role in WORK_ROLES:
        too_hard(f, now, judged)
    if now.over is None and reached(f, judged, place):
        now.over = "until"


def _asked(f: Facts, coming: Decision, place: int | None, done: DoneSet) -> tuple[int | None, int | None]:
    """Repetitions that were asked: the suggestion's, if it was followed; else the plan's. [reps]"""
    if place is None:
        return None, None
    planned = f.sets[place].reps, f.sets[place].reps_to
    if coming.planned is None or coming.planned.index != place:
        return planned
    # other repetitions make up for a load that was not to be had; who took another load had no need of them
    own_way = done.load != coming.load and done.reps == planned[0] and planned[1] is None
    return planned if own_way else (coming.reps, coming.reps_to)


def _place(f: Facts, coming: Decision, today: Today, done: DoneSet) -> int | None:
    """Which planned set was done; None for one more than planned.

    A warm-up or build-up is the one of its role that it is nearest to by load; those before it were passed over. A
    work set takes the next place of its own role; of a role that the plan does not have, the next of any work set.
    """
    own = [one for one in f.sets if one.role == done.role]
    if done.role not in WORK_ROLES:
        found = _nearest(f, coming, own, done)
        return found if found is not None and found >= today.at else None
    places = own or [one for one in f.sets if one.role in WORK_ROLES]
    return next((one.index for one in places if one.index >= today.at), None)


def _nearest(f: Facts, coming: Decision, own: list[Planned], done: DoneSet) -> int | None:
    """Place of the set of the plan (of what comes next, as it is now) with the nearest load, of equals the later."""
    kg = mass_kg(done.load, f.body_kg)
    now = coming.planned.index if coming.planned is not None else -1
    if kg is None or coming.kg is None:
        return now if any(one.index == now for one in own) else None
    found, least = None, inf
    for one in own:
        apart = abs((coming.kg if one.index == now else one.kg or 0.0) - kg)
        if apart <= least:
            found, least = one.index, apart
    return found
