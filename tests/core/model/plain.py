"""The athlete's model once more: slow, obvious, with matrices, written from its description and not from the product.

The state of a lift is (level a, curve factor γ, day d, fatigue loss φ, bend κ, bias b, person η); the person's
is (b, η). Everything is changed in place. Loads in kilograms, all logarithms natural.
"""

from dataclasses import dataclass, field
from datetime import date

import numpy as np
from scipy.stats import norm

A, GAMMA, D, PHI, KAPPA, B, ETA = range(7)
SHARED = [B, ETA]
POUNDS = 2.2046226
SLIPS = {
    "pounds_as_kilograms": POUNDS,
    "kilograms_as_pounds": 1 / POUNDS,
    "digit_too_many": 10.0,
    "digit_too_few": 0.1,
}


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


@dataclass
class Evidence:
    """What one set says: the row c, the surprise e, the noise R, and where the curve was taken."""

    c: np.ndarray
    e: float
    noise: float
    star: float
    n: float


@dataclass
class Result:
    """What a set did. `told` is the evidence as it was used at last, None where a bound or nothing was learned."""

    status: str
    told: Evidence | None = None
    widened: float = 0.0
    off: float | None = None


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


# Learning.


def allowed(m):
    return 0.5 <= m[GAMMA] <= 2


def measure(lift, said):
    """Gate, early widening, down-weighting, update, clamp. None: refused."""
    spread = said.c @ lift.cov @ said.c + said.noise
    if abs(said.e) / np.sqrt(spread) > 3.5 and abs(said.e) > 0.12:
        return None
    cov = lift.cov.copy()
    widened = 0.0
    if lift.used_ever < 10 and abs(said.e) / np.sqrt(spread) > 1.75:
        widened = min(said.e**2 / 1.75**2 - spread, 0.15**2)
        cov[A, A] += widened
        spread = said.c @ cov @ said.c + said.noise
    z = abs(said.e) / np.sqrt(spread)
    noise = said.noise
    if z > 1.5:
        noise += spread * (z / 1.5 - 1)
        spread += spread * (z / 1.5 - 1)
    reach = cov @ said.c
    m = lift.m + reach / spread * said.e
    if not allowed(m):
        return None
    cov = cov - np.outer(reach, reach) / spread
    lift.m, lift.cov = m, (cov + cov.T) / 2
    return Result("used", Evidence(said.c, said.e, float(noise), said.star, said.n), float(widened))


def bound(lift, said, sign, *, partly=False):
    """At least (+1) or at most (-1) so many repetitions, by matching moments."""
    spread = said.c @ lift.cov @ said.c + said.noise
    root = np.sqrt(spread)
    z = max(-6.0, -sign * said.e / root)
    k = norm.pdf(z) / max(norm.cdf(z), 1e-12)
    if k < 1e-10:
        return
    part = 1.0
    if partly:
        part = 1 - np.exp(-16 * said.e / root)
        step = k * root * part
        most = said.e + 1.5 * slope(said.star)
        if step > most:
            part *= most / step
    reach = lift.cov @ said.c
    m = lift.m + part * sign * reach / root * k
    if allowed(m):
        cov = lift.cov - part * np.outer(reach, reach) / spread * k * (k + z)
        lift.m, lift.cov = m, (cov + cov.T) / 2


def hear_report(lift, entry, rpe):
    said = evidence(lift, entry, rpe)
    if rpe > 7:
        return measure(lift, said)
    z = said.e / np.sqrt(said.c @ lift.cov @ said.c + said.noise)
    if abs(said.e) > 0.12 and (z > 3.5 or said.e < -0.5):
        return None
    if said.e > 0:
        bound(lift, said, +1, partly=True)
        return Result("used")
    if rpe > 6:
        return measure(lift, said)
    return Result("used")


def hear_failure(lift, entry):
    said = evidence(lift, entry, None)
    if entry.reps >= 1:
        return measure(lift, said)
    bound(lift, said, -1)
    return Result("used")


def hear_unrated(lift, entry, rate):
    if rate >= 0.25:
        return Result("unrated")
    said = evidence(lift, entry, None)
    if abs(said.e) > 0.12 and said.e / np.sqrt(said.c @ lift.cov @ said.c + said.noise) > 3.5:
        return None
    bound(lift, said, +1)
    return Result("used")


def hear(lift, entry, rpe, rate):
    """What the set teaches; None if it is to be refused."""
    if entry.failed:
        return hear_failure(lift, entry)
    if rpe is None:
        return hear_unrated(lift, entry, rate)
    return hear_report(lift, entry, rpe)


# Refusals, re-anchoring, slips.


def off_by(lift, entry, rpe):
    """e₀: the mismatch in curve units."""
    return float(curve(possible(entry, rpe)) - centre(lift, log_load(lift, entry.kg)))


