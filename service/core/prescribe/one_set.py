"""One set: its load hung under the limits, its reason, its words."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from functools import partial

from service.core import words
from service.core.answers import Caution, Loading, LoadRange, Named, PrescribedSet, Reason, Step
from service.core.errors import OutOfRange
from service.core.loading.loading import Hung, as_it_hangs
from service.core.prescribe.bounds import HELD_PERCENT, HELD_RPE
from service.core.prescribe.cautions import of_set
from service.core.prescribe.ease import before_work
from service.core.prescribe.grounds import Grounds, hang_under, heavier
from service.core.prescribe.parts import count_words, in_parts, in_parts_text
from service.core.prescribe.percent_cap import not_above, strictest
from service.core.records import Role
from service.core.units import Load, Number, say, tidy

_EPSILON = 1e-9
LIGHTEST_RPE = 4.0
"""Lower efforts are shown as this one: nobody tells them apart, and the published scale calls 3 to 4 a light effort
(Zourdos et al. 2016, JSCR 30(1):267-275) [RPE]."""


BUILD_UP_DECIDES = " The max is not known well yet: the sets on the way up decide how heavy this one will be."
BEGINS_LIGHTER = " The max is not known well yet: the first set is likely to be lighter than this."
UNSURE = (BUILD_UP_DECIDES, BEGINS_LIGHTER)
"""What a plan says of a load that the limits would lower now; of a set about to be lifted it is no longer true."""


@dataclass(slots=True, kw_only=True)
class Draft:
    """A set while it is being made; kilograms are effective."""

    role: Role
    reps: int | None = None
    reps_to: int | None = None
    seconds: int | None = None
    metres: Number | None = None
    kg: float | None = None
    """Effective mass of `load`. [kg]."""
    load: Load | None = None
    loading: Loading | Hung | None = None
    expected: float | None = None
    """Not limited: above 10 the set is likely to be missed. [RPE]."""
    provisional: bool = False
    why: list[Step | Reason] = field(default_factory=list)
    """Told by `write` only: a plan is often needed for its numbers alone."""
    range: Callable[[], LoadRange] | None = None
    possible: float | None = None
    """Repetitions to failure behind a load that was worked out from an effort. [reps]."""
    rest: int | None = None
    """Rest after it that the scheme states; None: the slot's. [s]"""
    of: int | None = None
    """How many of its role there can be; None: as many as are planned. [sets]"""
    cautions: tuple[Caution, ...] = ()
    """Those of the scheme, before those of the load."""
    how: str = ""
    """Follows the load in the sentence: ` , about 8 % lighter than the top set`."""
    other_reps: bool = False
    """Other repetitions than planned make up for steps that are too coarse; `how` says so."""
    text: str | Callable[[Draft], str] | None = None
    """The whole sentence, or how it is made, where the usual one does not fit."""
    note: str = ""
    """A further sentence, that is true of the plan alone (`UNSURE`)."""

    @property
    def middle(self) -> float:
        """Repetitions that load and effort are computed for. [reps]."""
        return ((self.reps or 0) + (self.reps_to or self.reps or 0)) / 2


def hang_draft(
    draft: Draft,
    g: Grounds,
    kg: float,
    *,
    fatigue: float = 0.0,
    at_most: Load | None = None,
    below: Load | None = None,
    down: bool = False,
    limited: bool = True,
) -> None:
    """Hang an effective mass on a draft: loading, expected effort, and the steps that say so. [kg].

    `down`: never above `kg`. `limited`: a load that was rounded up and is expected to reach the effort limit
    (`Grounds.limit`; where it is lifted, to pass 10) is rounded down instead. Raises NotComputable as `hang_under`.
    """
    kg = _under_cap(draft, g, kg)
    if g.rpe_cap is not None:
        kg, at_most = _under_effort(draft, g, kg, fatigue, at_most)
    found = hang_under(g, kg, rounding="down" if down else None, at_most=at_most, below=below)
    expected = _expected(draft, g, found.kg + g.body_kg, fatigue)
    draft.why.append(partial(_loadable, g, kg, found))
    if limited and _too_hard(g, expected) and found.kg + g.body_kg > kg:
        lower = hang_under(g, kg, rounding="down", at_most=at_most, below=below)
        if heavier(found.load, lower.load):
            draft.why.append(_rounded_down(g, found.load, lower.load, expected))
            found, expected = lower, _expected(draft, g, lower.kg + g.body_kg, fatigue)
    _hold(draft, g, found, expected)


def _too_hard(g: Grounds, expected: float | None) -> bool:
    """Whether nobody should be sent there by rounding: the effort limit, or more than all there is [RPE]."""
    if expected is None:
        return False
    return expected > 10 + _EPSILON if g.limit is None else expected >= g.limit


