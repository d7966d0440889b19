"""What the plain model says: the outputs, on a lift that was opened for the day. Kilograms, RPE points."""

import numpy as np
from scipy.stats import norm

from tests.core.model import plain, plain_learn
from tests.core.model.plain import GAMMA, KAPPA, PHI, A, D, bend, bias, centre, curve, log_load, slope

Z80 = 1.2815515655
Z95 = 1.959964


def divisor(lift):
    return max(0.3, lift.m[GAMMA])


def spread(lift, c, more=0.0):
    return np.sqrt(c @ lift.cov @ c + more)


def span(lift, t, s, z=Z80):
    """(value, lower, upper) in kilograms; of a bound the upper end is far above."""
    above = 0.5 if lift.at_least else s
    return tuple(float(np.exp(lift.yref + x)) for x in (t, t - z * s, t + z * above))


def level(lift):
    """t and s₁ of the estimated max."""
    t = lift.m[A] / divisor(lift)
    return t, spread(lift, np.array([1, -t, 0, 0, 0, 0, 0])) / divisor(lift)


def widening(rate):
    return 1.07 * (1.3 if rate < 0.25 else 1)


def estimated_max(lift, rate, z=Z80):
    t, s = level(lift)
    return span(lift, t, widening(rate) * s, z)


def day_capacity(lift):
    t = (lift.m[A] + lift.m[D]) / divisor(lift)
    return span(lift, t, spread(lift, np.array([1, -t, 1, 0, 0, 0, 0])) / divisor(lift))


def forecast(lift, rate, days):
    """With no day ahead it is the estimated max."""
    t, s = level(lift)
    return span(lift, t + 0.0002 * days, widening(rate) * np.sqrt(s**2 + 0.005**2 * days))


def report_u(lift, n, reps):
    """U_rep: where n repetitions are expected to be reported as possible."""
    top = lift.m[A] + lift.m[D] - lift.m[PHI] * lift.fatigue
    return (top - curve(n) - lift.m[KAPPA] * bend(n) - slope(n) * bias(lift, n, reps)) / divisor(lift)


def true_u(lift, n):
    """U_true: where n repetitions are possible in truth."""
    top = lift.m[A] + lift.m[D] - lift.m[PHI] * lift.fatigue
    return (top - curve(n) - lift.m[KAPPA] * bend(n)) / divisor(lift)


def allowed(rate):
    """Chances to pass the limit, in truth and in the report, by the share of rated sets."""
    return (0.15, 0.10) if rate < 0.25 else (0.20, 0.20)


def load(lift, reps, rpe, limit=9.5, chances=(0.20, 0.20)):
    """Loads [kg]: the aim without limits, the limit of the true effort, that of the report."""
    in_truth, in_report = norm.isf(chances)
    free = report_u(lift, reps + 10 - rpe, reps)
    n = reps + 10 - min(10, max(limit, rpe + 1))
    u = true_u(lift, n)
    true = u - in_truth * spread(lift, plain.true_row(lift, u, n), 0.01**2) / divisor(lift)
    u = report_u(lift, n, reps)
    report = u - in_report * spread(lift, plain.reported_row(lift, u, n), 0.01**2) / divisor(lift)
    return tuple(float(np.exp(lift.yref + x)) for x in (free, true, report))


def expected_rpe(lift, kg, reps, v):
    rpe, s = plain.expected_report(lift, kg, reps)
    return rpe, rpe - Z80 * np.sqrt(v) * s, rpe + Z80 * np.sqrt(v) * s


def chance_of_single(lift, kg):
    c = np.array([1, -log_load(lift, kg), 1, -lift.fatigue, 0, 0, 0])
    return float(norm.cdf(c @ lift.m / spread(lift, c, 0.01**2)))


def chance_to_pass(lift, kg, reps, rpe):
    """Chances that an effort is passed: as reported, in truth."""
    n = reps + 10 - rpe
    u = log_load(lift, kg)
    true = curve(n) - centre(lift, u) + lift.m[KAPPA] * bend(n)
    report = true + slope(n) * bias(lift, n, reps)
    return (
        float(norm.cdf(report / spread(lift, plain.reported_row(lift, u, n), 0.01**2))),
        float(norm.cdf(true / spread(lift, plain.true_row(lift, u, n), 0.01**2))),
    )


def follow_ups(lift, reps, count, kg=None, rpe=None, ceiling=9, chances=(0.20, 0.20)):
    """[(load, expected RPE)] of sets at a load, or at an effort; the lift is left as it was."""
    before = lift.fatigue
    sets = []
    for _ in range(count):
        wanted = kg if rpe is None else min(load(lift, reps, rpe, chances=chances))
        done = min(wanted, *load(lift, reps, ceiling, chances=chances))
        effort = min(10.0, plain.expected_report(lift, done, reps)[0])
        sets.append((done, effort))
        plain_learn.tire(lift, 10 - effort)
    lift.fatigue = before
    return sets


def listed_load(lift, reps, left):
    """A typical day, fresh."""
    n = reps + left
    rest = lift.m[A] - curve(n) - lift.m[KAPPA] * bend(n) - slope(n) * bias(lift, n, reps)
    return float(np.exp(lift.yref + rest / divisor(lift)))
