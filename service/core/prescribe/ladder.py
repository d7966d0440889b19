"""A newcomer's ladder: it begins with the lightest there is, and goes on by how many more were possible."""

from __future__ import annotations

from service.core import words
from service.core.answers import Caution, Loading, Named, Step
from service.core.errors import NotComputable
from service.core.loading.loadable import BodyweightOptions, options
from service.core.loading.loading import Hung, lightest
from service.core.prescribe.cautions import ADULT_YEARS
from service.core.prescribe.grounds import Grounds, hang_under
from service.core.prescribe.one_set import Draft
from service.core.slots import EffortTarget, Ladder
from service.core.units import Load

MOST_SETS = 8
"""The ladder ends here at the latest, where the coach states no other number. Ours. [sets]"""
START_PART = 0.5
"""Where a machine assists, the body's weight is halved at first. Ours. [1]"""
REST = 120
"""Rest between the steps, where the coach states none. Ours. [s]"""
MORE_TO_SEE = 10
"""While it is easy a set goes on by so many repetitions: more done with five left says more than five left. Ours.
[reps]"""
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


def to_see(g: Grounds, loading: Loading | Hung, reps: int) -> int:
    """To how many repetitions a step goes on while it is easy; without a mass nothing is read from them. [reps]"""
    return reps if g.massless or loading.load.unit == "step" else reps + MORE_TO_SEE


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
    on = (
        f" If that is easy, go on: to {reps_to} at most, and no further than to where about five more would go."
        if more
        else ""
    )
    draft.text = f"{reps} with {implement(g, shown)}.{on} {QUESTION}"
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