def _under_cap(draft: Draft, g: Grounds, kg: float) -> float:
    """The mass, or the coach's cap where that is less. [kg]."""
    if g.cap is None or g.cap.unit == "step" or g.effective(g.cap) >= kg:
        return kg
    exact = g.wire(kg)
    text = f"The coach's cap of {say(g.cap)} is less than {words.mass(kg - g.body_kg, g.unit)}, so it holds."
    inputs: tuple[Named, ...] = (Named("exact", exact.value, exact.unit),)
    formula = "override"
    if g.cap_of is not None:
        part = _allowed_percent(g)
        whole = f"{words.number(part, 3)} % of a max of {words.number(g.cap_of.value)} {g.cap_of.unit}"
        text = f"No more than {whole} is allowed, {say(g.cap)}: less than {words.mass(kg - g.body_kg, g.unit)}."
        inputs = (*inputs, Named("percent", part, "percent"), g.cap_of)
        formula = "override" if g.bounds.percent == part else "approval"
    draft.why.append(Step(text, formula, inputs, Named("cap", g.cap.value, g.cap.unit)))
    return g.effective(g.cap)


def _allowed_percent(g: Grounds) -> Number:
    """What the strictest cap of a percentage allows. [%]"""
    held = HELD_PERCENT if g.bounds.held and g.lift.technique else None
    return tidy(min(one for one in (g.bounds.percent, held) if one is not None), 3)


def _under_effort(
    draft: Draft, g: Grounds, kg: float, fatigue: float, at_most: Load | None
) -> tuple[float, Load | None]:
    """The mass, or what keeps the set at the effort that is allowed; and the load that rounding may not pass. [kg]"""
    rpe = g.rpe_cap
    if rpe is None or draft.reps is None:
        return kg, at_most
    try:
        most, shown_most = g.load_for(draft.middle, rpe, fatigue), g.most_kg(draft.middle, rpe, fatigue)
    except OutOfRange:  # a published curve that does not reach so far
        return kg, at_most
    if most is None or shown_most is None:
        return kg, at_most
    if kg > most + _EPSILON:
        by = "Until a coach has approved more," if g.bounds.held and rpe == HELD_RPE else "By a coach's decision"
        text = (
            f"{by} no set is harder than RPE {words.number(rpe)}: {words.mass(most - g.body_kg, g.unit)} instead of "
            f"{words.mass(kg - g.body_kg, g.unit)}."
        )
        exact, bound = g.wire(kg), g.wire(most)
        inputs = (Named("exact", exact.value, exact.unit), Named("most_rpe", tidy(rpe, 1), "rpe"))
        formula = "approval" if g.bounds.held and rpe == HELD_RPE else "override"
        draft.why.append(Step(text, formula, inputs, Named("most", bound.value, bound.unit)))
    return min(kg, most), strictest(at_most, not_above(shown_most - g.body_kg, g.unit))


def hang_as_is(draft: Draft, g: Grounds, loading: Loading | Hung, *, fatigue: float = 0.0) -> None:
    """Give a draft a loading that another set already has."""
    kg = None if loading.load.unit == "step" else g.effective(loading.load)
    _hold(draft, g, loading, None if kg is None else _expected(draft, g, kg, fatigue))


def _hold(draft: Draft, g: Grounds, loading: Loading | Hung, expected: float | None) -> None:
    draft.loading, draft.load, draft.expected = loading, loading.load, expected
    if isinstance(loading, Hung):
        draft.kg = loading.kg + g.body_kg
    else:
        draft.kg = None if loading.load.unit == "step" else g.effective(loading.load)


def _expected(draft: Draft, g: Grounds, kg: float, fatigue: float) -> float | None:
    """Effort of an effective mass; None where nothing is known of it. [kg] -> [RPE]"""
    return None if draft.reps is None else g.expected(kg, draft.middle, fatigue)


def _loadable(g: Grounds, kg: float, found: Hung) -> Step:
    """From the exact load to the one that hangs."""
    shown = found.load
    exact = found.exact
    inputs = (Named("exact", exact.value, exact.unit),)
    result = Named("load", shown.value, shown.unit)
    difference = found.kg + g.body_kg - kg
    what = words.load(shown, g.lift.load_kind)
    can = "is possible" if g.lift.load_kind == "bodyweight" else "can be loaded"
    if abs(difference) < 0.0005:
        return Step(f"{what[0].upper()}{what[1:]} {can} as it is.", "loadable", inputs, result)
    return Step(f"The {_side(difference, g)} that {can} is {what}.", "loadable", inputs, result)


def _side(difference: float, g: Grounds) -> str:
    if g.ctx.settings.rounding == "nearest":
        return "nearest"
    return "next lighter" if difference < 0 else "next heavier"


