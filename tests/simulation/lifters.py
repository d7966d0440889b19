"""Invented lifters: what is true of them, their training plan and their luck, all fixed before any method is asked.

A lifter is made from a seed alone. Nothing here depends on the loads that a method chooses, and each set of each
session has its own numbers drawn beforehand, so that all methods meet the same lifter on the same days.

Sizes follow publications where there are any (named beside them and checked in test_generator.py); the rest is ours.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from itertools import pairwise
from math import exp, log

import numpy as np

from tests.simulation.repetitions import FAMILIES, Own

DEVELOPMENT = 0
"""Seeds from here on were looked at while the model and the baselines were tried."""
HELD_OUT = 50_000_000
"""Seeds from here on are for the committed table only: nothing was chosen by them."""
WEEKS = 16
DAYS = WEEKS * 7
AHEAD = 28
"""Days after the plan that the true max is known for, so that forecasts can be judged."""
VARIATION_FROM = 35
"""Day on which a variation is begun, where there is one."""
SETS = 14
"""Sets of a session that luck is drawn for."""
LIFTS = ("squat", "bench-press", "deadlift")
STRETCH = (1.15, 1.0, 0.88)
"""Repetitions beyond the first against the bench press. Direction: more in the squat (Shimano et al. 2006, JSCR
20(4):819-823), fewer in the deadlift (LeSuer et al. 1997, JSCR 11(4):211-213); sizes ours."""


@dataclass(frozen=True, slots=True)
class World:
    """What is usual among the lifters; a stress scenario changes one of these."""

    given: bool = True
    """A max is given at the start."""
    slips: bool = True
    slip_rate: float = 0.006
    """Sets with a slip when logged."""
    wrong_unit_rate: float = 0.004
    """Sessions wholly logged in the wrong unit."""
    stretch_person: float = 0.19
    """Log spread of the repetitions beyond the first between people, and within a person between lifts. Together with
    the families 3.3 repetitions at 70 %: Nuzzo et al. 2024 have 3.4 between people."""
    stretch_lift: float = 0.14
    stretch_all: float = 1.0
    kinds: tuple[float, float, float] = STRETCH
    bias: tuple[float, float] = (0.25, 0.55)
    """Repetitions left but not reported, near failure: mean and spread between people. Refalo et al. 2024: 0.17;
    Halperin et al. 2022, over 12 studies: 0.95 (0.17 to 1.73), spread between people 1.45."""
    bias_all: float | None = None
    """Everybody's bias instead. [reps]"""
    bias_lift: float = 0.15
    report_noise: float = 1.0
    target_pull: float | None = None
    """Everybody's reports are drawn to the target by this part; None: as people differ."""
    unrated: float | None = None
    """Share of the sets without effort, for everybody; None: as people differ."""
    judges: float | None = None
    """Share of lifters who cannot judge effort; None: as beginners are."""
    day_spread: float = 1.0
    fatigue: float = 1.0
    gain: float = 0.0
    """More log strength over the 16 weeks."""
    given_off: float = 0.0
    """Log by which all given maxes are too high."""
    only_reps: int | None = None
    layoffs: float = 0.12
    """Share of lifters with weeks of no training."""
    layoff_days: tuple[int, int] = (14, 42)
    step_kg: float | None = None
    """Everybody's smallest step."""
    beginners: float = 0.2
    tests: bool = False
    """A max is tested about every fifth week."""
    variation: bool = False
    """The deadlift's place is taken by a pause squat that starts in the sixth week without a max."""


@dataclass(frozen=True, slots=True)
class Asked:
    """A session's plan for a lift."""

    reps: int
    rpe: float
    follow: str
    """same_load, back_off or at_target."""
    sets: int
    less: float
    """Part taken off for back-off sets."""


@dataclass(slots=True)
class Session:
    """One lift on one day: the plan, the truth, and the luck of its sets."""

    lift: int
    day: int
    number: int
    """Counts this lift's sessions from 0."""
    asked: Asked
    level: float
    """Log of the true max on a typical day at this date. [log kg]"""
    today: float
    """How far today is off that. [log]"""
    level_later: float
    """The level four weeks on."""
    luck: list[list[float]]
    """For each set: normal numbers and uniform ones, see `lifting`."""
    wrong_unit: bool = False
    test: bool = False
    back: int | None = None
    """Counts this lift's sessions since a break of two weeks or more from 0; None: there was none."""


