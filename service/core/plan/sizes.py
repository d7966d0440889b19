"""How much a slot asks for, whether it is heavy, and how long a session takes: from what is written alone."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from service.core.plan.families import first_of_line, is_pull, ratio_to
from service.core.records import Lift
from service.core.slots import (
    AscendingSets,
    BuildUp,
    Cluster,
    DistanceTarget,
    EffortTarget,
    Ladder,
    LoadTarget,
    MaxTest,
    OpenLastSet,
    PercentTarget,
    SessionPlan,
    SetsAtTarget,
    Slot,
    TimeTarget,
    TopSet,
)

LADDER_SETS, TEST_ATTEMPTS = 8, 5
"""Sets of a ladder and attempts of a test where none are stated. Ours. [sets]"""
HEAVY_REPS, HEAVY_RPE, HEAVY_PERCENT, HEAVY_PULL_PERCENT = 5, 7.5, 80, 100
"""Heavy is: at most so many repetitions at so high an effort, or so high a percentage of the lift's own max. Ours; near
the strength rows of the textbook table (Haff & Triplett eds.). [reps], [RPE], [%], [%]"""
TRAINING_PERCENT = 95
"""A training max as a part of the max, where no settings say it. Common practice, no source. [%]"""

SECONDS_A_REP = 4
"""Two seconds down, two up: the slow ends of moderate velocity, 1 to 2 each (ACSM 2009). [s]"""
FAST = 1
"""An `x` in a tempo. Ours. [s]"""
METRES_A_SECOND = 1
"""Of a carry. Ours. [m/s]"""
SET_UP = 15
"""To chalk up, step under the bar and out of it again, each set. Ours. [s]"""
CHANGE = 60
"""From one slot to the next: to set up the bar. Ours. [s]"""
FREE_REPS = 10
"""Where a slot names no repetitions. Ours. [reps]"""
HEAVY_REST, REST, ACCESSORY_REST = 210, 150, 90
"""Rests where the slot names none: the middle of 2 to 5 minutes (strength, Haff & Triplett eds.), of 2 to 3 (core
lifts, ACSM 2009), of 1 to 2 (assistance exercises, ACSM 2009). [s]"""
TEST_REST = 180
"""Between attempts of a test: the middle of 2 to 4 minutes (published protocol). [s]"""
WARM_UPS, WARM_AFTER_FAMILY, WARM_UP_REPS, WARM_UP_REST = 4, 2, 4, 60
"""Warm-ups of a lift's first slot, after a lift of its family; their repetitions, rests. Ours. [sets], [reps], [s]"""
BUILD_UPS = 2
"""Sets on the way to an effort, where none are stated. [sets]"""


def work_sets(slot: Slot) -> int:
    """How many work sets a slot asks for, at most: back-off sets until an effort and ladders with all they may have.

    >>> from service.core.slots import BackOff, FreeTarget
    >>> work_sets(Slot(lift="squat", scheme=TopSet(back_off=BackOff(sets=3, less_percent=8)), target=FreeTarget()))
    4
    """
    scheme = slot.scheme
    match scheme:
        case SetsAtTarget() | Cluster():
            return scheme.sets
        case TopSet():
            after = scheme.same_load.sets if scheme.same_load is not None else 0
            return 1 + after + (scheme.back_off.most_sets if scheme.back_off is not None else 0)
        case OpenLastSet():
            return scheme.sets_before + 1
        case AscendingSets():
            return len(scheme.percents)
        case Ladder():
            return scheme.most_sets or LADDER_SETS
        case MaxTest():
            return scheme.attempts or TEST_ATTEMPTS


def reps_of(slot: Slot) -> float | None:
    """Repetitions of one work set: the middle of a range, all parts of a cluster, all lifts of a complex. [reps]

    A test's attempts have what its effort names, else one; None for holds and carries, and where the lifter chooses.
    """
    target = slot.target
    if isinstance(slot.scheme, MaxTest):
        return float(target.reps) if isinstance(target, EffortTarget) else 1.0
    if isinstance(target, TimeTarget | DistanceTarget) or target.reps is None:
        return None
    middle = target.reps if target.reps_to is None else (target.reps + target.reps_to) / 2
    if isinstance(slot.scheme, Cluster):
        middle *= slot.scheme.parts
    if slot.complex:
        middle *= sum(part.reps for part in slot.complex)
    return float(middle)


