"""A test: by the published protocol to single attempts, from what is known of the lifter, or step by step.

The protocol is that for a one-repetition maximum in Haff & Triplett eds., Essentials of Strength Training and
Conditioning, 4th ed.: 5 to 10 easy repetitions and a minute's rest; a step more for 3 to 5 repetitions, two minutes;
another for 2 or 3 repetitions, two to four minutes; then attempts with two to four minutes between them, up by the same
steps, and down after a miss, until a repetition with proper technique is found, best within three to five attempts.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial

from service.core import words
from service.core.answers import Caution, Loading, Named, Step
from service.core.effort import HIGHEST_RPE
from service.core.errors import DomainError, NotComputable
from service.core.estimate.rolling import support_class
from service.core.loading.loading import Hung
from service.core.prescribe.basis import find_max
from service.core.prescribe.cautions import ADULT_YEARS, minor_approved
from service.core.prescribe.grounds import Grounds, hang_under, heavier
from service.core.prescribe.jumps import hung_below, is_small, next_up, up_by
from service.core.prescribe.one_set import Draft
from service.core.prescribe.warm_up import warm_ups
from service.core.slots import EffortTarget, MaxTest
from service.core.units import Load, tidy

ATTEMPTS = 5
"""At most so many attempts, as the protocol has it. [sets]"""
PLANNED = 3
"""Attempts that are planned: those that are lifted where all go well (the protocol: three to five). [sets]"""
FIRST_PERCENT = 92.0
"""The first attempt, of what is expected: good lifters open with 91 to 93 % of their third attempt (Travis and others:
about 91 %; all three good at the 2019 classic world championships: 91 to 93 %). [%]"""
WARM_UP_REST, NEXT_REST, ATTEMPT_REST = 60, 120, 180
"""The protocol's rests; of two to four minutes three. [s]"""
APPROACH = ((3, 5), (2, 3))
"""Repetitions of the sets before the attempts. [reps]"""
WARM_UP_REPS = (5, 10)
FLOOR = Caution(
    "test_day",
    "Test only with the coach on the floor, and with spotters or safety bars in place. Stop at pain, and when "
    "technique goes.",
)
MINOR = Caution("minor", "A test needs the approval of the coach on the floor for a lifter under 18.")


@dataclass(frozen=True, slots=True)
class Expected:
    """What the lifter should be able to lift for the repetitions tested. Effective. [kg]"""

    kg: float
    low: float
    high: float


def protocol(g: Grounds) -> list[Draft]:
    """Warm-ups, the protocol's two sets, and the attempts that are lifted where all go well; less where less is known.

    Without the attempts while these are held (`is_held`).

    Raises NotComputable: `no_load`, or as hanging a load does.
    """
    if g.lift.load_kind == "none":
        raise NotComputable("no_load", f"The {g.lift.name.lower()} is done without a load: there is no max to test.")
    known = None if g.massless else expected_of(g)
    if known is None:
        return [_first_of_all()]
    tries = _attempts(g, known)
    approach = _approach(g, tries[0])
    light = warm_ups(g, approach[0] if approach else tries[0])
    for one in light:
        one.rest = WARM_UP_REST
    return [*light, *approach, *([] if is_held(g) else tries)]


def reps_of(g: Grounds) -> int:
    """Repetitions that are tested. [reps]"""
    target = g.slot.target
    return max(target.reps if isinstance(target, EffortTarget) else 1, g.fewest)


def is_held(g: Grounds) -> bool:
    """Whether no attempt may be made: maximal work waits for an approval, or a coach caps the effort."""
    return g.rpe_cap is not None and g.rpe_cap < HIGHEST_RPE


def most_attempts(g: Grounds) -> int:
    """After how many attempts a test ends at the latest. [sets]"""
    scheme = g.slot.scheme
    return (scheme.attempts if isinstance(scheme, MaxTest) else None) or ATTEMPTS


def expected_of(g: Grounds) -> Expected | None:
    """What is expected before the test; None where nothing is known, so that the protocol goes step by step."""
    reps = reps_of(g)
    if g.able is not None and g.ability is not None and g.ability.known:
        kg = g.ability.within(reps, 10)
        low, high = g.ability.span(kg, reps)
        return Expected(kg, low, high)
    if not g.lift.technique or reps != 1:
        return None
    try:
        tested = find_max(g.lift.id, g.ctx, basis="tested", support=support_class(g.slot.support))
    except NotComputable:
        return None
    return Expected(tested.kg, tested.kg, tested.kg)


def attempt(g: Grounds, loading: Loading | Hung, expected: float | None, *, number: int) -> Draft:
    """One attempt. [RPE]"""
    reps, shown = reps_of(g), loading.load
    kg = None if shown.unit == "step" or g.massless else g.effective(shown)
    draft = Draft(role="top_set", reps=reps, kg=kg, load=shown, loading=loading, expected=expected)
    draft.rest = _rest(g, ATTEMPT_REST)
    draft.of = max(number, most_attempts(g))
    draft.cautions = cautions(g)
    draft.text = f"Attempt {number}: {reps} with {words.load(shown, g.lift.load_kind, g.unit)}."
    return draft


def approach_set(g: Grounds, loading: Loading | Hung, which: int) -> Draft:
    """The first or the second set on the way to the attempts (`which`: 0, 1)."""
    low, high = APPROACH[which]
    shown = loading.load
    kg = None if shown.unit == "step" or g.massless else g.effective(shown)
    draft = Draft(role="build_up", reps=low, reps_to=high, kg=kg, load=shown, loading=loading)
    draft.rest = _rest(g, NEXT_REST if which == 0 else ATTEMPT_REST)
    draft.cautions = cautions(g)
    if kg is not None and kg > 0:
        draft.expected = g.expected(kg, low)
    load = words.load(shown, g.lift.load_kind, g.unit)
    asks = "" if g.lift.technique else " Say how many more you could have done."
    draft.text = f"{low} to {high} with {load}, on the way to the attempts.{asks}"
    return draft


