"""The reason of an estimated max in sentences: what went in, what came out, and where to be careful."""

from __future__ import annotations

from dataclasses import dataclass

from service.core.answers import Caution, LoadRange, Named, Step
from service.core.curves.curves import Curve
from service.core.effort import HIGHEST_RPE, count_words
from service.core.estimate import spread
from service.core.records import Lift
from service.core.units import Load, MassUnit, from_kg, load, say, tidy
from service.core.words import in_unit

MANY_REPETITIONS = 10
"""Past so many repetitions to failure an estimate says little (Mayhew et al. 2008, JSCR 22(5):1570-1577) [reps]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckedSet:
    """The set that an estimate is made from, and the unit that the answer speaks in."""

    lift: Lift
    load: Load
    reps: int
    rpe: float
    effort_words: str
    """As it was given: `at RPE 8`, `and 2 left`, `to failure`."""
    or_more: bool
    unit: MassUnit
    body_weight_kg: float
    """0 but for `bodyweight` [kg]."""
    total_kg: float
    """Load and body weight together [kg]."""

    @property
    def left(self) -> float:
        """Repetitions left, a half being half a repetition [reps]."""
        return HIGHEST_RPE - self.rpe

    @property
    def reps_to_failure(self) -> float:
        """Repetitions done and left [reps]."""
        return self.reps + self.left

    @property
    def is_max(self) -> bool:
        """A single with nothing left."""
        return self.reps_to_failure == 1

    def as_mass(self, kg: float) -> Load:
        """A computed mass in the unit of the answer, to a tenth [kg]."""
        return load(tidy(in_unit(kg, self.unit), 1), self.unit)

    def as_entered(self, kg: float) -> Load:
        """The load without a sign: as entered, or to a tenth where the answer speaks in another unit [kg]."""
        if self.load.unit == self.unit:
            return load(abs(self.load.value), self.unit)
        return self.as_mass(abs(kg))

    def as_load(self, total_kg: float) -> Load:
        """A computed total as the lift's load is meant: without body weight, to a tenth [kg]."""
        return self.as_mass(total_kg - self.body_weight_kg)


def effort_words(rpe: float | None, rir: float | None, *, or_more: bool, said: str | None = None) -> str:
    """An effort as it was given; `said` in words that stand for an RPE.

    >>> effort_words(8.5, None, or_more=False), effort_words(None, 5, or_more=True)
    ('at RPE 8.5', 'and 5 or more left')
    """
    if rpe is not None and said is not None:
        return f"said to be {said} (RPE {rpe:g})"
    if rpe is not None:
        return f"at RPE {rpe:g}"
    if rir is not None:
        return f"and {rir:g}{' or more' if or_more else ''} left"
    return "to failure"


def text(done: CheckedSet, curve: Curve, max_kg: float) -> str:
    """The answer in a sentence [kg]."""
    found = _as_meant(done, done.as_load(max_kg))
    if done.is_max:
        return f"{found}: a single with nothing left is the max itself."
    about = "At least about" if done.or_more else "About"
    return (
        f"{about} {found}, from {done.reps} with {_as_meant(done, done.load)} {done.effort_words}, by {_words(curve)}."
    )


def steps(done: CheckedSet, curve: Curve, share: float, max_kg: float, bounds: LoadRange | None) -> tuple[Step, ...]:
    """The reason in order: effort, unit, body weight, share, max, body weight again, range [1], [kg]."""
    found = [_effort(done), *_masses(done)]
    if done.is_max:
        found.append(_true_single(done))
    else:
        part = _percent("share", share)
        found.extend((_share(done, curve, part), _division(done, part, max_kg)))
    found.extend(_straight_line(done, curve))
    if done.lift.load_kind == "bodyweight":
        found.append(_without_body_weight(done, max_kg))
    if bounds is not None:
        found.append(_spread(done, max_kg, bounds))
    return tuple(found)


def cautions(done: CheckedSet, curve: Curve) -> tuple[Caution, ...]:
    """Many repetitions, and repetitions that the curve was not published for."""
    n = done.reps_to_failure
    found = []
    if n > MANY_REPETITIONS:
        found.append(
            Caution(
                "many_repetitions",
                f"{n:g} repetitions to failure say little about a max: beyond {MANY_REPETITIONS} lifters differ "
                "widely. Do not load a heavy single by it; a hard set of two to six tells more.",
            )
        )
    if not curve.published_fewest <= n <= curve.published_most and not done.is_max:
        found.append(
            Caution(
                "beyond_published_range",
                f"T{_words(curve)[1:]} is meant for "
                f"{curve.published_fewest:g} to {curve.published_most:g} repetitions to failure; {n:g} lie outside.",
            )
        )
    return tuple(found)


_PLAIN = {"default": "the default curve", "textbook_table": "the textbook table"}


def _words(curve: Curve) -> str:
    return _PLAIN.get(curve.name, f"the curve of {curve.title}")


def _as_meant(done: CheckedSet, shown: Load) -> str:
    """A load in the words of its kind: in each hand, added, assistance."""
    kind = done.lift.load_kind
    if kind == "per_hand":
        return f"{say(shown)} in each hand"
    if kind != "bodyweight":
        return say(shown)
    if shown.value == 0:
        return "body weight alone"
    if shown.value < 0:
        return f"{say(load(-shown.value, shown.unit))} of assistance"
    return f"{say(shown)} added"