def percent_of_max(
    slot: Slot, lifts: Mapping[str, Lift], training_percent: float = TRAINING_PERCENT, *, high: bool = False
) -> float | None:
    """What a percentage comes to, of the slot's lift's own max: the middle of a band, or its `high` end. [%]

    A percentage of a training max is that part of it; one of another lift is divided by the ratio of the maxes. None
    where the target is no percentage, or no ratio ties the two lifts.
    """
    target = slot.target
    if not isinstance(target, PercentTarget):
        return None
    top = target.percent if target.percent_to is None else target.percent_to
    percent = float(top) if high else (target.percent + top) / 2
    if target.basis == "training":
        percent *= training_percent / 100
    if target.of is None or target.of == slot.lift:
        return percent
    ratio = ratio_to(slot.lift, target.of, lifts)
    return None if ratio is None else percent / ratio


def is_heavy(slot: Slot, lifts: Mapping[str, Lift], training_percent: float = TRAINING_PERCENT) -> bool:
    """Whether a slot is heavy work for its lift: hard enough to want a day before the next of its kind.

    A test; at most 5 repetitions at RPE 7.5 or harder; 80 % or more of the lift's own max (a pull of a technique lift:
    100 %). Of a band the upper end counts, of a range of repetitions the lower. Accessories, ladders, and what has only
    a load or is the lifter's choice are not. Ours. `lifts`: those of the gym, at least the ones named and those that
    they are based on.
    """
    if slot.accessory or isinstance(slot.scheme, Ladder):
        return False
    if isinstance(slot.scheme, MaxTest):
        return True
    target = slot.target
    if isinstance(target, EffortTarget):
        return target.reps <= HEAVY_REPS and target.asked_rpe >= HEAVY_RPE
    percent = percent_of_max(slot, lifts, training_percent, high=True)
    lift = lifts.get(slot.lift)
    least = HEAVY_PULL_PERCENT if lift is not None and is_pull(lift) else HEAVY_PERCENT
    return percent is not None and percent >= least


def heavy_lifts(
    session: SessionPlan, lifts: Mapping[str, Lift], training_percent: float = TRAINING_PERCENT
) -> tuple[str, ...]:
    """Words of the lifts that a session is heavy in, each once; in a test or a meet of all but accessories."""
    lifted = session.kind != "block"
    return tuple(
        dict.fromkeys(
            slot.lift
            for slot in session.slots
            if (lifted and not slot.accessory) or is_heavy(slot, lifts, training_percent)
        )
    )


def session_is_heavy(session: SessionPlan, lifts: Mapping[str, Lift]) -> bool:
    """Whether a session is heavy in any lift."""
    return session.kind != "block" or any(is_heavy(slot, lifts) for slot in session.slots)


def is_occasion(session: SessionPlan) -> bool:
    """Whether a session is what a date is kept free for: a test or a meet by its kind, or one that tests a max."""
    return session.kind != "block" or any(isinstance(slot.scheme, MaxTest) for slot in session.slots)


def minutes(
    slots: Sequence[Slot], lifts: Mapping[str, Lift], *, build_up: BuildUp | None = None, warm: bool = True
) -> float:
    """How long slots take, from the first warm-up to the end of the last set: an estimate. [min]

    A repetition takes its tempo (`x` one second), else 4 seconds; a hold its seconds, a carry a second a metre; each
    set 15 seconds more. After each set comes the slot's rest, else 3.5 minutes for heavy work, 2.5 for other main
    work, 1.5 for accessories, 3 in a test; not after the last set of the session. Slots done in turn rest once a
    round: the longest of their rests. A minute goes from slot to slot. Main lifts with a load behind them add warm-
    ups (4, or 2 after a lift of their family, with a minute after each) and before efforts build-up sets, rested like
    work.

    Parameters
    ----------
    slots : sequence of Slot
        In order; what is in turn with one that follows is in the same sequence.
    lifts : mapping
        The gym's lifts by word, at least those named and the ones that they are based on.
    build_up : BuildUp or None
        The settings'; None: two build-up sets before an effort.
    warm : bool
        False: work sets only.

    Returns
    -------
    float
        At least 0; sets that may be left out (optional slots, back-off sets until an effort) are included.
    """
    seconds, last_rest, groups = 0.0, 0.0, 0
    worked: list[str] = []
    for group in in_turn(slots):
        groups += 1
        for slot in group:
            if warm:
                seconds += _before(slot, lifts, worked, build_up)
            worked.append(slot.lift)
        parts = [(work_sets(slot), rest_seconds(slot, lifts)) for slot in group]
        seconds += sum(count * set_seconds(slot) for slot, (count, _) in zip(group, parts, strict=True))
        for at in range(max(count for count, _ in parts)):
            last_rest = max(rest for count, rest in parts if at < count)
            seconds += last_rest
    return max(0.0, seconds - last_rest + CHANGE * max(0, groups - 1)) / 60