def _rounded_down(g: Grounds, above: Load, lower: Load, expected: float | None) -> Step:
    kind = g.lift.load_kind
    heavy = words.load(above, kind)
    rule = "" if g.limit is None else f", and work sets stay under RPE {words.number(g.limit)}"
    would = f"{heavy[0].upper()}{heavy[1:]} {words.would_be(expected or 0)}"
    text = f"{would}{rule}: rounded down to {words.load(lower, kind)}."
    inputs = [Named("load", above.value, above.unit), Named("expected_rpe", tidy(expected or 0, 1), "rpe")]
    if g.limit is not None:
        inputs.append(Named("effort_limit", tidy(g.limit, 1), "rpe"))
    return Step(text, "effort_limit", tuple(inputs), Named("load", lower.value, lower.unit))


def finish(drafts: Sequence[Draft], g: Grounds, *, why: bool = True) -> tuple[PrescribedSet, ...]:
    """Number the drafts within their roles and write them down; `why`: with their reasons."""
    totals: dict[Role, int] = {}
    for draft in drafts:
        totals[draft.role] = totals.get(draft.role, 0) + 1
    counted: dict[Role, int] = {}
    sets = []
    for draft in drafts:
        number = counted[draft.role] = counted.get(draft.role, 0) + 1
        sets.append(write(draft, g, number=number, of=totals[draft.role], why=why))
    return tuple(sets)


def write(draft: Draft, g: Grounds, *, number: int, of: int, why: bool = True) -> PrescribedSet:
    """A draft as an answer; `why`: with its reasons."""
    expected, loading = draft.expected, as_it_hangs(draft.loading)
    return PrescribedSet(
        role=draft.role,
        number=number,
        of=of if draft.of is None else draft.of,
        reps=draft.reps,
        reps_to=draft.reps_to,
        seconds=draft.seconds,
        metres=draft.metres,
        load=draft.load,
        expected_rpe=shown_rpe(expected),
        provisional=draft.provisional,
        rest_seconds=draft.rest or (None if draft.role == "warm_up" else g.slot.rest_seconds),
        text=((draft.text(draft) if callable(draft.text) else draft.text) or sentence(draft, g)) + draft.note,
        why=tuple([one if isinstance(one, Step) else one() for one in draft.why]) if why else (),
        range=None if draft.range is None else draft.range(),
        loading=loading,
        cautions=() if draft.role == "warm_up" else _cautions(draft, g, loading),
        overrides=(),
        without_override=None,
        in_parts=None if g.plain or draft.role == "warm_up" else in_parts(g.slot),
    )


def _cautions(draft: Draft, g: Grounds, loading: Loading | None) -> tuple[Caution, ...]:
    """Those of the day and of the scheme, where there are any, before those of the load."""
    found = of_set(
        g, role=draft.role, kg=draft.kg, expected=draft.expected, possible=draft.possible, loading=loading
    )  # fmt: skip
    if g.ctx.eased is None and g.ctx.behind is None and not draft.cautions:  # nearly always
        return found
    return before_work(g.ctx) + draft.cautions + found


def shown_rpe(expected: float | None) -> Number | None:
    """An expected effort as it is answered: within what is told apart, to a tenth. [RPE]"""
    return None if expected is None else tidy(min(max(expected, LIGHTEST_RPE), 10.0), 1)


def sentence(draft: Draft, g: Grounds) -> str:
    """The usual sentence of a set with its load."""
    if draft.seconds is not None:
        count = words.plural(draft.seconds, "second")
    elif draft.metres is not None:
        count = words.plural(draft.metres, "metre")
    else:
        count = words.reps(draft.reps, draft.reps_to) if g.plain and draft.reps is not None else _count(draft, g)
    if draft.load is None:
        return f"{count}{draft.how}."
    text = f"{count} with {words.load(draft.load, g.lift.load_kind, g.unit)}{draft.how}"
    if not g.plain and draft.role != "warm_up" and g.slot.scheme.kind == "cluster":
        return in_parts_text(g.slot, text, draft.expected)
    if draft.role == "warm_up" or draft.expected is None:
        return f"{text}."
    if draft.reps_to is not None and draft.reps_to != draft.reps:
        return f"{text}: {words.middle_leaves(draft.middle, draft.expected)}."
    return f"{text}: this {words.should_leave(draft.expected)}."


def _count(draft: Draft, g: Grounds) -> str:
    if draft.reps is None:
        return "As many as you choose"
    if draft.role in ("warm_up", "build_up"):
        return words.reps(draft.reps, draft.reps_to)
    return count_words(g.slot, draft.reps, draft.reps_to, g.ctx.lifts)


def all_cautions(sets: Iterable[PrescribedSet], more: Iterable[Caution] = ()) -> tuple[Caution, ...]:
    """The cautions of sets, each code once, and further ones before them."""
    found: dict[str, Caution] = {}
    for caution in (*more, *(caution for one in sets for caution in one.cautions)):
        found.setdefault(caution.code, caution)
    return tuple(found.values())
