"""The closed loop: a lifter trains for sixteen weeks with the loads of a method, and what is measured on the way."""

from __future__ import annotations

from collections.abc import Callable
from math import exp, floor
from typing import Protocol

import numpy as np

from tests.simulation.lifters import AHEAD, Lifter, Session
from tests.simulation.lifting import Body, Done, cost, lift, rounded
from tests.simulation.methods import Leads, Method, Said

EARLY = 3
"""The first sessions of each lift are counted apart."""
MEASURES = (
    "error", "bias", "far_off", "covered", "forecast",
    "top_off", "top_bias", "top_reported_off", "top_hard", "top_light", "expected_off",
    "hard", "missed",
)  # fmt: skip
"""Each is a sum and a count for each lifter.

error, bias, far_off: the max before a session against the true one on a typical day [%, %, share above 10 %]; covered:
share of sessions with the true max inside of the 80 % range; forecast: error four weeks ahead [%]; top_off, top_bias,
top_reported_off: effort of the top set against its target [RPE points]; top_hard: top sets above 9.5 in truth;
top_light: more than two points below the target; expected_off: effort expected of the top set against the reported one;
hard, missed: work sets above 9.5 in truth, and with a repetition too many.
"""
INDEX = {name: at for at, name in enumerate(MEASURES)}
BUILD_UP = (2.5, 1.0)
"""Points under the target at which build-up sets are placed, with the same repetitions."""
HARD = 9.5
MOST_SETS = 14
"""No session is longer than that. [sets]"""


class Leading(Method, Leads, Protocol):
    """A method that leads the session."""


class Tally:
    """Sums and counts of one lifter with one method: first sessions, later ones."""

    def __init__(self) -> None:
        self.sums = [[[0.0, 0] for _ in MEASURES] for _ in range(2)]

    def add(self, part: int | None, name: str, value: float) -> None:
        """One more; part 0 or 1, None: not counted."""
        if part is not None:
            cell = self.sums[part][INDEX[name]]
            cell[0] += value
            cell[1] += 1

    def array(self) -> np.ndarray:
        """Shape (2 parts, measures, sum and count)."""
        return np.array(self.sums)


def effort(possible: float, reps: int) -> float:
    """True effort of a set, kept to what can be felt: 2 to 11. [RPE]"""
    return min(11.0, max(2.0, 10 - (possible - reps)))


def early_or_later(session: Session) -> int | None:
    """0 for the first three sessions of a lift, 1 for those after."""
    return 0 if session.number < EARLY else 1


def train(
    who: Lifter,
    method: Method,
    *,
    part: Callable[[Session], int | None] = early_or_later,
    watch: Callable[[Session, Said | None], None] | None = None,
) -> Tally:
    """Sixteen weeks; `part`: where a session counts, `watch`: is told what the method says before each session."""
    tally = Tally()
    for session in who.sessions:
        body = Body(who, session)
        method.open(session.lift, session.day, body)
        said = method.says(session.lift)
        if watch is not None:
            watch(session, said)
        at = part(session)
        if said is not None:
            _say(tally, at, session, said, method)
        if session.test:
            _test(body, method)
        elif isinstance(method, Leads):
            _led(tally, at, body, method)
        else:
            _session(tally, at, body, method)
        method.close(session.lift)
    return tally


def _say(tally: Tally, part: int | None, session: Session, said: Said, method: Method) -> None:
    """The max before the session against the truth."""
    true = exp(session.level)
    off = 100 * (said.kg / true - 1)
    tally.add(part, "error", abs(off))
    tally.add(part, "bias", off)
    tally.add(part, "far_off", 100.0 * (abs(off) > 10))
    if said.low is not None and said.high is not None:
        tally.add(part, "covered", 100.0 * (said.low <= true <= said.high))
    ahead = method.forecast(session.lift, AHEAD)
    if ahead is not None:
        tally.add(part, "forecast", 100 * abs(ahead / exp(session.level_later) - 1))