def in_turn(slots: Sequence[Slot]) -> Iterator[tuple[Slot, ...]]:
    """Slots by what is done in turn: a slot with the one that follows, over any number; most stand alone."""
    group: list[Slot] = []
    for slot in slots:
        group.append(slot)
        if not slot.with_next:
            yield tuple(group)
            group = []
    if group:
        yield tuple(group)


def set_seconds(slot: Slot, reps: float | None = None) -> float:
    """How long one set takes, from chalk to chalk; `reps`: in place of the slot's. [s]"""
    target = slot.target
    if isinstance(target, TimeTarget):
        return SET_UP + target.seconds
    if isinstance(target, DistanceTarget):
        return SET_UP + float(target.metres) / METRES_A_SECOND
    count = reps if reps is not None else reps_of(slot)
    lasting = SET_UP + (FREE_REPS if count is None else count) * seconds_a_rep(slot.tempo)
    if isinstance(slot.scheme, Cluster) and reps is None:
        lasting += (slot.scheme.parts - 1) * slot.scheme.rest_seconds
    return lasting


def seconds_a_rep(tempo: str | None) -> float:
    """How long a repetition takes: its tempo's numbers together, else 4 seconds. [s]

    >>> seconds_a_rep("3-1-x-0"), seconds_a_rep(None)
    (5.0, 4.0)
    """
    if tempo is None:
        return float(SECONDS_A_REP)
    return float(sum(FAST if part == "x" else int(part) for part in tempo.split("-")))


def rest_seconds(slot: Slot, lifts: Mapping[str, Lift]) -> float:
    """The rest after a set: the slot's own, else by what kind of work it is. [s]"""
    if slot.rest_seconds is not None:
        return float(slot.rest_seconds)
    if isinstance(slot.scheme, MaxTest):
        return TEST_REST
    if slot.accessory:
        return ACCESSORY_REST
    return HEAVY_REST if is_heavy(slot, lifts) else REST


def _before(slot: Slot, lifts: Mapping[str, Lift], worked: Sequence[str], build_up: BuildUp | None) -> float:
    """Warm-ups and build-up sets of a slot after the lifts worked before it. [s]"""
    lift = lifts.get(slot.lift)
    stated = slot.scheme.build_up if isinstance(slot.scheme, TopSet) else None
    first = slot.lift not in worked
    seconds = 0.0
    if first and _warms_up(slot, lift):
        family = first_of_line(slot.lift, lifts)
        after = any(first_of_line(one, lifts) == family for one in worked)
        count = WARM_AFTER_FAMILY if after else WARM_UPS
        seconds += count * (set_seconds(slot, WARM_UP_REPS) + WARM_UP_REST)
    technique = lift is not None and lift.technique
    usual = first and not slot.accessory and not technique and isinstance(slot.target, EffortTarget)
    if stated is not None or (usual and isinstance(slot.scheme, TopSet | SetsAtTarget)):
        sets = (stated and (stated.rpes or stated.percents)) or (build_up and (build_up.rpes or build_up.percents))
        reps = stated.reps if stated is not None else None
        seconds += (len(sets) if sets else BUILD_UPS) * (set_seconds(slot, reps) + rest_seconds(slot, lifts))
    return seconds


def _warms_up(slot: Slot, lift: Lift | None) -> bool:
    """Whether lighter sets come before a slot: main work with a load that is known before it."""
    if slot.accessory or isinstance(slot.scheme, Ladder) or (lift is not None and lift.load_kind == "none"):
        return False
    if isinstance(slot.target, EffortTarget | PercentTarget):
        return True
    return isinstance(slot.target, LoadTarget)
