"""A newcomer's ladder: it begins with the lightest there is, and goes on by how many more were possible."""

from __future__ import annotations

from service.core import words
from service.core.answers import Caution, Loading, Named, Step
from service.core.effort import OR_MORE_RPE
from service.core.errors import NotComputable
from service.core.loading.loadable import BodyweightOptions, options
from service.core.loading.loading import Hung, lightest
from service.core.prescribe.cautions import ADULT_YEARS
from service.core.prescribe.grounds import Grounds, hang_under
from service.core.prescribe.jumps import FAR_STEP, STEEP, effective, hung_below, read_from
from service.core.prescribe.one_set import Draft
from service.core.slots import EffortTarget, Ladder
from service.core.units import Load

MOST_SETS = 8
"""The ladder ends here at the latest, where the coach states no other number. Ours. [sets]"""
START_PART = 0.5
"""Where a machine assists, the body's weight is halved at first. Ours. [1]"""
REST = 120
"""Rest between the steps, where the coach states none. Ours. [s]"""
MOST_REPS = 65
"""All sets of a ladder together have no more repetitions, and no more than 8 sets of those that the target asks for
where these are more. Most lifters need 20 to 55; with 50 strong ones would come to half of their working load. Ours.
[reps]"""
FEWEST = 2
"""So many repetitions a step has at least; whether more follow, they tell. Ours. [reps]"""
MORE_TO_SEE = 5
"""While it is easy a set goes on to so many more than the target's: more done with five left says more than five left.
Ours. [reps]"""
USUAL_LEFT = 3.0
"""So many are to be left where a ladder's target does not say. [reps]"""
QUESTION = "Then say how many more you could have done with good form; five or more is an answer."

NEWCOMER = Caution(
    "newcomer",
    "The coach on the floor should watch these sets. Stop when form goes or a repetition gets stuck, whatever the "
    "number.",
)
NEWCOMER_MINOR = Caution(
    "minor", "A lifter under 18 looks for a working load only with the coach on the floor beside the bar."
)


def ladder(g: Grounds) -> list[Draft]:
    """The first step: the lightest implement, whatever is known of the lifter. What follows goes by the answers.

    Raises NotComputable: `technique_lift`, `no_load`, or as hanging a load does.
    """
    name = g.lift.name.lower()
    if g.lift.technique:
        raise NotComputable(
            "technique_lift",
            f"No ladder finds a load for the {name}: technique ends its sets, not strength, so that repetitions left "
            "say nothing. Let the coach on the floor choose.",
        )
    if g.lift.load_kind == "none":
        raise NotComputable("no_load", f"The {name} is done without a load: there is none to find.")
    target = g.slot.target
    start = _start(g)
    shown = start.load
    text = f"The lightest here is {words.load(shown, g.lift.load_kind)}: the ladder begins with it."
    if g.lift.load_kind == "bodyweight" and shown.value < 0:
        text = f"The machine takes off about half of the body weight at first: {words.load(shown, 'bodyweight')}."
    why = Step(text, "ladder_start", (), Named("load", shown.value, shown.unit))
    reps = target.reps if isinstance(target, EffortTarget) else 5
    draft = rung(g, start, reps, to_see(g, start, reps))
    draft.why.append(why)
    draft.text = f"{draft.text} It goes on by your answer."
    return [draft]


def most_sets(scheme: Ladder) -> int:
    """After how many sets a ladder ends at the latest. [sets]"""
    return scheme.most_sets or MOST_SETS


def most_reps(reps: int) -> int:
    """How many repetitions all sets of a ladder have at most; of the target's. [reps]"""
    return max(MOST_REPS, MOST_SETS * reps)


def fewest(g: Grounds, loading: Loading | Hung, reps: int) -> int:
    """How many repetitions a step has at least; without a mass nothing is read from more. [reps]"""
    return reps if g.massless or loading.load.unit == "step" else min(reps, max(FEWEST, g.fewest))


def least_left(g: Grounds) -> float:
    """So many a step is to leave: one fewer than the working load, if no more was possible than was said. [reps]"""
    target = g.slot.target
    wanted = 10 - target.asked_rpe if isinstance(target, EffortTarget) else USUAL_LEFT
    return max(wanted - 1, 0.0)


def far(g: Grounds, reps: int, done: int) -> float:
    """By which factor the load may rise after so many repetitions that left five or more. [reps] -> [1]"""
    possible = done + 10 - OR_MORE_RPE
    return min(1 + FAR_STEP / 100, read_from(possible, min(reps, FEWEST) + least_left(g), steep=STEEP))


def to_see(g: Grounds, loading: Loading | Hung, reps: int) -> int:
    """To how many repetitions a step goes on while it is easy: no further than the next load takes that it may lead to.

    Without a mass nothing is read from them. [reps]
    """
    if g.massless or loading.load.unit == "step":
        return reps
    most, kg = reps + MORE_TO_SEE, effective(g, loading.load)

    def leads_to(done: int) -> float:
        found = hung_below(g, kg * far(g, reps, done)) if kg > 0 else None
        return kg if found is None else effective(g, found.load)

    best = leads_to(most)
    if best <= kg + 1e-6:
        return most
    return next(done for done in range(reps, most + 1) if leads_to(done) >= best - 1e-6)


def rung(
    g: Grounds, loading: Loading | Hung, reps: int, reps_to: int | None = None, expected: float | None = None
) -> Draft:
    """One step of the ladder, with its question; to `reps_to` while it is easy. [reps], [RPE]"""
    shown = loading.load
    kg = None if g.massless or shown.unit == "step" else g.effective(shown)
    more = reps_to is not None and reps_to > reps
    draft = Draft(role="target_set", reps=reps, kg=kg, load=shown, loading=loading, expected=expected)
    draft.reps_to = reps_to if more else None
    draft.cautions = newcomer(g)
    draft.rest = REST if g.slot.rest_seconds is None else g.slot.rest_seconds
    on = " Go on while it is easy, and stop where about five more would go." if more else ""
    draft.text = f"{words.reps(reps, draft.reps_to)} with {implement(g, shown)}.{on} {QUESTION}"
    return draft


def newcomer(g: Grounds) -> tuple[Caution, ...]:
    """What goes with every step of a ladder."""
    age = g.ctx.age_years
    return (NEWCOMER, NEWCOMER_MINOR) if age is not None and age < ADULT_YEARS else (NEWCOMER,)


def implement(g: Grounds, shown: Load) -> str:
    """The load in words; a bar alone is called that."""
    alone = g.lift.load_kind == "total" and g.lightest is not None and shown == g.lightest.load
    said = words.load(shown, g.lift.load_kind, g.unit)
    return f"the empty bar, {words.both(shown, g.unit)}" if alone else said


def _start(g: Grounds) -> Loading | Hung:
    """The lightest implement; for the body on a machine that assists, about half of its weight."""
    if g.lift.load_kind == "bodyweight":
        possible = options(g.lift, g.ctx.kit, g.unit)
        if isinstance(possible, BodyweightOptions) and possible.assistance:
            return hang_under(g, START_PART * g.body_kg, rounding="nearest")
        return hang_under(g, g.body_kg, rounding="nearest")
    if g.massless:
        return _first_step(g)
    if g.lightest is None:
        return hang_under(g, 0.0)  # refuses with its own sentence
    return hang_under(g, g.effective(g.lightest.load), rounding="down")


def _first_step(g: Grounds) -> Loading:
    found = lightest(g.lift, g.ctx.kit, g.unit)
    if found is None:
        raise NotComputable("no_stack", "No machine is listed for this lift at this place: add one with its steps.")
    return found