def agrees(lift, off):
    """Whether a set that would be refused agrees with those refused before it."""
    if lift.used_in_session == 0 and lift.flag is not None and abs(off - lift.flag) < 0.25:
        return True
    return bool(lift.used_ever <= 1 and lift.refused and abs(off - np.mean(lift.refused[-8:])) < 0.25)


def anchor(lift, entry, rpe):
    lift.yref = float(np.log(entry.kg) + curve(possible(entry, rpe)))
    lift.m[A] = lift.m[D] = 0
    lift.cov[A, :] = 0
    lift.cov[:, A] = 0
    lift.cov[A, A] = 0.15**2


def explain(lift, entry):
    """The slip that explains a refused set, and all the z: name -> z."""
    rpe = heard_rpe(lift, entry)
    n = possible(entry, rpe)
    zs, best = {}, None
    for name, factor in {"as typed": 1.0, **SLIPS}.items():
        put_right = Entry(entry.kg / factor, entry.reps, entry.rpe, entry.felt, entry.failed)
        said = evidence(lift, put_right, rpe, star=n)
        zs[name] = said.e / np.sqrt(said.c @ lift.cov @ said.c + said.noise)
        if (
            name in SLIPS
            and abs(zs[name]) < 2
            and abs(said.e) < 0.15
            and (best is None or abs(zs[name]) < abs(zs[best]))
        ):
            best = name
    return best, zs


# A whole set.


def expected_report(lift, kg, reps):
    """The expected RPE, not limited, and its standard deviation without the factor √v."""
    n = predicted(lift, kg, reps)
    c = reported_row(lift, log_load(lift, kg), n)
    noise = report_noise(n, max(0, n - reps))
    return 10 - (n - reps), float(np.sqrt(c @ lift.cov @ c + 0.6**2 * noise) / slope(n))


def heard_rpe(lift, entry):
    """The RPE that the set is heard with; a word is turned into one; None if it is not rated."""
    if entry.failed:
        return None
    if entry.felt is None:
        return entry.rpe
    if lift.yref is None:
        return None
    expected = np.clip(expected_report(lift, entry.kg, entry.reps)[0], 4, 10)
    return float(round(2 * expected) / 2 + {"lighter": -1, "as_expected": 0, "heavier": 1}[entry.felt])


def tire(lift, left):
    lift.fatigue += float(fatigue_unit(left))


def only_tire(lift, entry, rpe):
    """A set from which nothing is to be learned."""
    if entry.excluded:
        tire(lift, 0 if entry.failed else 2 if rpe is None else 10 - rpe)
    elif lift.yref is None:
        lift.fatigue += 1
    else:
        tire(lift, predicted(lift, entry.kg, entry.reps) - entry.reps)
    return Result("unrated")


def learn(athlete, lift, entry, on):
    """One logged set."""
    opened(lift, athlete, on)
    if entry.counts == "nothing":
        return Result("unrated")
    rpe = heard_rpe(lift, entry)
    if entry.excluded or entry.counts == "fatigue":
        return only_tire(lift, entry, rpe)
    if not entry.failed:
        athlete.rate += 0.05 * ((1 if rpe is not None else 0) - athlete.rate)
    had_row = lift.yref is not None
    if not had_row:
        if rpe is None and not entry.failed:
            lift.fatigue += 1
            return Result("ignored")
        n = min(max(entry.reps, 1), 30) if entry.failed else possible(entry, rpe)
        lift.yref = float(np.log(entry.kg) + curve(n))
    expected, s = expected_report(lift, entry.kg, entry.reps)
    left = expected_left(lift, entry) if rpe is None else 10 - rpe
    result = hear(lift, entry, rpe, athlete.rate)
    if result is None:
        off = off_by(lift, entry, rpe)
        if not (entry.confirmed or agrees(lift, off)):
            lift.refused.append(off)
            tire(lift, 0 if entry.failed else 2 if rpe is None else 10 - rpe)
            return Result("refused", off=off)
        anchor(lift, entry, rpe)
        left = expected_left(lift, entry) if rpe is None else 10 - rpe
        result = hear(lift, entry, rpe, athlete.rate) or Result("used")
        result.status, result.off = "re_anchored", off
        lift.refused, lift.flag = [], None
    elif had_row and rpe is not None and rpe > 6 and entry.felt is None:
        z = (rpe - min(expected, 10)) / s
        athlete.n_v = min(athlete.n_v + 1, 200)
        athlete.v += (min(z**2, 9) - athlete.v) / (20 + athlete.n_v)
    tire(lift, left)
    if result.status == "re_anchored" or entry.failed or rpe is not None:
        lift.used_in_session += 1
        lift.used_ever += 1
    give_back(lift, athlete)
    return result


def expected_left(lift, entry):
    return 0.0 if entry.failed else predicted(lift, entry.kg, entry.reps) - entry.reps
