"""What one logged set does to the plain model: learning, refusals, slips, re-anchoring."""

from dataclasses import dataclass

import numpy as np
from scipy.stats import norm

from tests.core.model.plain import (
    GAMMA,
    KAPPA,
    PHI,
    A,
    B,
    D,
    Entry,
    Evidence,
    bend,
    centre,
    curve,
    evidence,
    expected_report,
    fatigue_unit,
    give_back,
    log_load,
    opened,
    possible,
    predicted,
    slope,
)

POUNDS = 2.2046226
SLIPS = {
    "pounds_as_kilograms": POUNDS,
    "kilograms_as_pounds": 1 / POUNDS,
    "digit_too_many": 10.0,
    "digit_too_few": 0.1,
}


@dataclass
class Result:
    """What a set did. `told` is the evidence as it was used at last, None where a bound or nothing was learned."""

    status: str
    told: Evidence | None = None
    widened: float = 0.0
    off: float | None = None
    held: bool = False
    left: float = 0.0


def allowed(m):
    return 0.5 <= m[GAMMA] <= 2


def keeps_the_max(before, after, cov, step):
    """The means, told once more: that level - t factor is still 0, without any doubt; t is the log max before.

    Only where what the set was expected to show went one way (the sign of `step`) and the log max the other.
    """
    t = before[A] / before[GAMMA]
    if np.sign(after[A] / after[GAMMA] - t) * np.sign(step) >= 0:
        return after
    q = np.zeros(7)
    q[A], q[GAMMA] = 1, -t
    return after + cov @ q / (q @ cov @ q) * (0 - q @ after)


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
    cov = cov - np.outer(reach, reach) / spread
    free = lift.m + reach / spread * said.e
    m = keeps_the_max(lift.m, free, cov, said.e)
    if not allowed(m):
        return None
    lift.m, lift.cov = m, (cov + cov.T) / 2
    told = Evidence(said.c, said.e, float(noise), said.star, said.n)
    return Result("used", told, float(widened), held=m is not free)


def bound(lift, said, sign, *, partly=False):
    """At least (+1) or at most (-1) so many repetitions, by matching moments."""
    spread = said.c @ lift.cov @ said.c + said.noise
    root = np.sqrt(spread)
    z = max(-6.0, -sign * said.e / root)
    k = norm.pdf(z) / max(norm.cdf(z), 1e-12)
    if k < 1e-10:
        return Result("used")
    part = 1.0
    if partly:
        part = 1 - np.exp(-16 * said.e / root)
        step = k * root * part
        most = said.e + 1.5 * slope(said.star)
        if step > most:
            part *= most / step
    reach = lift.cov @ said.c
    cov = lift.cov - part * np.outer(reach, reach) / spread * k * (k + z)
    free = lift.m + part * sign * reach / root * k
    m = keeps_the_max(lift.m, free, cov, sign)
    if not allowed(m):
        return Result("ignored")
    lift.m, lift.cov = m, (cov + cov.T) / 2
    return Result("used", held=m is not free)


def hear_report(lift, entry, rpe):
    said = evidence(lift, entry, rpe)
    if rpe > 7:
        return measure(lift, said)
    z = said.e / np.sqrt(said.c @ lift.cov @ said.c + said.noise)
    if said.e > 0.12 and z > 3.5:
        return None
    if said.e > 0:
        return bound(lift, said, +1, partly=True)
    if rpe > 6:
        return measure(lift, said)
    return Result("used" if said.e >= -0.5 else "ignored")


def hear_failure(lift, entry):
    said = evidence(lift, entry, None)
    if entry.reps >= 1:
        return measure(lift, said)
    return bound(lift, said, -1)


def hear_unrated(lift, entry, rate):
    if rate >= 0.25:
        return Result("unrated")
    said = evidence(lift, entry, None)
    if abs(said.e) > 0.12 and said.e / np.sqrt(said.c @ lift.cov @ said.c + said.noise) > 3.5:
        return None
    return bound(lift, said, +1)


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


def begins_anew(lift, entry, off, rate):
    """Whether a set that would be refused is where the level is from now on."""
    last_session = lift.used_in_session == 0 and lift.flag is not None and abs(off - lift.flag) < 0.25
    this_session = bool(lift.refused) and abs(off - np.mean(lift.refused[-8:])) < 0.25
    a_slip = explain(lift, entry)[0] is not None
    said_to_be_right = entry.confirmed and (this_session or not a_slip)
    only_just_begun = rate >= 0.25 and (lift.used_ever == 1 or (lift.used_ever == 0 and not a_slip))
    return bool(last_session or said_to_be_right or (this_session and only_just_begun))


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


def easy(entry, rpe):
    """Four or more were left, or nothing was said: no more than that so many repetitions are possible."""
    return not entry.failed and (rpe is None or rpe <= 6)


