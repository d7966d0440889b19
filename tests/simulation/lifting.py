"""What happens under the bar, what the lifter then says, and what ends up in the log."""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, floor

from tests.simulation.lifters import Lifter, Session

POUND = 0.45359237


@dataclass(frozen=True, slots=True)
class Set:
    """A set as it stands in the log."""

    kg: float
    reps: int
    rpe: float | None
    failed: bool


@dataclass(frozen=True, slots=True)
class Done:
    """A set as it was: the truth beside the log."""

    told: Set
    """What was logged."""
    true: Set
    """The same without a slip."""
    left: float
    """Repetitions that were truly left; negative if it was missed."""
    slip: str | None


@dataclass(slots=True)
class Body:
    """The lifter within one session of one lift."""

    who: Lifter
    session: Session
    lost: float = 0.0
    """Capacity lost to the sets so far. [log]"""
    at: int = 0
    """Sets so far."""

    def possible(self, kg: float, *, lucky: bool = True) -> float:
        """Repetitions to failure with a load now; `lucky`: with the luck of the coming set."""
        wobble = 0.009 * self.session.luck[min(self.at, len(self.session.luck) - 1)][0] if lucky else 0.0
        now = self.session.level + self.session.today - self.lost + wobble
        return self.who.curves[self.session.lift].reps(kg / exp(now))


def cost(left: float) -> float:
    """Capacity that a set takes, by what was left. [log]

    Refalo et al. 2023 (Sports Medicine - Open, bench press, read through the load-velocity equation): 2.0 % at failure,
    0.85 % with one left, 0.6 % with three left; lighter sets cost less and less (ours).
    """
    if left <= 3:
        return 0.0055 + 0.0145 * exp(-max(left, 0.0) / 0.62)
    return 0.0056 * exp(-(left - 3) / 2.5)


def rounded(kg: float, step: float) -> float:
    """The nearest load that can hang on the bar."""
    return max(step, floor(kg / step + 0.5) * step)


def lift(body: Body, kg: float, reps: int, rpe: float) -> Done:
    """Do a set of `reps` with a load, tell its effort (`rpe` was the target) and log it."""
    luck = body.session.luck[min(body.at, len(body.session.luck) - 1)]
    possible = body.possible(kg)
    whole = max(0, floor(possible + 1e-9))
    failed = False
    done = reps
    if whole < reps:
        failed = whole == 0 or luck[6] >= body.who.stops
        done = whole
    left = possible - reps
    body.lost = 0.93 * body.lost + body.who.tiring * cost(max(0.0, possible - done))
    said = None if failed else _report(body, possible - done, done, rpe, luck)
    body.at += 1
    true = Set(kg, done, said, failed)
    told, slip = _logged(body, true, luck)
    return Done(told, true, left, slip)


def _report(body: Body, left: float, reps: int, target: float, luck: list[float]) -> float | None:
    """Effort as the lifter tells it, or None."""
    how = body.who.reporter
    light = target < 7 and luck[8] < how.no_light
    if luck[7] < how.unrated or light:
        return None
    if how.blind:
        felt = 10 - min(10.0, max(5.0, 7.5 + 1.2 * luck[1] - 0.12 * (left - 2)))
    else:
        bias = how.bias[body.session.lift] + how.growth * max(0.0, left - 1)
        noise = how.noise * luck[1] + how.long_noise * max(0, reps - 10) * luck[2]
        felt = max(0.0, left - bias) * exp(how.far_noise * luck[3] - 0.5 * how.far_noise**2) + noise
    felt += how.pull * (10 - target - felt)
    said = 10 - max(0.0, felt)
    said = floor(said + 0.5) if how.whole else floor(2 * said + 0.5) / 2
    return float(min(10.0, max(5.0, said)))


def _logged(body: Body, true: Set, luck: list[float]) -> tuple[Set, str | None]:
    """The set as typed in."""
    world = body.who.world
    if not world.slips:
        return true, None
    if body.session.wrong_unit:
        return Set(true.kg / POUND, true.reps, true.rpe, true.failed), "pounds_as_kilograms"
    if luck[9] >= world.slip_rate:
        return true, None
    kg, reps, kind, up = true.kg, true.reps, luck[10], luck[11] < 0.5
    if kind < 0.3:
        name = "pounds_as_kilograms" if up else "kilograms_as_pounds"
        kg = kg / POUND if up else kg * POUND
    elif kind < 0.55:
        name = "digit_too_many" if up else "digit_too_few"
        kg = kg * 10 if up else kg / 10
    elif kind < 0.75:
        name, kg = "plates", kg + 20 if up or kg <= 40 else kg - 20
    elif kind < 0.9:
        name, reps = "repetitions", reps + 1 + floor(3 * luck[12]) if up or reps < 3 else reps - 1 - floor(2 * luck[12])
    else:
        name, kg = "other set", kg * (0.7 + 0.2 * luck[12])
    return Set(kg, reps, true.rpe, true.failed), name
