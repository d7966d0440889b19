"""Cautions: only those that apply, in plain words; they defer to the coach on the floor."""

from __future__ import annotations

from service.core import words
from service.core.answers import BodyweightLoading, Caution, DumbbellLoading, Loading, StackLoading
from service.core.errors import DomainError, NotComputable
from service.core.estimate.rolling import support_class
from service.core.methods import method_of
from service.core.prescribe.basis import find_max
from service.core.prescribe.grounds import Grounds, heavier, heavier_step, lighter_step
from service.core.prescribe.parts import part_reps
from service.core.records import WORK_ROLES, Role
from service.core.slots import EffortTarget, Ladder, MaxTest, PercentTarget
from service.core.units import GRAINS_PER_KG, say
from service.core.units import load as make_load
from service.core.words import day, number

MANY_REPETITIONS = 10
"""Past so many repetitions to failure a load from a curve says little (Mayhew et al. 2008, JSCR 22(5):1570-1577)."""
ADULT_YEARS = 18
MINOR_RPE, MINOR_SHARE = 9.0, 0.9
"""From here on a minor's set waits for the coach's approval. Our choice; common practice, no source."""
FAR_LOW, FAR_HIGH = 0.2, 1.1
"""A work set outside this share of the max is more likely a slip than a plan. Ours."""

ROUNDING_SHARE = 0.03
"""So much heavier or lighter than asked is still rounding. Ours."""

OLD_DAYS = 56
"""What was found longer ago says little of today: as long as a test tells the max from both sides. Ours. [days]"""
LOOK_ANEW = (
    "Let the first sets decide how heavy the others get, and stop where they are harder than expected; a first session "
    "looks for a load anew, and a test some weeks on tells the max."
)

NO_LOAD, MINOR_APPROVED, OLD_MAX = "no_load", "minor_approved", "old_max"
LIGHTEST_TOO_HEAVY, HEAVIEST_TOO_LIGHT = "empty_bar_heavier", "heaviest_too_light"


def of_set(
    g: Grounds,
    *,
    role: Role,
    kg: float | None,
    expected: float | None,
    possible: float | None,
    loading: Loading | None,
    meant: float | None = None,
) -> tuple[Caution, ...]:
    """Cautions of one build-up or work set.

    Effective mass [kg], unlimited expected effort [RPE], repetitions to failure behind a load that was worked out
    from an effort [reps]. `meant`: what the calculation asks for, where `loading` was hung for something else. [kg]
    """
    if kg is None:
        return ()
    share = kg / g.able.kg if g.able is not None else None
    applies = [_past_tested(g, kg), _minor(g, expected, share), _implement(g, loading)]
    if role in WORK_ROLES and not isinstance(g.slot.scheme, Ladder):  # a ladder says so itself, at its end
        applies.append(_too_light(g, kg, loading, meant))
    if role != "top_set" or not isinstance(g.slot.scheme, MaxTest):  # near the max, and past it, is what a test is for
        applies[2:2] = (_missed(g, kg, expected), _far(share))
    found = [one for one in (*applies, _slow(g, role), _old(g)) if one is not None]
    if possible is not None and possible > MANY_REPETITIONS and role != "build_up":
        text = (
            f"This load stands on more than {MANY_REPETITIONS} possible repetitions, where estimates are rough: "
            "let the first set decide, and ask your coach when it is far off."
        )
        found.append(Caution("many_repetitions", text))
    return tuple(found)


def _slow(g: Grounds, role: Role) -> Caution | None:
    """A load by the usual curve for sets at a slow tempo, which takes repetitions away (`is_slow`)."""
    target = g.slot.target
    by_curve = isinstance(target, EffortTarget | PercentTarget) and g.able is not None
    if not by_curve or role not in WORK_ROLES or method_of(g.slot, g.lift) != "slow_tempo":
        return None
    text = (
        "So slow a tempo takes repetitions away, and this load is for the usual one: begin with less. Your coach can "
        "enter the slow lift as one of its own, with a ratio."
    )
    return Caution("slow_tempo", text)


def _old(g: Grounds) -> Caution | None:
    """What loads stand on is older than 8 weeks: by the lift's own log, or on the way back from such an absence."""
    ease, able = g.ctx.eased, g.able
    away = ease is not None and ease.absent_days > OLD_DAYS
    if able is None or able.age_days <= OLD_DAYS:
        return long_away(OLD_DAYS + 1) if away else None
    by_log = able.basis in ("rolling", "day")
    if not by_log and not away:  # a max that a coach has entered is the coach's to renew
        return None
    what = "the last set that it stands on was of" if by_log else "it is of"
    return Caution(OLD_MAX, f"What is known of this max is old: {what} {day(able.on)}. {LOOK_ANEW}")


def long_away(absent_days: int) -> Caution | None:
    """What holds for all maxes after so many days away; None after fewer than 8 weeks."""
    if absent_days <= OLD_DAYS:
        return None
    return Caution(OLD_MAX, f"What is known of the maxes is from before a long absence. {LOOK_ANEW}")


