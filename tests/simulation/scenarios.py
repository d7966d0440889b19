"""What is tried: the usual world, worlds with one thing changed, and what was designed without a trial."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from math import log

from tests.simulation.answers import Answers
from tests.simulation.lifters import VARIATION_FROM, Lifter, Session, World, lifter
from tests.simulation.methods import USUAL, KnowsTheLifter, Method, Related
from tests.simulation.product import Product
from tests.simulation.session import Whole
from tests.simulation.training import early_or_later

BASELINE = "moving average"
PRODUCT, MODEL = "the whole product", "the model"
"""The model with everything that stands between it and the bar; its outputs alone, which take a tenth of the time."""
Make = Callable[[Lifter], Method]


def _usual(name: str) -> Make:
    return lambda who: USUAL[name](list(who.given))


def _answered(who: Lifter) -> Method:
    return Product.of(who, answer=Answers(who))


MAKE: dict[str, Make] = {
    **{name: _usual(name) for name in USUAL},
    PRODUCT: Whole.of,
    MODEL: Product.of,
    "knows the lifter, not the day": KnowsTheLifter,
    "related average": lambda who: Related(list(who.given)),
    "the model, lifts unrelated": lambda who: Product.of(who, related=False),
    "the model, tests not heard": lambda who: Product.of(who, tests=False),
    "the model, questions answered": _answered,
    "the model, loads eased": lambda who: Product.of(who, eased=True),
}
"""Every method by its name."""


def variation_only(session: Session) -> int | None:
    """The pause squat alone: its first three sessions, those after."""
    return early_or_later(session) if session.lift == 2 else None


def parent_only(session: Session) -> int | None:
    """The squat from when the pause squat has been begun."""
    return 1 if session.lift == 0 and session.day >= 42 else None


REST = (0, VARIATION_FROM, VARIATION_FROM + 56)
"""The squat rests for eight weeks from when the pause squat is begun: lift, first day, first day back."""


def rested_lift(session: Session) -> int | None:
    """The squat after its rest: the first week back, the weeks that are left."""
    lift, _, back = REST
    if session.lift != lift or session.day < back:
        return None
    return 0 if session.day < back + 7 else 1


def back_from_break(session: Session) -> int | None:
    """Of each lift the first session back, the next five."""
    if session.back is None or session.back > 5:
        return None
    return 0 if session.back == 0 else 1


@dataclass(frozen=True, slots=True)
class Trial:
    """A world, the methods tried in it, and what is counted."""

    name: str
    world: World
    methods: tuple[str, ...]
    part: Callable[[Session], int | None] = early_or_later
    counts: tuple[str, str] = ("first three", "later")
    """What the two parts are called; one without a name is not shown."""
    rest: tuple[int, int, int] | None = None
    """A lift that is not trained for a while: lift, first day, first day back."""

    def lifter(self, seed: int) -> Lifter:
        """The lifter of a seed, who trains what the trial asks for."""
        who = lifter(seed, self.world)
        if self.rest is not None:
            lift, first, back = self.rest
            who.sessions = [one for one in who.sessions if one.lift != lift or not first <= one.day < back]
        return who


BASE = World()
ALL = (*USUAL, MODEL, PRODUCT, "knows the lifter, not the day")
TWO = (BASELINE, MODEL)

MAIN = (
    Trial("max given", BASE, ALL),
    Trial("max given, no slips", replace(BASE, slips=False), (BASELINE, MODEL, PRODUCT)),
    Trial("no max given", replace(BASE, given=False), (BASELINE, MODEL, PRODUCT)),
)

STRESS = tuple(
    Trial(name, replace(BASE, **changed), TWO)  # type: ignore[arg-type]
    for name, changed in (
        ("nothing changed", {}),
        ("effort is never logged", {"unrated": 1.0}),
        ("reports are always the target", {"target_pull": 1.0}),
        ("everybody reports 1.5 repetitions too few in reserve", {"bias_all": 1.5}),
        ("everybody reports 1 repetition too many in reserve", {"bias_all": -1.0}),
        ("report noise doubled", {"report_noise": 2.0}),
        ("near-perfect reports", {"report_noise": 0.2, "bias": (0.0, 0.1), "target_pull": 0.0}),
        ("beginners, six in ten cannot judge effort", {"beginners": 1.0, "judges": 0.6}),
        ("15 % more gain", {"gain": log(1.15)}),
        ("12 % lost in 16 weeks", {"gain": log(0.88)}),
        ("only singles", {"only_reps": 1}),
        ("only sets of 8", {"only_reps": 8}),
        ("given maxes 25 % too high", {"given_off": log(1.25)}),
        ("given maxes 25 % too low", {"given_off": log(0.75)}),
        ("all curves 1.5 times steeper", {"stretch_all": 1 / 1.5}),
        ("all curves flatter (0.65)", {"stretch_all": 1 / 0.65}),
        ("fatigue tripled", {"fatigue": 3.0}),
        ("day swings 2.5 times as wide", {"day_spread": 2.5}),
        ("the kinds of lift are wrong", {"kinds": (0.88, 1.0, 1.15)}),
        ("report bias differs between a person's lifts", {"bias_lift": 0.7}),
        ("curves differ more between a person's lifts", {"stretch_lift": 0.27}),
        ("smallest step 5 kg", {"step_kg": 5.0}),
        ("everybody has a break of two to six weeks", {"layoffs": 1.0}),
    )
)

DESIGNED = (
    Trial(
        "pause squat begun without a max",
        replace(BASE, variation=True),
        (BASELINE, "related average", "the model, lifts unrelated", MODEL),
        variation_only,
    ),
    Trial(
        "its squat meanwhile",
        replace(BASE, variation=True),
        ("the model, lifts unrelated", MODEL),
        parent_only,
    ),
    Trial(
        "a tested max every fifth week",
        replace(BASE, tests=True),
        (BASELINE, "the model, tests not heard", MODEL),
        counts=("", "later"),
    ),
    Trial(
        "many slips (2 % of sets, 1.5 % of sessions)",
        replace(BASE, slip_rate=0.02, wrong_unit_rate=0.015),
        (BASELINE, MODEL, "the model, questions answered"),
        counts=("", "later"),
    ),
    Trial(
        "back after two to ten weeks without training",
        replace(BASE, layoffs=1.0, layoff_days=(14, 70)),
        (BASELINE, MODEL, "the model, loads eased"),
        back_from_break,
        ("first", "next five"),
    ),
    *(
        Trial(
            f"squat back after eight weeks of pause squats, {words}",
            replace(BASE, variation=True, gain=gain),
            ("the model, lifts unrelated", MODEL),
            rested_lift,
            ("first week", "later"),
            REST,
        )
        for words, gain in (("usual gain", 0.0), ("15 % more gain", log(1.15)), ("12 % lost in 16 weeks", log(0.88)))
    ),
)
