"""What a set should be like: from a load to the effort and the chances, or from an effort to the load and the same."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial

from service.core.ability.ability import Ability
from service.core.ability.by_model import ByModel
from service.core.answers import Caution, Loading, Reason, Step
from service.core.context import Context
from service.core.errors import NotComputable
from service.core.estimate.rolling import support_class
from service.core.loading.loading import as_it_hangs
from service.core.model.expect_effort import chance_to_make, chances, expected_effort
from service.core.model.load import limit_for
from service.core.prescribe.aim import aim
from service.core.prescribe.basis import find_max
from service.core.prescribe.bounds import FREE, HELD_RPE, NEAR
from service.core.prescribe.cautions import MANY_REPETITIONS, of_set
from service.core.prescribe.grounds import Grounds, ground, unweighed
from service.core.prescribe.obey import Orders, needs_approval, obeyed, orders
from service.core.prescribe.one_set import LIGHTEST_RPE, Draft, hang_draft, shown_rpe
from service.core.slots import EffortTarget, LoadTarget, SetsAtTarget, Slot
from service.core.tell import expectation_words
from service.core.tell.answers import ChosenLoad, Expectation, NumberRange, Passing
from service.core.units import Load, tidy

SHOWN = (9.0, 9.5)
"""The efforts whose chances are always told. [RPE]"""
OFTEN_MISSED = 0.85
"""Below this chance to make all repetitions there is a caution. Ours: with it a set passes RPE 10 in about one of seven
cases, whatever was asked. [1]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """A set that somebody asks about: with a load, or with an effort."""

    lift: str
    reps: int
    load: Load | None = None
    """As the lift's load is meant; None: the one for `rpe` is looked for."""
    rpe: float | None = None
    """The effort to look for a load for; exactly one of the two is given. [RPE]"""
    support: tuple[str, ...] = ()


@dataclass(slots=True, kw_only=True)
class Likely:
    """What is computed of a set with a load; not frozen for speed, nobody changes it."""

    kg: float
    """Effective. [kg]"""
    rpe: float
    """Expected report, not limited. [RPE]"""
    range: NumberRange | None
    to_make: float | None
    possible: float
    """Repetitions that the report is expected to amount to. [reps]"""


def expectation(asked: Asked, ctx: Context, *, why: bool = True) -> Expectation:
    """What a set should be like: expected effort with its range, chance to make it, chances to pass RPE 9 and 9.5.

    Parameters
    ----------
    asked : Asked
        Lift and repetitions, with a load or an effort.
    ctx : Context
        Maxes, what the log has taught, place, settings, overrides.
    why : bool
        False: without reasons.

    Returns
    -------
    Expectation
        For a load: of that load. For an effort: of the load that can be loaded for it, lowered where the chance to
        pass the effort limit would be too high, under a coach's cap.

    Raises
    ------
    NotComputable
        `technique_lift`, `no_load`, `no_mass`, `no_body_weight`, `no_max`, `unknown_lift`; for an effort as `aim`.
    OutOfRange
        Where a pinned curve does not reach so many repetitions.
    ValueError
        If neither or both of a load and an effort are given.
    """
    if (asked.load is None) == (asked.rpe is None):
        raise ValueError("a load or an effort is needed, and not both")
    in_force = orders(asked.lift, ctx)
    own = in_force.lift == asked.lift and in_force.left_out is None
    g = ground(_slot(asked), ctx, bounds=in_force.bounds if own and asked.load is None else FREE)
    if g.lift.load_kind == "bodyweight" and ctx.body_weight_kg is None:
        raise unweighed(g.lift)
    ability = _known(g)
    if asked.load is not None:
        likely = likely_of(ability, g.effective(asked.load), asked.reps)
        steps = expectation_words.of_load(g, asked.load, likely.kg)
        return _told(
            g, asked, asked.load, likely, ability, Draft(role="free", why=list(steps)), None, in_force, why=why
        )
    draft, choice = _chosen(g, ability, asked.reps)
    if draft.load is None or draft.kg is None:
        raise NotComputable("no_mass", "No load with a mass can be loaded here.")
    likely = likely_of(ability, draft.kg, asked.reps)
    return _told(g, asked, draft.load, likely, ability, draft, choice, in_force, why=why)


def _slot(asked: Asked) -> Slot:
    target: EffortTarget | LoadTarget
    if asked.load is None:
        target = EffortTarget(reps=asked.reps, rpe=asked.rpe)
    else:
        target = LoadTarget(reps=asked.reps, load=asked.load)
    return Slot(lift=asked.lift, scheme=SetsAtTarget(sets=1), target=target, support=asked.support)


def _known(g: Grounds) -> Ability:
    """What loads are computed from; refuses where nothing is known, saying what would help."""
    name = g.lift.name.lower()
    if g.lift.technique:
        raise NotComputable(
            "technique_lift",
            f"Nothing can be expected of a load in the {name}: technique ends its sets, not strength. Go by its tested "
            "max and its heaviest made singles.",
        )
    if g.lift.load_kind == "none":
        raise NotComputable("no_load", f"The {name} is done without a load, so there is nothing to expect of one.")
    if g.massless:
        raise NotComputable("no_mass", f"The machine for the {name} lists steps without a mass: nothing is estimated.")
    if g.able is None or g.ability is None:
        find_max(g.slot.lift, g.ctx, support=support_class(g.slot.support))  # refuses with its own sentence
        raise NotComputable("no_max", f"No max of the {name} is known.")
    return g.ability