@dataclass(frozen=True, slots=True)
class Reporter:
    """How a lifter tells effort."""

    bias: tuple[float, float, float]
    """Repetitions left but not reported near failure, in each lift."""
    growth: float
    """How much more of these for every repetition further away."""
    noise: float
    far_noise: float
    """Spread near failure in repetitions, and the part of the repetitions left that comes on top."""
    long_noise: float
    """Spread for each repetition beyond ten in the set (Zourdos et al. 2021: long sets are judged worse)."""
    pull: float
    """How far reports are drawn to the target."""
    whole: bool
    """Reports whole points only."""
    unrated: float
    no_light: float
    """Chance that a build-up set is not rated even so."""
    blind: bool
    """Cannot judge effort at all."""


@dataclass(slots=True)
class Lifter:
    """Everything about one invented lifter."""

    seed: int
    world: World
    curves: tuple[Own, Own, Own]
    reporter: Reporter
    tiring: float
    """Cost of a set against the usual."""
    stops: float
    """Chance to rack the bar rather than miss."""
    step: float
    """Smallest change of the bar. [kg]"""
    given: tuple[float | None, float | None, float | None]
    tested: tuple[bool, bool, bool]
    guess: tuple[float, float, float]
    """What the lifter believes of the own max at the start, for the first load where none is given. [kg]"""
    names: tuple[str, str, str]
    levels: list[list[float]]
    sessions: list[Session] = field(default_factory=list)


def _schedule(rng: np.random.Generator, world: World) -> tuple[list[tuple[int, int]], tuple[int, int] | None]:
    """Days of training with their lifts, and the break if there is one."""
    gap = None
    if rng.random() < world.layoffs:
        length = int(rng.integers(world.layoff_days[0], world.layoff_days[1] + 1))
        start = int(rng.integers(28, max(29, DAYS - length - 14)))
        gap = (start, start + length)
    patterns = (((0, 4), (1, 4), (2,)), ((0, 3), (1, 3), (5,)), ((0, 2), (0, 2, 4), (4,)), ((0, 4), (2, 4), (2, 5)))
    days_of = patterns[int(rng.integers(len(patterns)))]
    missed = rng.random((WEEKS, 7))
    skipping = 0.02 + 0.1 * rng.random()
    found = []
    for week in range(WEEKS):
        for weekday in range(7):
            day = 7 * week + weekday
            if missed[week, weekday] < skipping or (gap and gap[0] <= day < gap[1]):
                continue
            found += [(day, lift) for lift in range(3) if weekday in days_of[lift]]
    return found, gap


def _levels(
    rng: np.random.Generator, world: World, gap: tuple[int, int] | None, beginner: bool
) -> tuple[list[list[float]], list[float]]:
    """Log maxes on typical days, for each lift and day; and log maxes at the start."""
    days = DAYS + AHEAD + 1
    size = rng.normal(0, 0.22)
    base = [log(kg) + size + rng.normal(0, 0.12) - (0.45 if beginner else 0.0) for kg in (135.0, 95.0, 165.0)]
    # Trained: 7.5 to 12.5 % in the first year of competing (Latella et al. 2024, Sports Med 54:753-774), most lifters
    # less later; untrained 14 % in 14 weeks (Ofsteng 2021, bench press with 10RM loads).
    common = rng.normal(0, 0.4)
    time = np.arange(days)
    wave, weight = rng.uniform(0.0, 0.018), rng.integers(0, 28)
    # weeks of harder work press the max down, the lighter fourth week brings it back and a little more
    phase = ((time + weight) % 28) / 28
    block = -wave * np.where(phase < 0.75, phase / 0.75, 1 - (phase - 0.75) / 0.25 * 1.3)
    stress = _wander(rng, days, 0.012, 10)
    levels = []
    for lift in range(3):
        if beginner:
            total = max(0.03, rng.normal(0.15, 0.05) * exp(0.5 * common))
            growth = total * (1 - np.exp(-time / 55)) / (1 - exp(-DAYS / 55))
        else:
            growth = 0.022 * exp(rng.normal(0, 0.5) + common) * time / DAYS
            growth -= 0.03 * (rng.random() < 0.05) * time / DAYS  # some get weaker: dieting, age, an ache
        loss = np.zeros(days)
        if gap:
            start, end = gap
            away = np.clip(time - start - 7, 0, end - start - 7)
            lost = 0.0013 * exp(rng.normal(0, 0.4)) * away
            back = np.clip((time - end) / (0.7 * (end - start)), 0, 1)
            loss = np.where(time < end, lost, lost * (1 - back))
            stopped = np.clip(time - start, 0, end - start)
            growth = np.interp(time - stopped, time, growth)
        own = _wander(rng, days, 0.010, 25)
        shift = world.gain * time / DAYS
        levels.append((base[lift] + growth - loss + 0.7 * stress + own + block + shift).tolist())
    return levels, base


