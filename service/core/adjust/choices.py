"""Pain was reported: ways to go on, and words of caution. Pain is never coached through, and nothing is diagnosed."""

from __future__ import annotations

from dataclasses import replace

from service.core import words
from service.core.adjust.facts import Facts
from service.core.answers import Caution, Choice, Option, PrescribedSet
from service.core.prescribe.parts import count_words

SOME = Caution(
    "pain_reported",
    "Do not train through pain: tell the coach on the floor. If it stays, gets worse or comes back, stop and see a "
    "licensed practitioner.",
)
STOP = Caution(
    "pain_stop",
    "Tell the coach on the floor, and see a licensed practitioner before you train this lift again.",
)
WARNING_SIGNS = Caution(
    "warning_signs",
    "End the whole session and get medical help at once for chest pain, trouble breathing, fainting, a severe or "
    "sudden headache, numbness or weakness, or a joint that gave way, popped or cannot take weight.",
)


def pain_choice(f: Facts, lighter: PrescribedSet | None, slot_id: str | None) -> Choice:
    """Two or three ways to go on after some pain, for the lifter and the coach to choose from.

    `lighter` is the set that would come next, kept about 10 % lighter than the painful one; None where nothing is
    left or nothing is light enough. The coach's substitute is the newest lift that a coach exchanged this one for.
    """
    options: list[Option] = []
    to_lift = substitute(f)
    name = f.g.lift.name.lower()
    if lighter is not None:
        what = _what(f, lighter)
        lighter = replace(lighter, text=f"{what[0].upper()}{what[1:]}.")  # the option says the rest
        if to_lift is None:
            text = f"Go on lighter: {what}, as long as it does not hurt."
            options.append(Option(text=text, set=lighter, ends=None, to_lift=None))
            text = f"Stay lighter and shorten the range to where nothing hurts: {what}."
            options.append(Option(text=text, set=lighter, ends=None, to_lift=None))
        else:
            text = f"Go on lighter, with a shorter range if that helps: {what}, as long as it does not hurt."
            options.append(Option(text=text, set=lighter, ends=None, to_lift=None))
    if to_lift is not None:
        known = f.g.ctx.lifts.get(to_lift)
        other = known.name.lower() if known is not None else to_lift.replace("-", " ")
        text = f"Do the {other} instead, which your coach has named for the {name} before."
        options.append(Option(text=text, set=None, ends=None, to_lift=to_lift))
    options.append(Option(text=f"End the {name} for today.", set=None, ends="lift", to_lift=None))
    if len(options) == 1:
        options.append(Option(text="End the session for today.", set=None, ends="session", to_lift=None))
    text = "You reported pain. Choose with the coach on the floor how to go on; ending the lift is always right."
    return Choice(slot=slot_id, text=text, options=tuple(options), cautions=(SOME, WARNING_SIGNS))


def substitute(f: Facts) -> str | None:
    """A lift that a coach has exchanged this one for, then or now."""
    lift = f.g.lift.id
    named = [
        one
        for one in f.g.ctx.overrides
        if one.kind == "exchange" and one.lift == lift and one.to_lift is not None and one.to_lift != lift
    ]
    return max(named, key=lambda one: (one.until, one.id)).to_lift if named else None


def _what(f: Facts, one: PrescribedSet) -> str:
    if one.load is None:
        return "less load than before"
    count = count_words(f.slot, one.reps, one.reps_to, f.g.ctx.lifts) if one.reps is not None else "the next set"
    return f"{count} with {words.load(one.load, f.g.lift.load_kind, f.g.unit)}"