def _whole(done: CheckedSet) -> Load:
    """Load and body weight together, as they are said."""
    if done.lift.load_kind == "bodyweight":
        return done.as_mass(done.total_kg)
    return done.as_entered(done.total_kg)


def _mass(done: CheckedSet, name: str, kg: float) -> Named:
    return Named(name, in_unit(kg, done.unit), done.unit)


def _percent(name: str, share: float) -> Named:
    return Named(name, tidy(100 * share, 2), "percent")


def _effort(done: CheckedSet) -> Step:
    n = done.reps_to_failure
    set_words = f"{done.reps} repetition{'' if done.reps == 1 else 's'} {done.effort_words}"
    if done.or_more:
        said = f"{set_words}, counted as {done.left:g}: at least {n:g} to failure."
    elif done.left == 0:
        said = f"{set_words}: nothing was left, so {n:g} to failure."
    elif done.left == 0.5:
        said = f"{set_words}: no further repetition but a little more load, counted as 0.5, so {n:g} to failure."
    elif done.left > HIGHEST_RPE / 2:
        said = f"{set_words}: about {done.left:g} repetitions were left, so {n:g} to failure."
    else:
        verb = "was" if done.left == 1 else "were"
        said = f"{set_words}: {count_words(done.left)} {verb} left, counted as {done.left:g}, so {n:g} to failure."
    return Step(
        said,
        "repetitions_to_failure",
        (Named("reps", done.reps, "reps"), Named("rpe", tidy(done.rpe), "rpe")),
        Named("reps_to_failure", tidy(n), "reps"),
    )


def _masses(done: CheckedSet) -> list[Step]:
    """The load in the answer's unit, and with body weight, where these differ from what was entered."""
    found = []
    kg = done.total_kg - done.body_weight_kg
    if done.load.unit != done.unit and kg != 0:
        shown = from_kg(abs(kg), done.unit)
        entered_load = Named("load", done.load.value, done.load.unit)
        said = f"{_as_meant(done, done.load)} is {say(shown)}."
        found.append(Step(said, "unit", (entered_load,), _mass(done, "load", kg)))
    if done.lift.load_kind == "bodyweight":
        body, total, entered = say(done.as_mass(done.body_weight_kg)), say(_whole(done)), say(done.as_entered(kg))
        if kg < 0:
            said = f"{body} of body weight less {entered} of assistance leaves {total}."
        else:
            said = f"{body} of body weight and {entered} added make {total}."
        inputs = (_mass(done, "body_weight", done.body_weight_kg), _mass(done, "load", kg))
        found.append(Step(said, "with_body_weight", inputs, _mass(done, "total", done.total_kg)))
    return found


def _true_single(done: CheckedSet) -> Step:
    said = f"A single with nothing left is 100 % of the max by every curve: {say(_whole(done))}."
    inputs = (Named("reps_to_failure", 1, "reps"), _mass(done, "load", done.total_kg))
    return Step(said, "true_single", inputs, _mass(done, "max", done.total_kg))


def _share(done: CheckedSet, curve: Curve, part: Named) -> Step:
    n = done.reps_to_failure
    said = f"By {_words(curve)}, a load for {n:g} repetitions to failure is {part.value:g} % of the max."
    return Step(said, f"{curve.name}_curve", (Named("reps_to_failure", tidy(n), "reps"),), part)


def _division(done: CheckedSet, part: Named, max_kg: float) -> Step:
    said = f"{say(_whole(done))} is {part.value:g} % of {say(done.as_mass(max_kg))}."
    return Step(said, "max_from_share", (_mass(done, "load", done.total_kg), part), _mass(done, "max", max_kg))


def _straight_line(done: CheckedSet, curve: Curve) -> list[Step]:
    if not curve.jumps_at_one or done.reps_to_failure >= 2:
        return []
    by_formula = _percent("share_by_formula", curve.form.share(1))
    said = (
        f"The formula of {curve.title} would make a true single {by_formula.value:g} % of the max; it is 100 %, "
        "and between one and two repetitions a straight line from there is used."
    )
    return [Step(said, "straight_line_from_one", (Named("reps_to_failure", 1, "reps"),), by_formula)]


def _without_body_weight(done: CheckedSet, max_kg: float) -> Step:
    body, total = done.as_mass(done.body_weight_kg), done.as_mass(max_kg)
    said = f"{say(total)} less {say(body)} of body weight: {_as_meant(done, done.as_load(max_kg))}."
    inputs = (_mass(done, "max_with_body_weight", max_kg), _mass(done, "body_weight", done.body_weight_kg))
    return Step(said, "without_body_weight", inputs, _mass(done, "max", max_kg - done.body_weight_kg))


def _spread(done: CheckedSet, max_kg: float, bounds: LoadRange) -> Step:
    half = spread.half_percent(done.reps_to_failure)
    low, high = _as_meant(done, bounds.low), _as_meant(done, bounds.high)
    limited = max_kg * (1 - half / 100) < done.total_kg
    limit = ", but not below the load that went up" if limited else ""
    together = " of load and body weight together" if done.lift.load_kind == "bodyweight" else ""
    said = (
        f"Lifters differ in how many repetitions they get: in {10 * spread.LEVEL:g} of 10 such cases the true max "
        f"lies between {low} and {high} ({half:.1f} % either way{together}{limit})."
    )
    inputs = (Named("reps_to_failure", tidy(done.reps_to_failure), "reps"), _mass(done, "max", max_kg))
    return Step(said, "spread_by_repetitions", inputs, Named("half_width", tidy(half, 1), "percent"))
