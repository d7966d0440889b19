"""Sentences that lifters read: loads, efforts, what a slot asks for. No codes, no abbreviations."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from types import MappingProxyType

from service.core import effort
from service.core.records import Felt, Lift, LoadKind
from service.core.slots import (
    AddLoad,
    Basis,
    Cluster,
    DistanceTarget,
    EffortTarget,
    FreeTarget,
    Ladder,
    MaxTest,
    OpenLastSet,
    PercentTarget,
    SetsAtTarget,
    Slot,
    Target,
    TimeTarget,
    TopSet,
)
from service.core.units import GRAINS_PER_KG, KG_PER, Load, MassUnit, Number, say, tidy

BASIS_WORDS: dict[Basis, str] = {
    "tested": "tested max",
    "training": "training max",
    "day": "max of the day",
    "rolling": "estimated max",
}
FELT: dict[Felt, str] = {
    "lighter": "lighter than expected",
    "as_expected": "as expected",
    "heavier": "heavier than expected",
}
NO_LIFTS: Mapping[str, Lift] = MappingProxyType({})
"""Where no lifts are at hand, they are told by their words."""
_MONTHS = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)  # fmt: skip


def number(value: float, decimals: int = 1) -> str:
    """A number for reading, without a useless zero.

    >>> number(126.802), number(8.0), number(84.53, 2)
    ('126.8', '8', '84.53')
    """
    return f"{round(value, decimals) + 0.0:g}"  # minus nothing is nothing


def mass(kg: float, unit: MassUnit) -> str:
    """A computed mass for reading, to a tenth of the unit; whole quarters, as plates make them, exactly. [kg].

    >>> mass(126.802, "kg"), mass(102.058, "lb"), mass(128.25, "kg")
    ('126.8 kg', '225 lb', '128.25 kg')
    """
    value = kg / KG_PER[unit]
    quarters = abs(4 * value - round(4 * value)) < 1e-6
    return f"{round(value, 2 if quarters else 1) + 0.0:g} {unit}"  # as `number`


def both(shown: Load, unit: MassUnit) -> str:
    """A load as it hangs, with the lifter's unit where it hangs in another.

    >>> from service.core.units import load as make
    >>> both(make(85, "kg"), "lb"), both(make(85, "kg"), "kg")
    ('85 kg (187.4 lb)', '85 kg')
    """
    return _both(shown, say(shown), unit)


def _both(shown: Load, said: str, unit: MassUnit | None) -> str:
    if unit is None or shown.unit in (unit, "step"):
        return said
    return f"{said} ({abs(in_unit(shown.grains / GRAINS_PER_KG, unit, 1)):g} {unit})"


def in_unit(kg: float, unit: MassUnit, decimals: int = 3) -> Number:
    """A computed mass in a unit; without making a load of it, which costs ten times as much [kg].

    >>> in_unit(102.05828325, "lb"), in_unit(126.8024, "kg", 1)
    (225, 126.8)
    """
    return tidy(kg / KG_PER[unit], decimals)


def plural(count: float, one: str, many: str | None = None) -> str:
    """A count with its noun.

    >>> plural(1, "set"), plural(2.5, "repetition")
    ('1 set', '2.5 repetitions')
    """
    return f"{number(count)} {one if count == 1 else many or one + 's'}"


def times(count: int, lift: str) -> str:
    """A count with a lift's name.

    >>> times(1, "clean"), times(2, "jerk"), times(3, "press")
    ('1 clean', '2 jerks', '3 presses')
    """
    return plural(count, lift, f"{lift}{'es' if lift.endswith(('s', 'x', 'ch', 'sh')) else 's'}")


def day(on: date) -> str:
    """A date for reading.

    >>> day(date(2026, 11, 25))
    '25 November 2026'
    """
    return f"{on.day} {_MONTHS[on.month - 1]} {on.year}"


def listing(items: tuple[str, ...]) -> str:
    """A list in words.

    >>> listing(("70", "80", "100"))
    '70, 80 and 100'
    """
    return items[0] if len(items) == 1 else f"{', '.join(items[:-1])} and {items[-1]}"


def load(shown: Load, kind: LoadKind, unit: MassUnit | None = None) -> str:
    """A load as the lifter takes it, by the lift's load kind; in `unit` too, where it hangs in another.

    >>> from service.core.units import load as make
    >>> load(make(22.5, "kg"), "per_hand"), load(make(-15, "kg"), "bodyweight"), load(make(0, "kg"), "bodyweight")
    ('22.5 kg in each hand', 'body weight and 15 kg of assistance', 'body weight')
    """
    if kind == "per_hand":
        return f"{_both(shown, say(shown), unit)} in each hand"
    if kind != "bodyweight":
        return say(shown) if unit is None or shown.unit == unit else _both(shown, say(shown), unit)
    if shown.value == 0:
        return "body weight"
    if shown.value < 0:
        return f"body weight and {_both(shown, f'{-shown.value:g} {shown.unit}', unit)} of assistance"
    return f"body weight and {_both(shown, say(shown), unit)}"


def should_leave(expected_rpe: float) -> str:
    """What a set of this effort should leave. [RPE].

    >>> should_leave(7.7), should_leave(10.4)
    ('should leave two or three repetitions', 'is likely to be missed')
    """
    if expected_rpe > 10:
        return "is likely to be missed"
    return "should leave" + effort.words_left(expected_rpe).removeprefix("leaves")


def would_be(expected_rpe: float) -> str:
    """What a set that is not done would be [RPE].

    >>> would_be(9.34), would_be(11)
    ('would be RPE 9.3', 'would likely be missed')
    """
    return "would likely be missed" if expected_rpe > 10 else f"would be RPE {number(expected_rpe)}"


def reps(count: int | None, to: int | None = None) -> str:
    """Repetitions, or a range of them.

    >>> reps(3), reps(8, 12)
    ('3', '8 to 12')
    """
    return f"{count}" if to is None or to == count else f"{count} to {to}"


def middle_leaves(middle: float, expected_rpe: float) -> str:
    """What the middle of a range of repetitions should leave: nobody does half of one. [reps], [RPE]

    >>> middle_leaves(10, 7.7)
    '10 repetitions should leave two or three repetitions'
    >>> middle_leaves(6.5, 10.4)
    '6 or 7 repetitions are likely to be missed'
    """
    count = number(middle) if middle == int(middle) else f"{int(middle)} or {int(middle) + 1}"
    return f"{count} repetitions {should_leave(expected_rpe).replace('is likely', 'are likely')}"


def lift_words(word: str, lifts: Mapping[str, Lift] = NO_LIFTS) -> str:
    """A lift within a sentence: its name; of one that the gym does not have, its word.

    >>> lift_words("slow-bench", {"slow-bench": Lift(id="slow-bench", name="Slow bench press", load_kind="total")})
    'slow bench press'
    >>> lift_words("slow-bench")
    'slow bench'
    """
    known = lifts.get(word)
    return word.replace("-", " ") if known is None else known.name.lower()


def slot_text(slot: Slot, lifts: Mapping[str, Lift] = NO_LIFTS) -> str:
    """What a slot asks for, from its scheme and target alone; lifts by their names.

    >>> slot_text(Slot(lift="row", scheme=SetsAtTarget(sets=4), target=EffortTarget(reps=6, reps_to=8, rpe=8)))
    '4 sets of 6 to 8 at RPE 8'
    """
    text = _scheme_text(slot, lifts)
    if not slot.complex:
        return text
    parts = tuple(times(one.reps, lift_words(one.lift, lifts)) for one in slot.complex)
    return f"{text}, each repetition {listing(parts)} in a row"


def _scheme_text(slot: Slot, lifts: Mapping[str, Lift]) -> str:
    scheme, target = slot.scheme, slot.target
    kind = lifts[slot.lift].load_kind if slot.lift in lifts else "total"
    asked = _of(target, lifts, kind)
    if isinstance(scheme, TopSet):
        return f"Top set{asked}" + _followers(scheme)
    if isinstance(scheme, SetsAtTarget):
        return f"{plural(scheme.sets, 'set')}{asked}{_grows(scheme.add_load)}"
    if isinstance(scheme, OpenLastSet):
        return _open(scheme, asked, _asked(target, lifts, kind))
    if isinstance(scheme, Cluster):
        return (
            f"{plural(scheme.sets, 'set')} in {plural(scheme.parts, 'part')}{asked}, "
            f"with {plural(scheme.rest_seconds, 'second')} between the parts"
        )
    if isinstance(scheme, Ladder):
        return f"Find a working load: from the lightest up, sets{asked}"
    if isinstance(scheme, MaxTest):
        return f"Test: work up to the heaviest{asked.removesuffix(' at RPE 10')}"
    percents = listing(tuple(number(percent) for percent in scheme.percents))
    return f"{plural(len(scheme.percents), 'set')}{asked}, rising: {percents} % of that load"


def _grows(add: AddLoad | None) -> str:
    """How the load grows, what comes off after sessions that were not complete, and until when that goes on."""
    if add is None:
        return ""
    if add.lighter_percent is not None:
        off = f"{number(add.lighter_percent, 3)} % less than" if add.lighter_percent else "no more than"
        return f", lighter on purpose: {off} the last load"
    when = "when all sets are complete" if add.when == "all_sets_complete" else "when two more were done twice"
    text = f", {say(add.step)} more {when}"
    if add.after_failures is not None and add.less_percent is not None:
        failed = plural(add.after_failures, "session")
        failed += " that was not complete" if add.after_failures == 1 else " in a row that were not complete"
        text += f", {number(add.less_percent, 3)} % less after {failed}"
    return f"{text}, until the lift is known well enough" if add.until_sure else text


def _followers(scheme: TopSet) -> str:
    off = scheme.back_off
    if off is not None and off.until_rpe is not None:
        count = f"{off.fewest_sets} to {plural(off.most_sets, 'set')}"
        return f", then {count} {number(off.less_percent)} % lighter until one is RPE {number(off.until_rpe)}"
    if off is not None:
        return f", then {plural(off.most_sets, 'set')} {number(off.less_percent)} % lighter"
    if scheme.same_load is not None:
        return f", then {plural(scheme.same_load.sets, 'set')} with the same load"
    return ""


def _open(scheme: OpenLastSet, asked: str, how: str) -> str:
    text = "as many good repetitions as possible"
    text += f", {scheme.most_reps} at most" if scheme.most_reps is not None else ""
    text += f", stopping at RPE {number(scheme.stop_rpe)}" if scheme.stop_rpe is not None else ""
    if scheme.sets_before == 0:
        return f"One set{how}: {text}"
    return f"{plural(scheme.sets_before, 'set')}{asked}, then {text}"


def _of(target: Target, lifts: Mapping[str, Lift], kind: LoadKind) -> str:
    """The target after its sets: ` of 3 at RPE 7.5`, ` of 40 seconds with 20 kg`."""
    if isinstance(target, TimeTarget):
        return f" of {plural(target.seconds, 'second')}" + _asked(target, lifts, kind)
    if isinstance(target, DistanceTarget):
        return f" of {plural(target.metres, 'metre')}" + _asked(target, lifts, kind)
    if isinstance(target, FreeTarget) and target.reps is None:
        return ", as you choose"
    return f" of {reps(target.reps, target.reps_to)}" + _asked(target, lifts, kind)


def _asked(target: Target, lifts: Mapping[str, Lift], kind: LoadKind) -> str:
    """How hard or how heavy, with a space before it."""
    if isinstance(target, EffortTarget):
        if target.rpe is not None:
            return f" at RPE {number(target.rpe)}"
        return f" with {plural(target.rir or 0, 'repetition')} left" if target.rir else " with nothing left"
    if isinstance(target, PercentTarget):
        whose = f" in the {lift_words(target.of, lifts)}" if target.of is not None else ""
        return f" at {band(target.percent, target.percent_to)} % of the {BASIS_WORDS[target.basis]}{whose}"
    if isinstance(target, FreeTarget):
        return ", load as you choose"
    return f" with {load(target.load, kind)}" if target.load is not None else ""


def band(low: Number, high: Number | None) -> str:
    """A number or a band of them.

    >>> band(72.5, None), band(60, 65)
    ('72.5', '60 to 65')
    """
    return number(low, 2) if high is None or high == low else f"{number(low, 2)} to {number(high, 2)}"


def target_reps(target: Target) -> tuple[int | None, int | None]:
    """Repetitions a target asks for, and the end of their range."""
    if isinstance(target, TimeTarget | DistanceTarget):
        return None, None
    return target.reps, target.reps_to


def middle_reps(target: Target) -> float | None:
    """Middle of the repetitions asked; what loads and efforts are computed for. [reps].

    >>> middle_reps(FreeTarget(reps=8, reps_to=12))
    10.0
    """
    low, high = target_reps(target)
    return None if low is None else (low + (high if high is not None else low)) / 2


def left(rpe: float) -> str:
    """What a load of one's choice should leave. [RPE].

    >>> left(8), left(10)
    ('leaves about two repetitions', 'leaves nothing')
    """
    return effort.words_left(rpe)
