"""What a template asks for: by week and lift sets, repetitions, zones, intensity; by session time and efforts."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from service.core import words
from service.core.check.basis import Reader
from service.core.check.intensity import NEAR, SetSeen, SlotSeen, see
from service.core.check.total import ZONES, Total, Zone, zone_of
from service.core.effort import OR_MORE_RPE
from service.core.plan.sizes import TRAINING_PERCENT, heavy_lifts, minutes
from service.core.records import Lift
from service.core.slots import MaxTest, SessionPlan, Slot, WeekPlan
from service.core.units import Load, MassUnit, Number, from_kg, tidy

LEAST_RPE = 4.0
"""What is easier is told as so much. Ours. [RPE]"""
HARD_RPE = 7.0
"""A set is hard from here: three repetitions left or fewer. Ours. [RPE]"""
NEARLY_HARD_RPE = 6.0
"""A set from here that is hard in a later week is none more: the step is too small to be called a jump. Ours. [RPE]"""


@dataclass(slots=True)
class SlotSets:
    """The work sets of a slot, in order; the lists are as long as there are sets."""

    lift: str
    """The lift's word."""
    text: str
    """What the slot asks for, in words."""
    reps: list[Number | None]
    """Of each set, of a test of each attempt that there may be; the middle of a range, null where the lifter chooses or
    nothing is counted."""
    percents: list[Number | None]
    """How heavy against the lift's own max, as written: a percentage of another lift's max goes by the ratio, one of a
    training max by what that is of the max, an effort by the model. Null where it cannot be told."""
    expected_rpes: list[Number | None]
    """The effort expected, with the fatigue of the lift's sets before it in the session and the load lowered as it will
    be, 4 to 10; 4 stands for anything easier too. Null where it cannot be told. Rests do not count: expect more after
    short ones."""
    expected_efforts: list[str | None]
    """The same in words: `RPE 8`; `five or more left` from RPE 5 down, where lifters cannot tell more; `likely to be
    missed` past RPE 10."""


@dataclass(slots=True)
class SessionChecked:
    """One session."""

    name: str
    """What it is called."""
    kind: Literal["block", "test", "meet"]
    """As the template has it."""
    minutes: int
    """From the first warm-up to the last set: an estimate from tempo, repetitions and rests; optional slots and all
    back-off sets that there may be are included."""
    heavy: list[str]
    """Words of the lifts that it is heavy in."""
    slots: list[SlotSets]
    """The slots, in order."""


@dataclass(slots=True)
class ZoneReps:
    """Repetitions in one zone of intensity."""

    zone: Zone
    """`below_70`, `from_70`, `from_80` or `from_90`: per cent of the lift's own max, up to where the next begins."""
    reps: Number
    """How many."""


@dataclass(slots=True)
class WeekChange:
    """How much more a week asks for than an earlier one."""

    than_week: int
    """The week that it is compared with: the last one that was not lighter, and had no test of the lift or meet."""
    volume_percent: Number | None
    """Change of repetitions times intensity (of repetitions, where the intensity is not known). [%]"""
    hard_sets_percent: Number | None
    """Change of hard sets; null where there were none. [%]"""


@dataclass(slots=True)
class LiftWeek:
    """What a week asks of one lift; accessory slots of it are counted too."""

    lift: str
    """The lift's word."""
    sets: int
    """Work sets; of back-off sets until an effort as many as are expected."""
    reps: Number
    """Repetitions of those, all parts of clusters and all lifts of complexes."""
    by_zone: list[ZoneReps]
    """Repetitions by intensity, zones without any left out."""
    reps_unknown: Number
    """Repetitions whose intensity is not known."""
    average_percent: Number | None
    """Average intensity: of the repetitions whose intensity is known. [%]"""
    hard_sets: int | None
    """Sets expected at RPE 7 or harder, whatever the rests; null where no effort can be told."""
    change: WeekChange | None = None
    """Against an earlier week; null in the first."""
    tonnage: Load | None = None
    """For an athlete: repetitions times load, before rounding to what can be loaded; of dumbbells both, with the body
    where it is part of the load. Null without an athlete, and where no load is known."""


@dataclass(slots=True)
class WeekChecked:
    """One week."""

    week: int
    """Weeks count from 1."""
    lighter: bool
    """Lighter on purpose, as the template says."""
    lifts: list[LiftWeek]
    """By lift, in the order of their first slots."""
    sessions: list[SessionChecked]
    """The sessions, in order."""


@dataclass(slots=True)
class SlotRead:
    """A slot as read once, for all places in which the template has it."""

    seen: SlotSeen
    total: Total
    shown: SlotSets
    after: float
    """Fatigue of the lift when it is done. [units]"""


@dataclass(slots=True)
class Read:
    """A template that was read: what the answer and the findings are made from."""

    weeks: Sequence[WeekPlan]
    lifts: Mapping[str, Lift]
    reader: Reader
    slots: list[list[list[SlotRead]]]
    """By week, session, slot."""
    heavy: list[list[tuple[str, ...]]]
    """By week and session: the lifts that it is heavy in."""
    minutes: list[list[float]]
    """By week and session. [min]"""
    totals: list[dict[str, Total]]
    """By week: each lift's sums."""


