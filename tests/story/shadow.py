"""A lifter's shadow: the slow model with matrices, told the same sets, so that a story knows what should come.

It stands on `tests.core.model.plain`, which was written from the model's description alone; nothing of the product is
asked. What one lift says of another is worked out here, with matrices too. Loads are effective kilograms, efforts RPE.
"""

from __future__ import annotations

import copy
from dataclasses import dataclass
from datetime import date
from typing import Literal, NamedTuple

import numpy as np
from scipy.stats import norm

from tests.core.model import plain, plain_learn, plain_outputs

CHANCES, CAREFUL_CHANCES = (0.20, 0.20), (0.15, 0.10)
"""How likely the limit may be passed in truth and in the report; the second where efforts are hardly ever said."""
BUILD_UP = 0.25
"""Fatigue that a build-up set is guessed to leave before it is done. [units]"""


class Range(NamedTuple):
    """An estimate with the range that holds in 8 of 10 cases. [kg]"""

    kg: float
    low: float
    high: float


class Said(NamedTuple):
    """A level, or what a day said of one: log kilograms and their variance."""

    at: float
    variance: float


@dataclass
class Line:
    """One lift of the shadow: its row, and how it hangs on another."""

    row: plain.Lift
    parent: str | None = None
    ratio: float = 0.0
    """Log of this lift's max divided by the parent's."""
    doubt: float = 0.0
    """Variance of that."""
    ratio_on: date | None = None
    here: int = 0
    there: int = 0
    before: Said | None = None
    """The level when the day's session began."""
    told: date | None = None
    """When a set last changed what is believed."""
    own: Said | None = None
    """The level after that day, before its kin spoke."""