def find(lift, entry, rpe):
    """The level as one set has it: a bound of it, or its neighbourhood."""
    was_a_bound = lift.at_least
    lift.at_least = easy(entry, rpe)
    if lift.at_least or was_a_bound:
        # so that the set is just as expected: g(n) = d - γ (ln kg - yref) - φ F - κ h(n) - g'(n) (b + 0.1 further left)
        n = possible(entry, rpe)
        told = 0.0 if rpe is None else slope(n) * (lift.m[B] + 0.1 * max(0, n - entry.reps - 1))
        lift.yref = float(
            np.log(entry.kg)
            + (curve(n) + lift.m[KAPPA] * bend(n) + told + lift.m[PHI] * lift.fatigue - lift.m[D]) / lift.m[GAMMA]
        )
        lift.m[A] = 0
        lift.cov[A, A] = 0.05**2 if lift.at_least else 0.2**2
        lift.used_ever = lift.used_ever if lift.at_least else 0
        lift.refused, lift.flag = [], None
    else:
        n = min(max(entry.reps, 1), 30) if entry.failed else possible(entry, rpe)
        lift.yref = float(np.log(entry.kg) + curve(n))


def log_max(lift):
    return lift.yref + lift.m[A] / lift.m[GAMMA]


def hear_beside_a_bound(lift, entry, rpe, rate):
    """A set of a lift of which only easy sets are known."""
    if rpe is None and not entry.failed and rate >= 0.25:
        return Result("unrated")
    said = evidence(lift, entry, rpe)
    spread = said.c @ lift.cov @ said.c + 0.2**2 + said.noise
    if (easy(entry, rpe) and said.e <= 0) or (entry.failed and entry.reps == 0 and said.e >= 0):
        return Result("used" if abs(said.e) <= 0.5 else "ignored")
    if abs(said.e) > 0.12 and abs(said.e) / np.sqrt(spread) > 3.5:
        return None
    before = log_max(lift)
    find(lift, entry, rpe)
    result = Result("used") if lift.at_least else hear(lift, entry, rpe, rate) or Result("used")
    if np.sign(log_max(lift) - before) * np.sign(said.e) < 0:
        lift.m[A] = lift.m[GAMMA] * (before - lift.yref)
    return result


def heard_rpe(lift, entry):
    """The RPE that the set is heard with; a word is turned into one; None if it is not rated."""
    if entry.failed:
        return None
    if entry.felt is None:
        return entry.rpe
    if lift.yref is None:
        return None
    expected = np.clip(expected_report(lift, entry.kg, entry.reps)[0], 4, 10)
    if entry.felt == "as_expected":
        return float(expected)
    return float(min(10, round(2 * expected) / 2 + {"lighter": -1, "heavier": 1}[entry.felt]))


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


def heard_by(lift, entry, rpe, rate, had_row):
    """What the set teaches the lift as it is known; None if it is to be refused."""
    if not lift.at_least:
        return hear(lift, entry, rpe, rate)
    return hear_beside_a_bound(lift, entry, rpe, rate) if had_row else Result("used")


def anew(lift, entry, rpe, rate):
    """A refused set is where the level is from now on."""
    if lift.at_least:
        find(lift, entry, rpe)
    else:
        anchor(lift, entry, rpe)
    lift.refused, lift.flag = [], None
    left = expected_left(lift, entry)
    result = Result("used") if lift.at_least else hear(lift, entry, rpe, rate) or Result("used")
    result.left = left
    return result


def judge_reports(athlete, rpe, awaited):
    """How erratic the reports are, by one that is near enough to failure to tell."""
    if rpe is None or rpe <= 6:
        return
    expected, s = awaited
    z = (rpe - min(expected, 10)) / s
    athlete.n_v = min(athlete.n_v + 1, 200)
    athlete.v += (min(z**2, 9) - athlete.v) / (20 + athlete.n_v)


def learn(athlete, lift, entry, on):
    """One logged set."""
    opened(lift, athlete, on)
    if entry.counts == "nothing":
        return Result("unrated")
    rpe = heard_rpe(lift, entry)
    if entry.excluded or entry.counts == "fatigue":
        return only_tire(lift, entry, rpe)
    return taught(athlete, lift, entry, rpe)


def taught(athlete, lift, entry, rpe):
    """A set that may teach something."""
    if not entry.failed:
        judged = entry.rpe is not None or entry.felt is not None
        athlete.rate += 0.05 * ((1 if judged else 0) - athlete.rate)
    had_row = lift.yref is not None
    if not had_row:
        if rpe is None and not entry.failed:
            lift.fatigue += 1
            return Result("ignored")
        find(lift, entry, rpe)
    elif lift.at_least and entry.felt is not None and not entry.failed:
        return only_tire(lift, entry, rpe)
    expected, s = expected_report(lift, entry.kg, entry.reps)
    left = expected_left(lift, entry) if rpe is None else 10 - rpe
    was_a_bound = lift.at_least
    result = heard_by(lift, entry, rpe, athlete.rate, had_row)
    if result is None:
        off = off_by(lift, entry, rpe)
        if not begins_anew(lift, entry, off, athlete.rate):
            lift.refused.append(off)
            tire(lift, 0 if entry.failed else 2 if rpe is None else 10 - rpe)
            return Result("refused", off=off)
        result = anew(lift, entry, rpe, athlete.rate)
        left = left if was_a_bound or rpe is not None else result.left
        result.status, result.off = "re_anchored", off
    elif result.status == "used" and had_row and not was_a_bound and entry.felt is None:
        judge_reports(athlete, rpe, (expected, s))
    tire(lift, left)
    if result.status == "re_anchored" or (result.status == "used" and (entry.failed or rpe is not None)):
        lift.used_in_session += 1
        lift.used_ever += 1
    give_back(lift, athlete)
    return result


def expected_left(lift, entry):
    return 0.0 if entry.failed else predicted(lift, entry.kg, entry.reps) - entry.reps