def _past_tested(g: Grounds, kg: float) -> Caution | None:
    passed = kg - 0.0005  # what is shown rounds by less
    if not any(one.kg < passed and one.basis == "tested" and one.lift == g.lift.id for one in g.ctx.maxes):
        return None
    try:
        tested = find_max(g.lift.id, g.ctx, basis="tested", support=support_class(g.slot.support))
    except NotComputable:
        return None
    if tested.lift != g.lift.id or tested.kg >= passed:
        return None
    text = f"This is more than the tested max ({say(g.wire(tested.kg))}): lift it only with your coach's agreement."
    return Caution("past_tested_max", text)


def _minor(g: Grounds, expected: float | None, share: float | None) -> Caution | None:
    age = g.ctx.age_years
    if age is None or age >= ADULT_YEARS:
        return None
    heavy = share is not None and share >= MINOR_SHARE
    hard = expected is not None and expected >= MINOR_RPE
    if not heavy and not hard:
        return None
    if g.bounds.approved is not None:
        return minor_approved("So heavy a set", g.bounds.approved)
    text = "So heavy a set needs the approval of the coach on the floor for a lifter under 18."
    return Caution("minor", text)


def minor_approved(what: str, by: str) -> Caution:
    """That something is approved for a minor; `by`: by whom and until when."""
    text = f"{what} of a lifter under {ADULT_YEARS} is approved {by}; the coach on the floor has the last word."
    return Caution(MINOR_APPROVED, text)


def _missed(g: Grounds, kg: float, expected: float | None) -> Caution | None:
    """A set that is likely to be missed; of a cluster by load, if one part alone is. [kg], [RPE]"""
    what = "this set"
    if g.part is not None:
        what, reps = "even one part of this set", part_reps(g.slot)
        expected = None if reps is None else g.part.expected(kg, reps)
    if expected is None or expected <= 10:
        return None
    text = f"By what is known {what} is likely to be missed: take less, or have spotters ready and ask your coach."
    return Caution("likely_to_miss", text)


def _far(share: float | None) -> Caution | None:
    if share is None or FAR_LOW <= share <= FAR_HIGH:
        return None
    text = f"This is {number(100 * share, 0)} % of the max: check the load and its unit before you lift."
    return Caution("far_from_max", text)


def _implement(g: Grounds, loading: Loading | None) -> Caution | None:
    """The lightest there is is heavier than the answer, by more than rounding to a neighbour explains."""
    if loading is None or loading.difference is None or loading.exact is None:
        return None
    if isinstance(loading, BodyweightLoading):
        return _too_little_help(g, loading)
    if loading.difference.value <= ROUNDING_SHARE * loading.exact.value:
        return None
    if g.lightest is None or heavier(loading.load, g.lightest.load):
        return None
    text = (
        f"The lightest that can be loaded here, {say(loading.load)}, is heavier than this set should be: use something "
        "lighter, or do fewer repetitions, as your coach says."
    )
    return Caution(LIGHTEST_TOO_HEAVY, text)


def _too_little_help(g: Grounds, loading: BodyweightLoading) -> Caution | None:
    """The most assistance there is is less than the answer asks for."""
    over = loading.difference.grains / GRAINS_PER_KG
    if loading.load.value > 0 or over <= ROUNDING_SHARE * g.effective(loading.exact):
        return None
    if lighter_step(g, loading.load) is not None:
        return None
    helps = words.both(make_load(abs(loading.load.value), loading.load.unit), g.unit)
    text = (
        f"The assistance here reaches {helps} at most, so this set is heavier than it should be: take more help, or do "
        "fewer repetitions, as your coach says."
    )
    return Caution(LIGHTEST_TOO_HEAVY, text)


def _too_light(g: Grounds, kg: float, loading: Loading | None, meant: float | None) -> Caution | None:
    """The heaviest there is is lighter than the answer, by more than rounding to a neighbour explains. Effective. [kg]

    What a coach's decision keeps lighter is not meant to be heavier.
    """
    if loading is None or loading.difference is None or loading.exact is None:
        return None
    exact = max(g.effective(loading.exact), meant or 0.0)
    if g.cap is not None and g.cap.unit != "step":
        exact = min(exact, g.effective(g.cap))
    if exact - kg <= ROUNDING_SHARE * exact or _has_heavier(g, loading):
        return None
    reaches = {DumbbellLoading: "dumbbells here reach", StackLoading: "machine here reaches"}.get(type(loading))
    reaches = f"in the {g.lift.name.lower()} the {reaches or 'plates here reach'}"
    shown, wanted = words.both(loading.load, g.unit), words.mass(exact - g.body_kg, g.unit)
    what = "do more repetitions or a harder variation, or train at another place; ask your coach."
    if isinstance(g.slot.scheme, MaxTest):
        what = "no max can be found with that, so test at another place; ask your coach."
    text = f"{reaches[0].upper()}{reaches[1:]} {shown} at most, and {wanted} was meant: {what}"
    return Caution(HEAVIEST_TOO_LIGHT, text)


def _has_heavier(g: Grounds, loading: Loading) -> bool:
    try:
        return heavier_step(g, loading.load) is not None
    except DomainError:  # of another machine
        return True


def no_load(reason: str, *, choose: bool = True) -> Caution:
    """The calculation names no load; `reason` is a sentence. `choose`: the lifter is told to choose one."""
    text = f"{reason} Start light when you choose, and ask the coach on the floor if you are not sure."
    return Caution(NO_LOAD, text if choose else reason)