def _pause_squat(rng: np.random.Generator, squat: list[float]) -> list[float]:
    """Log maxes of a pause squat: about nine tenths of the squat's (common practice, no source; spread ours)."""
    own = _wander(rng, len(squat), 0.010, 25) + log(0.90) + rng.normal(0, 0.045)
    return (np.array(squat) + own).tolist()


def _wander(rng: np.random.Generator, days: int, spread: float, memory: float) -> np.ndarray:
    """Something that comes and goes: a first-order process of a spread, with a memory in days."""
    keep = exp(-1 / memory)
    steps = rng.normal(0, spread * (1 - keep * keep) ** 0.5, days)
    found = np.empty(days)
    value = rng.normal(0, spread)
    for day in range(days):
        value = keep * value + steps[day]
        found[day] = value
    return found


def _curves(rng: np.random.Generator, world: World) -> tuple[Own, Own, Own]:
    favourite = int(rng.integers(len(FAMILIES)))
    person = rng.normal(0, world.stretch_person)
    own = []
    for lift in range(3):
        family = favourite if rng.random() < 0.6 else int(rng.integers(len(FAMILIES)))
        stretch = world.kinds[lift] * world.stretch_all * exp(person + rng.normal(0, world.stretch_lift))
        own.append(Own(FAMILIES[family], stretch))
    return own[0], own[1], own[2]


def _reporter(rng: np.random.Generator, world: World, beginner: bool) -> Reporter:
    draws = rng.random(8)
    common = rng.normal(*world.bias) + (0.5 if beginner else 0.0)
    if world.bias_all is not None:
        common = world.bias_all
    bias = [float(common + rng.normal(0, world.bias_lift)) for _ in range(3)]
    if world.bias_all is not None and world.bias_lift <= World().bias_lift:
        bias = [common] * 3
    pull = 0.5 + 0.4 * draws[0] if draws[1] < 0.10 else 0.35 * draws[0]
    habit = draws[2]
    unrated = 0.03 if habit < 0.65 else 0.15 if habit < 0.92 else 0.6
    scale = world.report_noise * exp(rng.normal(0, 0.25)) * (1.4 if beginner else 1.0)
    return Reporter(
        bias=(bias[0], bias[1], bias[2]),
        growth=float(max(0.0, rng.normal(0.12, 0.07))),
        noise=0.38 * scale,
        far_noise=0.27 * scale,
        long_noise=0.25 * scale,
        pull=pull if world.target_pull is None else world.target_pull,
        whole=bool(draws[3] < 0.3),
        unrated=unrated if world.unrated is None else world.unrated,
        no_light=0.3 * draws[4] if draws[5] < 0.3 and world.unrated is None else 0.0,
        blind=bool(draws[6] < ((0.25 if beginner else 0.0) if world.judges is None else world.judges)),
    )


REPS = ((6, 8, 10, 5, 8), (5, 4, 6, 3, 5), (3, 2, 1, 4, 3))
"""Repetitions asked in the three kinds of months, from work with many repetitions to singles."""


def _asked(rng: np.random.Generator, world: World, month: int, reps_of: int) -> Asked:
    draws = rng.random(4)
    reps = REPS[month % 3][(reps_of + int(draws[0] * 2)) % 5] if world.only_reps is None else world.only_reps
    rpe = (7.0, 7.5, 8.0, 8.0, 8.5, 9.0)[int(draws[1] * 6)]
    follow = "same_load" if draws[2] < 0.35 else "back_off" if draws[2] < 0.8 else "at_target"
    return Asked(reps, rpe, follow, 1 + int(draws[3] * 4), (0.05, 0.08, 0.1)[int(draws[3] * 100) % 3])


def _step(rng: np.random.Generator, beginner: bool) -> float:
    """Most gyms change the bar by 2.5 kg, some by 1 or 5 kg, some by 5 lb."""
    draw = rng.random()
    if beginner and draw < 0.3:
        return 5.0
    return 2.5 if draw < 0.65 else 1.0 if draw < 0.8 else 5 * 0.45359237 if draw < 0.92 else 5.0