def _chosen(g: Grounds, ability: Ability, reps: int) -> tuple[Draft, ChosenLoad]:
    """The load for an effort: expected there, lowered by the chances, hung."""
    target = aim(g)
    if target.kg is None or target.rpe is None:
        raise NotComputable("no_max", f"No max of the {g.lift.name.lower()} is known.")
    bounded = ability.bounded(reps, target.rpe, g.limit)
    most = None if bounded.most_kg is None else g.wire(bounded.most_kg)
    draft = Draft(role="top_set", reps=reps, why=list(target.steps), possible=target.possible)
    past = None if g.limit is None else limit_for(target.rpe, g.limit)
    if isinstance(ability, ByModel) and bounded.bound is not None and bounded.most_kg is not None and past is not None:
        chance, really = ability.chance(bounded.bound), bounded.bound == "true"
        draft.why.append(partial(expectation_words.held, g, chance, past, target.kg, bounded.most_kg, really=really))
    hang_draft(draft, g, min(bounded.kg, target.kg), at_most=most)
    return draft, ChosenLoad(
        rpe=tidy(target.rpe, 1),
        planned=g.wire(target.kg),
        planned_range=None if target.range is None else target.range(),
        most=most,
        limit=bounded.bound,
        overshoot=None if past is None or draft.kg is None else _passing(ability, draft.kg, reps, past),
    )


def likely_of(ability: Ability, kg: float, reps: int) -> Likely:
    """What a set with a load should be like, by the model or by a curve. [kg], [reps]"""
    if isinstance(ability, ByModel):
        effort = expected_effort(ability.row, ability.person, kg, reps)
        if effort is not None:
            low, high = (tidy(min(max(end, LIGHTEST_RPE), 10.0), 1) for end in (effort.low, effort.high))
            made = chance_to_make(ability.row, kg, reps)
            return Likely(
                kg=kg, rpe=effort.rpe, range=NumberRange(low, high, 0.8), to_make=made, possible=effort.possible
            )  # fmt: skip
    rpe = ability.expected(kg, reps)
    return Likely(kg=kg, rpe=rpe, range=None, to_make=None, possible=10 - rpe + reps)


def _passing(ability: Ability, kg: float, reps: int, rpe: float) -> Passing:
    found = chances(ability.row, kg, reps, rpe) if isinstance(ability, ByModel) else None
    if found is None:
        return Passing(rpe=tidy(rpe, 1), chance_reported=None, chance_true=None)
    return Passing(rpe=tidy(rpe, 1), chance_reported=tidy(found[0], 3), chance_true=tidy(found[1], 3))


def _told(
    g: Grounds,
    asked: Asked,
    load: Load,
    likely: Likely,
    ability: Ability,
    draft: Draft,
    choice: ChosenLoad | None,
    in_force: Orders,
    *,
    why: bool,
) -> Expectation:
    passes = tuple(_passing(ability, likely.kg, asked.reps, rpe) for rpe in SHOWN)
    loading = as_it_hangs(draft.loading)
    steps: Sequence[Step | Reason] = (
        *draft.why,
        *expectation_words.steps(g, load, asked.reps, likely.rpe, likely.possible, likely.range, ability.name),
        *expectation_words.chance_steps(asked.reps, likely.to_make, passes),
    )
    made = None if likely.to_make is None else tidy(likely.to_make, 3)
    text = expectation_words.text(g, load, asked.reps, likely.rpe, likely.to_make, passes, choice)
    return Expectation(
        lift=asked.lift,
        reps=asked.reps,
        load=load,
        text=text,
        expected_rpe=shown_rpe(likely.rpe) or 0,
        range=likely.range,
        chance_to_make=made,
        passes=passes,
        chosen=choice,
        why=tuple(one if isinstance(one, Step) else one() for one in steps) if why else (),
        loading=loading,
        cautions=(*_waiting(asked, likely, in_force), *_cautions(g, likely, draft.possible, loading)),
        overrides=tuple(obeyed(one, g.ctx) for one in (in_force.left_out, *in_force.acting) if one is not None),
        unit=g.unit,
    )


def _waiting(asked: Asked, likely: Likely, in_force: Orders) -> tuple[Caution, ...]:
    """That such a set waits for an approval."""
    hard = (asked.rpe if asked.rpe is not None else likely.rpe) > HELD_RPE + NEAR
    return (needs_approval(in_force),) if in_force.held and hard else ()


def _cautions(g: Grounds, likely: Likely, possible: float | None, loading: Loading | None) -> tuple[Caution, ...]:
    """Cautions of the set; `possible`: repetitions to failure behind a load that was chosen. [reps]"""
    found = [*of_set(g, role="top_set", kg=likely.kg, expected=likely.rpe, possible=possible, loading=loading)]
    if possible is None and likely.possible > MANY_REPETITIONS:
        text = (
            f"More than {MANY_REPETITIONS} repetitions are possible with this load, where estimates are rough: let the "
            "set itself decide when to stop."
        )
        found.append(Caution("many_repetitions", text))
    if likely.to_make is not None and likely.to_make < OFTEN_MISSED and likely.rpe <= 10:
        text = (
            "By what is known a repetition of this set may well be missed: take less, or have spotters ready and ask "
            "your coach."
        )
        found.append(Caution("may_be_missed", text))
    return tuple(found)