class Shadow:
    """What is known of a lifter; days go forward only."""

    def __init__(self) -> None:
        self.athlete = plain.Athlete()
        self.lines: dict[str, Line] = {}
        self.on = date.min
        self.over = True

    # What is known before the log.

    def known(self, lift: str, kg: float | None = None, *, tested: bool = False, group: float = 0.0) -> None:
        """A lift with its curve group; `tested`: its max was within the last 56 days."""
        self.lines[lift] = Line(plain.new_lift(kg, tested=tested, group=group))

    def variation(self, lift: str, parent: str, ratio: float, *, group: float = 0.0, sd: float = 0.05) -> None:
        """A lift without a max of its own that is based on another."""
        line = Line(plain.new_lift(None, group=group), parent, float(np.log(ratio)), sd**2)
        self.lines[lift] = line

    # What happens.

    def day(self, on: str) -> None:
        """A day begins; the one before is over, and its lifts have told their kin."""
        new = date.fromisoformat(on)
        if new == self.on:
            return
        assert new > self.on
        if not self.over:
            self._end()
        self.on, self.over = new, True

    def did(
        self, lift: str, kg: float, reps: int, rpe: float | None = None, *, felt: str | None = None,
        failed: bool = False, counts: Literal["all", "fatigue", "nothing"] = "all", confirmed: bool = False,
    ) -> str:  # fmt: skip
        """A set; what the model did with it. `confirmed`: the load is right, however far off."""
        self.over, line = False, self.lines[lift]
        self._start(lift)
        if line.row.day != self.on:
            plain.opened(line.row, self.athlete, self.on)
            line.before = None if line.row.yref is None else level(line.row)
        reference = line.row.yref
        entry = plain.Entry(kg, reps, rpe, felt, failed, counts, confirmed)
        status = plain_learn.learn(self.athlete, line.row, entry, self.on).status
        if line.row.yref is not None and line.row.yref != reference:
            sd = 0.2 if reference is None else 0.15
            line.before = Said(line.row.yref, (sd / plain_outputs.divisor(line.row)) ** 2)
        if status in ("used", "re_anchored"):
            line.told = self.on
        return status

    def warmed_up(self, lift: str, *sets: tuple[float, int]) -> None:
        """Warm-ups: load and repetitions of each. They teach nothing and tire a little."""
        for kg, reps in sets:
            self.did(lift, kg, reps, counts="fatigue")

    # What should come.

    def row(self, lift: str) -> plain.Lift:
        """A lift as it is before its next set; a copy."""
        other = copy.deepcopy(self)
        other._start(lift)
        row = other.lines[lift].row
        plain.opened(row, other.athlete, other.on)
        return row

    def load(self, lift: str, reps: float, rpe: float, *, build_ups: int = 0) -> float:
        """Where the effort is expected to be reported, without limits, that many build-up sets ahead. [kg]"""
        row = self.row(lift)
        row.fatigue += BUILD_UP * build_ups
        return plain_outputs.load(row, reps, rpe)[0]

    def limits(self, lift: str, reps: float, rpe: float, limit: float = 9.5) -> tuple[float, float]:
        """The most by the chance that the limit is passed in truth, and by the one in the report. [kg]"""
        row = self.row(lift)
        in_truth, in_the_report = CHANCES if self.athlete.rate >= 0.25 else CAREFUL_CHANCES
        n = reps + 10 - min(10, max(limit, rpe + 1))
        true, report = plain_outputs.true_u(row, n), plain_outputs.report_u(row, n, reps)
        true -= norm.isf(in_truth) * _spread(row, plain.true_row(row, true, n))
        report -= norm.isf(in_the_report) * _spread(row, plain.reported_row(row, report, n))
        return float(np.exp(row.yref + true)), float(np.exp(row.yref + report))

    def bounded(self, lift: str, reps: float, rpe: float, limit: float = 9.5) -> float:
        """The load of a set about to be lifted: the least of the three. [kg]"""
        return min(self.load(lift, reps, rpe), *self.limits(lift, reps, rpe, limit))

    def expected(self, lift: str, kg: float, reps: float, *, units: float = 0.0) -> float:
        """How hard a set should be, after so much more fatigue. [RPE]"""
        row = self.row(lift)
        row.fatigue += units
        return plain.expected_report(row, kg, reps)[0]

    def rolling(self, lift: str) -> Range:
        """The estimated max."""
        return Range(*plain_outputs.estimated_max(self.row(lift), self.athlete.rate))

    def today(self, lift: str) -> Range:
        """The day's max."""
        return Range(*plain_outputs.day_capacity(self.row(lift)))

    def share(self, lift: str, kg: float) -> tuple[float, float]:
        """The range of a planned load: that of the day's max, times the load's share of it. [kg]"""
        day = self.today(lift)
        return kg * day.low / day.kg, kg * day.high / day.kg

    # One lift and another.

    def _start(self, lift: str) -> None:
        """A variation of which nothing is known starts from its parent."""
        line = self.lines[lift]
        if line.row.yref is not None or line.parent is None:
            return
        parent = self.row(line.parent)
        if parent.yref is None:
            return
        plain.opened(line.row, self.athlete, self.on)
        said = level(parent)
        line.row.yref = said.at + line.ratio
        line.row.m[0] = 0
        line.row.cov[0, :] = line.row.cov[:, 0] = 0
        line.row.cov[0, 0] = plain_outputs.divisor(line.row) ** 2 * (said.variance + line.doubt)
        line.before = level(line.row)

    def _end(self) -> None:
        heard: dict[str, Said | None] = {}
        for name, line in self.lines.items():
            if line.told == self.on:
                line.own = level(line.row)
                heard[name] = None if line.before is None else evidence(line.before, line.own)
        for name, line in sorted(self.lines.items()):
            if line.parent is not None and (name in heard or line.parent in heard):
                self._pair(name, line, heard)

    def _pair(self, name: str, line: Line, heard: dict[str, Said | None]) -> None:
        assert line.parent is not None
        parent, here, there = self.lines[line.parent], name in heard, line.parent in heard
        line.here = (0 if there else line.here) + here
        line.there = (0 if here else line.there) + there
        up, down = heard.get(name), heard.get(line.parent)
        doubt = line.doubt + (0.002**2 * (self.on - line.ratio_on).days if line.ratio_on else 0)
        if up is not None and down is not None and min(line.row.used_ever, parent.row.used_ever) >= 3:
            off, total = up.at - down.at - line.ratio, doubt + up.variance + down.variance
            if off**2 <= 3.5**2 * total:
                line.ratio += doubt / total * off
                line.doubt = doubt = doubt * (1 - doubt / total)
                line.ratio_on = self.on
        if up is not None and self._rests(parent):
            self._inform(parent, Said(up.at - line.ratio, up.variance + line.here**2 * doubt))
        if down is not None and self._rests(line):
            self._inform(line, Said(down.at + line.ratio, down.variance + line.there**2 * doubt))

    def _rests(self, line: Line) -> bool:
        """A lift that was not trained for three weeks is told by its kin; one that was knows itself better."""
        return line.row.day != self.on if line.told is None else (self.on - line.told).days > 21

    def _inform(self, line: Line, said: Said) -> None:
        """The level of a lift is observed through another: a - factor x t = 0."""
        row = copy.deepcopy(line.row)
        if row.yref is None:
            return
        kept = row.fatigue, row.used_in_session, row.refused, row.flag
        plain.opened(row, self.athlete, self.on)
        t = said.at - row.yref
        c = np.array([1, -t, 0, 0, 0, 0, 0])
        total = c @ row.cov @ c + plain_outputs.divisor(row) ** 2 * said.variance
        z = abs(c @ row.m) / np.sqrt(total)
        if z > 3.5:
            return
        total *= max(1.0, z / 1.5)
        reach = row.cov @ c
        row.m = row.m - reach / total * (c @ row.m)
        row.cov = row.cov - np.outer(reach, reach) / total
        row.fatigue, row.used_in_session, row.refused, row.flag = kept
        plain.adopt(row, self.athlete)  # what belongs to the person is not told by one lift to another
        line.row = row


def _spread(row: plain.Lift, c: np.ndarray) -> float:
    """Standard deviation of a load on the bar, with what is left of the wobble from set to set. [log]"""
    return float(plain_outputs.spread(row, c, 0.01**2) / plain_outputs.divisor(row))


def level(row: plain.Lift) -> Said:
    """The level of a lift as a logarithm of kilograms, with its variance."""
    assert row.yref is not None
    t, s = plain_outputs.level(row)
    return Said(float(row.yref + t), float(s**2))


def evidence(before: Said, after: Said) -> Said | None:
    """What was said between two beliefs; None where it is less than a hundredth of what was known."""
    precision = 1 / after.variance - 1 / before.variance
    if precision * before.variance < 0.01:
        return None
    return Said((after.at / after.variance - before.at / before.variance) / precision, 1 / precision)