def lifter(seed: int, world: World) -> Lifter:
    """The lifter of a seed in a world.

    Worlds that differ in one thing meet the same lifter otherwise: each part of a lifter draws from its own stream.
    """
    streams = [np.random.default_rng((seed, part)) for part in range(10)]
    who, plan, luck = streams[0], streams[1], streams[2]
    beginner = bool(who.random() < world.beginners)
    step = _step(who, beginner) if world.step_kg is None else world.step_kg
    days, gap = _schedule(plan, world)
    levels, _ = _levels(streams[3], world, gap, beginner)
    maxes = streams[4]
    curves = _curves(streams[5], world)
    if world.variation:
        levels[2] = _pause_squat(streams[9], levels[0])
        curves = (curves[0], curves[1], Own(curves[0].family, curves[0].stretch * exp(streams[9].normal(0, 0.07))))
    given: list[float | None] = []
    tested, guess = [], []
    for lift in range(3):
        draws, uniform = maxes.normal(0, 1, 3), maxes.random()
        lately = bool(uniform < 0.3)
        off = 0.022 * draws[0] if lately else 0.02 + 0.065 * draws[0]
        kg = round(exp(levels[lift][0] + off + world.given_off) / 2.5) * 2.5
        given.append(kg if world.given and not (world.variation and lift == 2) else None)
        tested.append(lately and world.given_off == 0)
        guess.append(float(exp(levels[lift][0] - 0.05 + 0.09 * draws[1])))
    found = Lifter(
        seed=seed,
        world=world,
        curves=curves,
        reporter=_reporter(streams[6], world, beginner),
        tiring=float(world.fatigue * exp(who.normal(0, 0.45))),
        stops=float(who.uniform(0.0, 0.5)),
        step=step,
        given=(given[0], given[1], given[2]),
        tested=(tested[0], tested[1], tested[2]),
        guess=(guess[0], guess[1], guess[2]),
        names=("squat", "bench-press", "pause-squat") if world.variation else LIFTS,
        levels=levels,
    )
    _sessions(found, days, streams[7], streams[8], luck)
    return found


def _sessions(
    who: Lifter,
    days: list[tuple[int, int]],
    plan: np.random.Generator,
    form: np.random.Generator,
    luck: np.random.Generator,
) -> None:
    """Lay out the sessions with their truth and luck."""
    world = who.world
    normal = luck.normal(0, 1, (len(days), SETS, 6))
    uniform = luck.random((len(days), SETS, 8))
    numbers = np.concatenate([normal, uniform], axis=2).tolist()
    # good and bad days: heavy tails, half shared by the lifts of a day; 2 % in all and now and then a really bad one
    spread = world.day_spread * exp(form.normal(0, 0.2))
    shared = 0.0095 * form.standard_t(5, DAYS) - 0.06 * (form.random(DAYS) < 0.015)
    own = 0.0105 * form.standard_t(4, (DAYS, 3))
    start = int(plan.integers(3))
    counts, last = [0, 0, 0], [-1, -1, -1]
    back: list[int | None] = [None, None, None]
    for at, (day, lift) in enumerate(days):
        if world.variation and lift == 2 and day < VARIATION_FROM:
            continue
        before = back[lift]
        long = 0 <= last[lift] <= day - 14
        back[lift] = 0 if long else None if before is None else before + 1
        last[lift] = day
        asked = _asked(plan, world, start + day // 28 + lift, counts[lift])
        who.sessions.append(
            Session(
                lift=lift,
                day=day,
                number=counts[lift],
                asked=asked,
                level=who.levels[lift][day],
                today=float(spread * (shared[day] + own[day, lift])),
                level_later=who.levels[lift][day + AHEAD],
                luck=numbers[at],
                back=back[lift],
                wrong_unit=bool(plan.random() < world.wrong_unit_rate) and world.slips,
            )
        )
        counts[lift] += 1
    if world.tests:
        _with_tests(who)


def _with_tests(who: Lifter) -> None:
    """A tested max about every fifth week: the first session of a lift after each 35 days becomes a test."""
    for lift in range(3):
        own = [session for session in who.sessions if session.lift == lift]
        for before, after in pairwise(own):
            if before.day // 35 != after.day // 35:
                after.test = True
                after.asked = replace(after.asked, reps=1, rpe=10.0, sets=0)