def _session(tally: Tally, part: int | None, body: Body, method: Method) -> None:
    """Build-up sets, top set, follow-ups."""
    who, session, asked = body.who, body.session, body.session.asked
    at = session.lift
    for number, under in enumerate(BUILD_UP):
        target = max(5.0, asked.rpe - under)
        kg = method.load(at, asked.reps, target, ahead=len(BUILD_UP) - 1 - number, step=who.step)
        _do(body, method, kg, asked.reps, target, "build_up")
    kg = method.load(at, asked.reps, asked.rpe, ahead=None, step=who.step)
    done = _top(tally, part, body, method, kg, asked.reps)
    top = done.true.kg
    for _ in range(method.sets(asked.sets)):
        kg = method.follow(at, asked.follow, top, reps=asked.reps, rpe=asked.rpe, less=asked.less, step=who.step)
        if done.true.failed:  # for every method alike: after a miss at least a twentieth less
            kg = min(kg, max(who.step, floor(0.95 * done.true.kg / who.step + 1e-9) * who.step))
        _work(tally, part, body, kg, asked.reps)
        done = _do(body, method, kg, asked.reps, asked.rpe, "follow_up")


def _led(tally: Tally, part: int | None, body: Body, method: Leading) -> None:
    """The sets that the method asks for, until it says that the lift is over."""
    asked, builds = body.session.asked, 0
    while (coming := method.coming()) is not None and body.at < MOST_SETS:
        if coming.role == "build_up":
            target = max(5.0, asked.rpe - BUILD_UP[min(builds, len(BUILD_UP) - 1)])
            builds += 1
            _do(body, method, coming.kg, coming.reps, target, "build_up")
        elif coming.role == "top":
            _top(tally, part, body, method, coming.kg, coming.reps)
        else:
            if coming.kg is not None:
                _work(tally, part, body, coming.kg, coming.reps)
            _do(body, method, coming.kg, coming.reps, asked.rpe, "follow_up")


def _top(tally: Tally, part: int | None, body: Body, method: Method, kg: float | None, reps: int) -> Done:
    """The first work set, for the measures that are of it alone."""
    rpe, lift = body.session.asked.rpe, body.session.lift
    if kg is not None:
        true = effort(body.possible(kg), reps)
        tally.add(part, "top_off", abs(true - rpe))
        tally.add(part, "top_bias", true - rpe)
        tally.add(part, "top_hard", 100.0 * (true > HARD))
        tally.add(part, "top_light", 100.0 * (true < rpe - 2))
        _work(tally, part, body, kg, reps)
    expected = None if kg is None else method.expects(lift, kg, reps)
    done = _do(body, method, kg, reps, rpe, "top")
    if kg is not None and done.true.kg == kg and done.true.rpe is not None and done.true.reps == reps:
        tally.add(part, "top_reported_off", abs(done.true.rpe - rpe))
        if expected is not None:
            tally.add(part, "expected_off", abs(done.true.rpe - min(10.0, expected)))
    return done


def _work(tally: Tally, part: int | None, body: Body, kg: float, reps: int) -> None:
    """A work set as it was asked for."""
    possible = body.possible(kg)
    tally.add(part, "hard", 100.0 * (effort(possible, reps) > HARD))
    tally.add(part, "missed", 100.0 * (possible < reps))


def _do(body: Body, method: Method, kg: float | None, reps: int, rpe: float, role: str) -> Done:
    """The set, with a load of the lifter's own where none is known or where it is absurd."""
    body_kg = _own(body, kg, reps, rpe)
    done = lift(body, body_kg, reps, rpe)
    method.hear(body.session.lift, done.told, role, done.true)
    return done


def _own(body: Body, kg: float | None, reps: int, rpe: float) -> float:
    """The load that is lifted: as told, unless the lifter knows better."""
    who, at = body.who, body.session.lift
    share = who.curves[at].share(reps + 10 - rpe)
    if kg is None:
        return rounded(who.guess[at] * share, who.step)
    feel = exp(body.session.level + body.session.today - body.lost + 0.05 * body.session.luck[min(body.at, 13)][4])
    own = rounded(feel * share, who.step)
    if kg < 0.6 * own or who.curves[at].reps(kg / feel) < reps - 1.5:
        return own
    return kg


def _test(body: Body, method: Method) -> None:
    """The best single of the day, to a step below what would have been possible."""
    who, session = body.who, body.session
    best = exp(session.level + session.today - 0.01 * abs(session.luck[0][0]))
    made = max(who.step, floor(best / who.step + 1e-9) * who.step)
    body.lost += who.tiring * cost(0)
    method.tested(session.lift, made)
