"""Back-off sets until an effort: when a set has reached it, and how the answer says so."""

from __future__ import annotations

from service.core import words
from service.core.adjust.facts import Facts
from service.core.adjust.judged import Judged
from service.core.answers import Named, Step
from service.core.prescribe.until import rule_inputs
from service.core.units import tidy

_EPSILON = 1e-9


def reached(f: Facts, judged: Judged, place: int | None) -> bool:
    """Whether a set at a place of the plan ends the back-off sets: hard enough, and the fewest are done.

    By what was reported; where nothing was, by what was expected of it.
    """
    rule = f.until
    if rule is None or rule.until_rpe is None or place is None or f.sets[place].role != "back_off":
        return False
    first = next(one.index for one in f.sets if one.role == "back_off")
    if place - first + 1 < rule.fewest_sets:
        return False
    effort = judged.reported if judged.reported is not None else judged.expected
    return effort is not None and effort >= rule.until_rpe - _EPSILON


def end_text(f: Facts, judged: Judged | None) -> str:
    """Why the back-off sets end."""
    if f.until is None:
        return "The back-off sets end here: this lift is done for today."
    until = f"back-off sets end at RPE {words.number(f.until.until_rpe or 0)}: this lift is done for today."
    if judged is None:
        return f"{until[0].upper()}{until[1:]}"
    if judged.reported is not None:
        return f"That was RPE {words.number(judged.reported)}, and {until}"
    return f"By what is known that was about RPE {words.number(judged.expected or 0)}, and {until}"


def end_why(f: Facts, judged: Judged | None) -> tuple[Step, ...]:
    """The rule that ended the lift."""
    if f.until is None or judged is None:
        return ()
    effort = judged.reported if judged.reported is not None else judged.expected
    if effort is None:
        return ()
    least = f", after at least {words.plural(f.until.fewest_sets, 'set')}"
    text = f"Back-off sets end with one that is RPE {words.number(f.until.until_rpe or 0)} or harder{least}."
    return (Step(text, "stop_rule", rule_inputs(f.until), Named("rpe", tidy(effort, 1), "rpe")),)