def cautions(g: Grounds) -> tuple[Caution, ...]:
    """What goes with every attempt."""
    age = g.ctx.age_years
    if age is None or age >= ADULT_YEARS:
        return (FLOOR,)
    return FLOOR, MINOR if g.bounds.approved is None else minor_approved("A test", g.bounds.approved)


def rise(g: Grounds, last: Load | None, last_kg: float, wanted: float) -> Loading | Hung | None:
    """A load above the last one, nearest to what is wanted, by no more than the protocol's larger step.

    The next one here where it is small in itself; None where there is none. Effective. [kg]
    """
    most = last_kg * (1 + up_by(g.lift)[1] / 100)
    try:
        found: Loading | Hung | None = hang_under(g, min(wanted, most), rounding="nearest")
        if found is not None and g.effective(found.load) > most + 1e-6:
            found = hung_below(g, most)
        if found is not None and g.effective(found.load) > last_kg + 1e-6:
            return found
        nearest = None if last is None else next_up(g, last)
    except DomainError:
        return None
    if nearest is None:
        return None
    kg = g.effective(nearest.load)
    return nearest if kg <= most + 1e-6 or is_small(g, kg - last_kg) else None


def _rest(g: Grounds, seconds: int) -> int:
    return seconds if g.slot.rest_seconds is None else g.slot.rest_seconds


def _first_of_all() -> Draft:
    """Where no max is known: the protocol's warm-up, with what the lifter finds easy."""
    low, high = WARM_UP_REPS
    draft = Draft(role="warm_up", reps=low, reps_to=high, rest=WARM_UP_REST)
    draft.text = (
        f"{low} to {high} with a load that is easy for you. The test goes on from it in the protocol's steps, by how "
        "it goes."
    )
    text = f"No max is known: the protocol begins with {low} to {high} easy repetitions."
    inputs = (Named("reps", low, "reps"), Named("reps_to", high, "reps"))
    draft.why.append(Step(text, "test_protocol", inputs, None))
    return draft


def _attempts(g: Grounds, known: Expected) -> list[Draft]:
    """The first at what is nearly sure, the second half way to what is expected, the third at it."""
    first = min(FIRST_PERCENT / 100 * known.kg, known.low)
    count = min(PLANNED, most_attempts(g))
    found: list[Draft] = []
    for number, kg in enumerate((first, (first + known.kg) / 2, known.kg)[:count], 1):
        before = found[-1] if found else None
        loading: Loading | Hung | None
        if before is None or before.load is None or before.kg is None:
            loading = hang_under(g, kg, rounding="down")
        else:
            loading = rise(g, before.load, before.kg, kg)
        if loading is None or (
            before is not None and before.load is not None and not heavier(loading.load, before.load)
        ):
            break
        shown = g.effective(loading.load)
        draft = attempt(g, loading, g.expected(shown, reps_of(g)), number=number)
        draft.why.append(partial(_attempt_why, g, known, number, draft))
        found.append(draft)
    return found


def _attempt_why(g: Grounds, known: Expected, number: int, draft: Draft) -> Step:
    """Where an attempt is placed. Effective. [kg]"""
    mass = words.mass(known.kg - g.body_kg, g.unit)
    reps = reps_of(g)
    what = "max" if reps == 1 else f"most for {reps}"
    inputs = [g.named("expected", known.kg), Named("reps", reps, "reps"), Named("attempt", number, "count")]
    if number == 1:
        inputs += [Named("percent", FIRST_PERCENT, "percent"), g.named("low", known.low)]
        low = words.mass(known.low - g.body_kg, g.unit)
        text = f"Attempt {number} is nearly sure: {FIRST_PERCENT:g} % of the expected {what} of {mass}"
        text += f", or the low end of its range, {low}, where that is less." if known.low < known.kg else "."
    elif number == 2:
        text = f"Attempt {number} lies half way from the first one to the expected {what} of {mass}."
    else:
        text = f"Attempt {number} is the expected {what} of {mass}."
    shown = draft.load
    result = None if shown is None else Named("load", shown.value, shown.unit)
    return Step(text, "test_attempt", tuple(inputs), result)


def _approach(g: Grounds, first: Draft) -> list[Draft]:
    """The protocol's two sets, placed so that its larger step leads from each to the next."""
    step = up_by(g.lift)[1]
    found: list[Draft] = []
    for which, back in ((0, 2), (1, 1)):
        kg = (first.kg or 0.0) / (1 + step / 100) ** back
        loading = hung_below(g, kg)
        if loading is None or first.load is None or not heavier(first.load, loading.load):
            continue
        if found and found[-1].load is not None and not heavier(loading.load, found[-1].load):
            continue
        draft = approach_set(g, loading, which)
        low, high = APPROACH[which]
        text = (
            f"The protocol's {'first' if which == 0 else 'second'} heavier set, {low} to {high} repetitions: steps of "
            f"{step:g} % lead from it to the first attempt."
        )
        inputs = (Named("reps", low, "reps"), Named("reps_to", high, "reps"), Named("step", tidy(step), "percent"))
        draft.why.append(Step(text, "test_protocol", inputs, Named("load", loading.load.value, loading.load.unit)))
        found.append(draft)
    return found
