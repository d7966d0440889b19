"""All that was told of an athlete, solved at once: one Gaussian over everything that never changes.

The unknowns are the athlete's bias and part of the curve factor, and for each lift its level at the start, its own
part of the curve factor, fatigue and bend, then a step of the level for each time that passed (or where the level was
believed less), and a readiness for each session. A row's state is a sum of some of them.
"""

import numpy as np
from scipy.linalg import qr, solve_triangular

from tests.core.model.plain import A, D


class Joint:
    def __init__(self):
        self.prior = []
        """(mean, standard deviation) of each unknown."""
        self.made_of = {}
        """Lift -> (7 dicts: unknown -> weight, 7 constants): what the lift's state is made of now."""
        self.told = []
        """(dict: unknown -> weight, value, standard deviation)."""
        self.athlete = (self.unknown(0.2, 0.5), self.unknown(0, 0.11))

    def unknown(self, mean, sd):
        self.prior.append((mean, sd))
        return len(self.prior) - 1

    def new_lift(self, name, spread, group):
        bias, person = self.athlete
        parts = [
            {self.unknown(0, spread): 1.0},
            {person: 1.0, self.unknown(1 + group, 0.09): 1.0},
            {self.unknown(0, 0.025): 1.0},
            {self.unknown(0.006, 0.005): 1.0},
            {self.unknown(0, 0.5): 1.0},
            {bias: 1.0},
            {person: 1.0},
        ]
        self.made_of[name] = parts

    def step_level(self, name, mean, variance):
        self.made_of[name][A][self.unknown(mean, np.sqrt(variance))] = 1.0

    def pass_days(self, name, days):
        self.step_level(name, 0.0002 * min(days, 14), 0.005**2 * days)
        self.made_of[name][D] = {self.unknown(0, 0.025): 1.0}

    def tell(self, name, c, value, variance):
        row = {}
        for weight, parts in zip(c, self.made_of[name], strict=True):
            for unknown, part in parts.items():
                row[unknown] = row.get(unknown, 0.0) + weight * part
        self.told.append((row, value, np.sqrt(variance)))

    def solve(self):
        """Name -> (7 means, 7 x 7 covariance), by least squares on everything, each row over its deviation."""
        count = len(self.prior)
        rows = np.zeros((count + len(self.told), count))
        values = np.zeros(len(rows))
        for unknown, (mean, sd) in enumerate(self.prior):
            rows[unknown, unknown] = 1 / sd
            values[unknown] = mean / sd
        for number, (row, value, sd) in enumerate(self.told, start=count):
            for unknown, weight in row.items():
                rows[number, unknown] = weight / sd
            values[number] = value / sd
        turned, triangle = qr(rows, mode="economic")
        means = solve_triangular(triangle, turned.T @ values)
        found = {}
        for name, parts in self.made_of.items():
            state = np.zeros((7, count))
            for number, part in enumerate(parts):
                for unknown, weight in part.items():
                    state[number, unknown] = weight
            root = solve_triangular(triangle, state.T, trans="T")
            found[name] = state @ means, root.T @ root
        return found
