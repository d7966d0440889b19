"""The athlete's model once more: slow, obvious, with matrices, written from its description and not from the product.

The state of a lift is (level a, curve factor γ, day d, fatigue loss φ, bend κ, bias b, person η); the person's
is (b, η). Everything is changed in place. Loads in kilograms, all logarithms natural.
"""

from dataclasses import dataclass, field
from datetime import date

import numpy as np

A, GAMMA, D, PHI, KAPPA, B, ETA = range(7)
SHARED = [B, ETA]


# The repetitions curve.


def curve(n):
    """g: minus the log of the share of the max that can be lifted n times."""
    return 0.4 * np.log(1 + 0.116 * (n - 1))


def slope(n):
    """g′: the log load that one repetition is worth."""
    return 0.4 * 0.116 / (1 + 0.116 * (n - 1))


def repetitions(x):
    """g⁻¹."""
    return 1 + (np.exp(x / 0.4) - 1) / 0.116


def bend(n):
    """h: zero at one repetition and near nine, held from fifteen on."""
    g = curve(np.clip(n, 0.5, 15))
    return g * (g - 0.25)


def fatigue_unit(left):
    """Units of fatigue of a set that left so many repetitions."""
    return 2 ** (-(np.clip(left, 0, 8) - 2) / 1.5)


# What is known of an athlete and of a lift.


@dataclass
class Entry:
    """A set as the model hears it."""

    kg: float
    reps: int
    rpe: float | None = None
    felt: str | None = None
    failed: bool = False
    counts: str = "all"
    confirmed: bool = False
    excluded: bool = False


@dataclass
class Athlete:
    mean: np.ndarray = field(default_factory=lambda: np.array([0.2, 0.0]))
    cov: np.ndarray = field(default_factory=lambda: np.diag([0.5**2, 0.11**2]))
    rate: float = 0.5
    v: float = 1.0
    n_v: int = 0


@dataclass
class Lift:
    m: np.ndarray
    cov: np.ndarray
    yref: float | None = None
    day: date | None = None
    fatigue: float = 0.0
    used_in_session: int = 0
    used_ever: int = 0
    refused: list = field(default_factory=list)
    flag: float | None = None
    at_least: bool = False


@dataclass
class Evidence:
    """What one set says: the row c, the surprise e, the noise R, and where the curve was taken."""

    c: np.ndarray
    e: float
    noise: float
    star: float
    n: float


def new_lift(kg=None, *, tested=False, group=0.0):
    spread = 0.2 if kg is None else 0.05 if tested else 0.1
    cov = np.diag([spread**2, 0.09**2 + 0.11**2, 0.025**2, 0.005**2, 0.5**2, 0.5**2, 0.11**2])
    cov[GAMMA, ETA] = cov[ETA, GAMMA] = 0.11**2
    mean = np.array([0.0, 1 + group, 0.0, 0.006, 0.0, 0.2, 0.0])
    return Lift(mean, cov, yref=None if kg is None else float(np.log(kg)))


# The passing of time, and what the lifts share.


def begin(lift, on):
    """The first set of a session on another date: the old session is closed and the state moves on."""
    if lift.day is not None and on != lift.day:
        days = max(1, (on - lift.day).days)
        closed = lift.used_in_session == 0 and len(lift.refused) >= 2
        lift.flag = float(np.mean(lift.refused[-8:])) if closed else None
        lift.m[D] = 0
        lift.cov[D, :] = 0
        lift.cov[:, D] = 0
        lift.cov[D, D] = 0.025**2
        lift.m[A] += 0.0002 * min(days, 14)
        lift.cov[A, A] += 0.005**2 * days
        if days >= 120:
            lift.cov[A, A] = max(lift.cov[A, A], 0.1**2)
        lift.fatigue = 0.0
        lift.used_in_session = 0
        lift.refused = []
    lift.day = on


def adopt(lift, athlete):
    """The marginal of (b, η) is replaced; the rest follows through its regression on them."""
    block = lift.cov[np.ix_(SHARED, SHARED)]
    gain = lift.cov[:, SHARED] @ np.linalg.inv(block)
    gain[SHARED] = np.eye(2)
    lift.m = lift.m + gain @ (athlete.mean - lift.m[SHARED])
    cov = lift.cov + gain @ (athlete.cov - block) @ gain.T
    lift.cov = (cov + cov.T) / 2


def give_back(lift, athlete):
    athlete.mean = lift.m[SHARED].copy()
    athlete.cov = lift.cov[np.ix_(SHARED, SHARED)].copy()


def opened(lift, athlete, on):
    begin(lift, on)
    adopt(lift, athlete)


# What a set says.


def log_load(lift, kg):
    return float(np.log(kg)) - lift.yref


def centre(lift, u):
    """μ."""
    m = lift.m
    return m[A] + m[D] - m[GAMMA] * u - m[PHI] * lift.fatigue


def bias(lift, n, reps):
    return lift.m[B] + 0.1 * max(0.0, n - reps - 1)


def predicted(lift, kg, reps):
    """n_pred: repetitions that are expected to be reported as possible; exactly four rounds."""
    base = centre(lift, log_load(lift, kg))
    n = np.clip(repetitions(np.clip(base, -0.3, 2.2)), 0.3, 40)
    for _ in range(4):
        x = base - slope(n) * bias(lift, n, reps) - lift.m[KAPPA] * bend(n)
        n = np.clip(repetitions(np.clip(x, -0.3, 2.2)), 0.3, 40)
    return float(n)


def reported_row(lift, u, n):
    return np.array([1, -u, 1, -lift.fatigue, -bend(n), -slope(n), 0])


def true_row(lift, u, n):
    return np.array([1, -u, 1, -lift.fatigue, -bend(n), 0, 0])


def report_noise(n, left, least=0.5):
    return (slope(n) * (least + 0.25 * left)) ** 2 + 0.01**2


def possible(entry, rpe):
    """n: repetitions that the set says were possible."""
    if entry.failed:
        return min(entry.reps + 0.3, 30) if entry.reps else 1.0
    return min(entry.reps + (0 if rpe is None else 10 - rpe), 30)


def evidence(lift, entry, rpe, star=None):
    """c, e and R. `star` names where to linearise; without it, where the report was expected."""
    u = log_load(lift, entry.kg)
    n = possible(entry, rpe)
    if not entry.failed and rpe is not None:
        if star is None:
            star = np.clip(np.clip(predicted(lift, entry.kg, entry.reps), n - 3, n + 3), 1, 30)
        c = reported_row(lift, u, star)
        e = curve(n) - centre(lift, u) + lift.m[KAPPA] * bend(star) + slope(star) * bias(lift, star, entry.reps)
        noise = report_noise(star, max(0, star - entry.reps), 0.5 if entry.felt is None else 1.0)
        return Evidence(c, float(e), float(noise), float(star), n)
    c = true_row(lift, u, n)
    e = curve(n) - centre(lift, u) + lift.m[KAPPA] * bend(n)
    noise = (slope(n) * (0.4 if entry.failed else 1.5)) ** 2 + 0.01**2
    return Evidence(c, float(e), float(noise), n, n)


def expected_report(lift, kg, reps):
    """The expected RPE, not limited, and its standard deviation without the factor √v."""
    n = predicted(lift, kg, reps)
    c = reported_row(lift, log_load(lift, kg), n)
    noise = report_noise(n, max(0, n - reps))
    return 10 - (n - reps), float(np.sqrt(c @ lift.cov @ c + 0.6**2 * noise) / slope(n))
