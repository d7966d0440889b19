"""Back-off sets until an effort: how many are to be expected, and what the plan says of the rule."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from service.core import words
from service.core.answers import Named, Step
from service.core.prescribe.one_set import Draft
from service.core.slots import BackOff
from service.core.units import tidy

_EPSILON = 1e-9
GOES_ON, ONLY_WHILE = " Such sets go on until", " Only while the set before"
"""How the plan's further sentences about the rule begin. Of a set about to be lifted others are said."""


def about(efforts: Sequence[float | None], back_off: BackOff) -> int | None:
    """How many sets are to be expected before one reaches the effort.

    Parameters
    ----------
    efforts : sequence of float or None
        What each back-off set is expected to be, in order, all that there can be. [RPE]
    back_off : BackOff
        The rule: until which effort, the fewest and the most.

    Returns
    -------
    int or None
        Within the fewest and the most; None where nothing is known of their effort. [sets]

    Examples
    --------
    >>> about([7.2, 7.6, 8.1, 8.6], BackOff(less_percent=8, until_rpe=8))
    3
    """
    until = back_off.until_rpe
    if until is None or not efforts or any(one is None for one in efforts):
        return None
    reached = (at for at, one in enumerate(efforts, 1) if one is not None and one >= until - _EPSILON)
    return max(next(reached, len(efforts)), back_off.fewest_sets)


def tell_until(drafts: Sequence[Draft], back_off: BackOff) -> None:
    """Say on a plan's back-off sets how long they go on. All that there can be stand in the plan."""
    own = [one for one in drafts if one.role == "back_off"]
    efforts = [one.expected for one in own]
    count = about(efforts, back_off)
    reached = bool(efforts) and (efforts[-1] or 0) >= (back_off.until_rpe or 0) - _EPSILON
    for number, draft in enumerate(own, 1):
        draft.why.append(partial(until_step, back_off, count, reached=reached))
        if number == 1:
            draft.note += f"{GOES_ON} {_ends(back_off)}{_likely(count, reached=reached)}."
        if number > back_off.fewest_sets:
            draft.note += only_while(back_off)


def only_while(back_off: BackOff) -> str:
    """A further sentence on a set that may not come."""
    return f"{ONLY_WHILE} stayed under RPE {words.number(back_off.until_rpe or 0)}."


def in_hand(text: str) -> str:
    """The sentence of a planned set about to be lifted, without what was said of the plan."""
    return text.partition(GOES_ON)[0].partition(ONLY_WHILE)[0]


def goes_on(back_off: BackOff, number: int, of: int) -> str:
    """A further sentence on the set about to be lifted: what comes after it. `number` of `of`, from 1."""
    if number >= of:
        return ""
    if number < back_off.fewest_sets:
        return f" Such sets go on until {_ends(back_off)}."
    return f" It is the last one if it reaches RPE {words.number(back_off.until_rpe or 0)}."


def until_step(back_off: BackOff, count: int | None, *, reached: bool) -> Step:
    """The rule in the plan's reasons; `count`: about so many sets are to be expected; else all there may be. [sets]"""
    text = f"Back-off sets go on until {_ends(back_off)}{_likely(count, reached=reached)}."
    return Step(text, "stop_rule", rule_inputs(back_off), None if count is None else Named("sets", count, "sets"))


def _likely(count: int | None, *, reached: bool) -> str:
    if count is None:
        return ""
    if not reached:
        return "; by what is known none of them will be so hard"
    return f"; by what is known about {words.plural(count, 'set')}"


def rule_inputs(back_off: BackOff) -> tuple[Named, ...]:
    """The rule's numbers."""
    return (
        Named("until_rpe", tidy(float(back_off.until_rpe or 0), 1), "rpe"),
        Named("fewest", back_off.fewest_sets, "sets"),
        Named("most", back_off.most_sets, "sets"),
    )


def _ends(back_off: BackOff) -> str:
    fewest, most = back_off.fewest_sets, back_off.most_sets
    least = f"at least {fewest} and " if fewest > 1 else ""
    return f"one is RPE {words.number(back_off.until_rpe or 0)} or harder, {least}at most {words.plural(most, 'set')}"