def read(weeks: Sequence[WeekPlan], reader: Reader) -> Read:
    """Read a template slot by slot; equal slots and equal sessions are worked out once. Never refuses."""
    lifts, settings = reader.lifts, reader.settings
    training = TRAINING_PERCENT if reader.ctx is None else float(settings.training_max_percent)
    slots: dict[tuple[Slot, bool, float], SlotRead] = {}
    sessions: dict[tuple[tuple[Slot, ...], str], tuple[list[SlotRead], tuple[str, ...], float]] = {}
    found = Read(weeks, lifts, reader, [], [], [], [])

    def one_slot(slot: Slot, *, lifted: bool, tired: dict[str, float]) -> SlotRead:
        key = (slot, lifted, tired.get(slot.lift, 0.0))
        held = slots.get(key)
        if held is None:
            held = slots[key] = _slot_read(see(slot, reader, lifted=lifted, before=key[2]), lifts)
            held.total.tested = isinstance(slot.scheme, MaxTest) or (lifted and not slot.accessory)
        tired[slot.lift] = held.after
        return held

    def one_session(session: SessionPlan) -> tuple[list[SlotRead], tuple[str, ...], float]:
        key = (session.slots, session.kind)
        held = sessions.get(key)
        if held is None:
            lifted, tired = session.kind != "block", dict[str, float]()
            held = sessions[key] = (
                [one_slot(slot, lifted=lifted, tired=tired) for slot in session.slots],
                heavy_lifts(session, lifts, training),
                minutes(session.slots, lifts, build_up=settings.build_up),
            )
        return held

    for week in weeks:
        parts = [one_session(session) for session in week.sessions]
        found.slots.append([part[0] for part in parts])
        found.heavy.append([part[1] for part in parts])
        found.minutes.append([part[2] for part in parts])
        totals: dict[str, Total] = {}
        for part in parts:
            for one in part[0]:
                totals.setdefault(one.seen.slot.lift, Total()).add(one.total)
        found.totals.append(totals)
    return found


def shown(found: Read, changes: Sequence[Mapping[str, WeekChange]], unit: MassUnit) -> list[WeekChecked]:
    """The analysis as it is answered: `changes` by week and lift; tonnage where the reader knows an athlete."""
    known = found.reader.ctx is not None
    return [
        WeekChecked(
            week=number + 1,
            lighter=week.lighter,
            lifts=[
                _lift_week(lift, total, changes[number].get(lift), unit if known else None)
                for lift, total in found.totals[number].items()
            ],
            sessions=[
                SessionChecked(
                    name=session.name,
                    kind=session.kind,
                    minutes=round(found.minutes[number][at]),
                    heavy=list(found.heavy[number][at]),
                    slots=[one.shown for one in found.slots[number][at]],
                )
                for at, session in enumerate(week.sessions)
            ],
        )
        for number, week in enumerate(found.weeks)
    ]


def _slot_read(seen: SlotSeen, lifts: Mapping[str, Lift]) -> SlotRead:
    lift = lifts.get(seen.slot.lift)
    hands = 2 if lift is not None and lift.load_kind == "per_hand" else 1
    total = Total(sets=len(seen.sets))
    for one in seen.sets:
        _count(total, one, seen.percent(one), hands)
    text = words.slot_text(seen.slot, lifts)
    out = SlotSets(
        lift=seen.slot.lift,
        text=text,
        reps=[None if one.reps is None else tidy(one.reps, 1) for one in seen.sets],
        percents=[_tenth(seen.percent(one)) for one in seen.sets],
        expected_rpes=[None if one.rpe is None else tidy(min(max(one.rpe, LEAST_RPE), 10.0), 1) for one in seen.sets],
        expected_efforts=[None if one.rpe is None else _effort(one.rpe) for one in seen.sets],
    )
    return SlotRead(seen, total, out, seen.after)


def _count(total: Total, one: SetSeen, percent: float | None, hands: int) -> None:
    if one.rpe is not None:
        total.rated += 1
        total.hard += one.rpe >= HARD_RPE - NEAR
        total.nearly_hard += one.rpe >= NEARLY_HARD_RPE - NEAR
    if one.reps is None:
        return
    total.reps += one.reps
    if percent is not None:
        total.known_reps += one.reps
        total.volume += one.reps * percent / 100
        zone = zone_of(percent)
        total.zones[zone] = total.zones.get(zone, 0.0) + one.reps
    if one.written_kg is not None:
        total.kg = (total.kg or 0.0) + one.reps * one.written_kg * hands


def _lift_week(lift: str, total: Total, change: WeekChange | None, unit: MassUnit | None) -> LiftWeek:
    return LiftWeek(
        lift=lift,
        sets=total.sets,
        reps=tidy(total.reps, 1),
        by_zone=[ZoneReps(zone, tidy(total.zones[zone], 1)) for zone in ZONES if zone in total.zones],
        reps_unknown=tidy(total.reps - total.known_reps, 1),
        average_percent=_tenth(100 * total.volume / total.known_reps) if total.known_reps else None,
        hard_sets=total.hard if total.rated else None,
        change=change,
        tonnage=None if unit is None or total.kg is None else from_kg(total.kg, unit),
    )


def _effort(rpe: float) -> str:
    """An effort in words, none where the scale cannot say it. [RPE]"""
    if rpe > 10 + NEAR:
        return "likely to be missed"
    told = tidy(min(max(rpe, LEAST_RPE), 10.0), 1)
    return "five or more left" if told <= OR_MORE_RPE else f"RPE {words.number(told)}"


def _tenth(value: float | None) -> Number | None:
    return None if value is None else tidy(value, 1)
