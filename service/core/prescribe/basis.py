"""Which max is meant: the one that an effort is read by, and the one that a percentage is of."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date

from service.core.answers import Named, Step
from service.core.context import Context
from service.core.errors import NotComputable
from service.core.records import KnownMax, Lift, SupportClass
from service.core.slots import Basis
from service.core.words import BASIS_WORDS, in_unit, mass, number, plural

LONGEST_CHAIN = 3
"""A variation of a variation of a variation: further than this a ratio says nothing. [lifts]."""


@dataclass(slots=True, kw_only=True)
class Found:
    """The max that an answer stands on, effective like `KnownMax.kg`."""

    kg: float
    basis: Basis
    """Where it comes from in the end; a training max worked out from a tested one is `tested`."""
    on: date
    lift: str
    """Whose max it is."""
    ratio: float = 1.0
    """Of the lift asked for to `lift`; 1 where the lift has its own."""
    phrase: str
    """For sentences: `the tested max`, `today's max`."""
    age_days: int
    steps: tuple[Step, ...] = ()
    """What lies between the recorded max and this one."""
    provisional: bool = False
    tested: bool = False
    """It was lifted in a test or a meet."""


def find_max(
    lift_id: str,
    ctx: Context,
    *,
    basis: Basis | None = None,
    support: SupportClass = "unsupported",
    valid_days: int | None = None,
) -> Found:
    """The max in force for a lift on `ctx.on`, of the same support class only.

    Parameters
    ----------
    lift_id : str
        The lift asked for. Without an own max that serves, the max of the lift it is based on serves, times the
        ratio, up to three lifts on.
    basis : Basis or None
        None (an effort): today's day max, else rolling, tested, training divided by its percentage.
        `tested`: that only. `training`: the entered one, else its percentage of the tested max.
        `day`: one at most `valid_days` old, else rolling, tested, training stand in. `rolling`: that, else the
        tested or training max stands in.
    valid_days : int or None
        How many days a day max serves, that of its set included; None: 1, today only. [days]

    Returns
    -------
    Found
        With `provisional` where a max of another basis stands in.

    Raises
    ------
    NotComputable
        `no_max`; `unknown_lift`; `technique_lift` for the rolling max of such a lift.
    """
    lift = _lift(lift_id, ctx)
    if basis == "rolling" and lift.technique:
        raise NotComputable(
            "technique_lift",
            f"There is no estimated max of the {lift.name.lower()}: technique ends its sets, not strength. "
            "Use the tested max or the day's heaviest made single.",
        )
    path: list[Lift] = []
    at: Lift | None = lift
    while at is not None and len(path) <= LONGEST_CHAIN:
        found = _own(at, ctx, basis, support, valid_days or 1)
        if found is not None:
            return _by_ratio(found, path, at, ctx) if path else found
        path.append(at)
        at = ctx.lifts.get(at.based_on) if at.based_on is not None and at.ratio is not None else None
    raise NotComputable("no_max", _no_max(lift, ctx, basis, support))


def _lift(lift_id: str, ctx: Context) -> Lift:
    found = ctx.lifts.get(lift_id)
    if found is None:
        raise NotComputable("unknown_lift", f"There is no lift named {lift_id!r}.")
    return found


def _no_max(lift: Lift, ctx: Context, basis: Basis | None, support: SupportClass) -> str:
    name = lift.name.lower()
    others = sorted({m.support for m in ctx.maxes if m.lift == lift.id and m.on <= ctx.on and m.support != support})
    if others:
        return (
            f"The {name} has a max only for: {', '.join(others)}. Maxes are compared like with like: "
            f"enter one for {support}."
        )
    wanted = "max" if basis in (None, "day", "rolling") else BASIS_WORDS[basis]
    helps = {"tested": "or test it", "training": "or a tested one that it is a part of"}
    how = helps.get(basis or "", "or log a heavy set with its effort")
    return f"No {wanted} of the {name} is known on this day: enter one, {how}."


def _own(lift: Lift, ctx: Context, basis: Basis | None, support: SupportClass, valid_days: int) -> Found | None:
    """The lift's own max that serves for a basis, with what stands in for it."""
    newest: dict[Basis, KnownMax] = {}
    for one in ctx.maxes:
        if one.lift == lift.id and one.support == support and one.on <= ctx.on:
            held = newest.get(one.basis)
            if held is None or one.on >= held.on:
                newest[one.basis] = one
    if not newest:
        return None
    if basis == "tested":
        return _taken(newest.get("tested"), ctx)
    if basis == "training":
        return _taken(newest.get("training"), ctx) or _training_of(_taken(newest.get("tested"), ctx), ctx)
    heavy = newest.get("day")
    void: KnownMax | None = None
    if heavy is not None and (ctx.on - heavy.on).days >= (valid_days if basis == "day" else 1):
        heavy = None
    elif heavy is not None and ctx.day_maxes_since is not None and heavy.on < ctx.day_maxes_since:
        heavy, void = None, heavy
    if basis != "rolling" and heavy is not None:
        return _taken(heavy, ctx)
    found = _estimated_or_entered(lift, newest, ctx, basis)
    return found if found is None or void is None else replace(found, steps=(_void(void, ctx), *found.steps))


def _void(day: KnownMax, ctx: Context) -> Step:
    """The max of a day that would still serve, had there been no absence since."""
    ago = (ctx.on - day.on).days
    text = (
        f"The max of {mass(day.kg, ctx.unit)} from {plural(ago, 'day')} ago is from before the absence: "
        "it no longer counts."
    )
    return Step(text, "before_absence", (_named("max", day.kg, ctx), Named("age", ago, "days")), None)


def _estimated_or_entered(lift: Lift, newest: dict[Basis, KnownMax], ctx: Context, basis: Basis | None) -> Found | None:
    rolling = None if lift.technique else newest.get("rolling")
    found = _taken(rolling, ctx) or _taken(newest.get("tested"), ctx)
    if found is None:
        found = _of_training(_taken(newest.get("training"), ctx), ctx)
    if found is None or basis is None or found.basis == basis:
        return found
    return _standing_in(found, basis, ctx)


def entered_max(lift_id: str, ctx: Context, support: SupportClass) -> Found | None:
    """The max that somebody entered for a lift itself: the newest tested one, else that behind the training max."""
    tested = training = None
    for one in ctx.maxes:
        if one.lift != lift_id or one.support != support or one.on > ctx.on:
            continue
        if one.basis == "tested" and (tested is None or one.on >= tested.on):
            tested = one
        elif one.basis == "training" and (training is None or one.on >= training.on):
            training = one
    return _taken(tested, ctx) or _of_training(_taken(training, ctx), ctx)


def _taken(known: KnownMax | None, ctx: Context) -> Found | None:
    if known is None:
        return None
    return Found(
        kg=known.kg,
        basis=known.basis,
        on=known.on,
        lift=known.lift,
        phrase=_phrase(known, ctx),
        age_days=(ctx.on - known.on).days,
        tested=known.basis == "tested" and known.source != "given",
    )


def _phrase(known: KnownMax, ctx: Context) -> str:
    if known.source == "given":
        return "the given max"
    if known.basis == "day":
        return "today's max" if known.on == ctx.on else "the max of that day"
    return f"the {BASIS_WORDS[known.basis]}"


def _training_of(tested: Found | None, ctx: Context) -> Found | None:
    """A training max that nobody entered."""
    if tested is None:
        return None
    percent = ctx.settings.training_max_percent
    kg = tested.kg * percent / 100
    text = (
        f"No training max is entered: it is {number(percent, 2)} % of {tested.phrase} of "
        f"{mass(tested.kg, ctx.unit)}, which is {mass(kg, ctx.unit)}."
    )
    inputs = (_named("max", tested.kg, ctx), Named("training_max_percent", percent, "percent"))
    step = Step(text, "training_percent", inputs, _named("training_max", kg, ctx))
    return replace(tested, kg=kg, phrase="this training max", steps=(step,))


def _of_training(training: Found | None, ctx: Context) -> Found | None:
    """The max behind a training max."""
    if training is None:
        return None
    percent = ctx.settings.training_max_percent
    kg = training.kg * 100 / percent
    text = (
        f"{training.phrase.capitalize()} of {mass(training.kg, ctx.unit)} is {number(percent, 2)} % of a max of "
        f"{mass(kg, ctx.unit)}."
    )
    inputs = (_named("training_max", training.kg, ctx), Named("training_max_percent", percent, "percent"))
    step = Step(text, "training_percent", inputs, _named("max", kg, ctx))
    return replace(training, kg=kg, phrase="this max", steps=(step,))


def _standing_in(found: Found, basis: Basis, ctx: Context) -> Found:
    until = (
        "Until today's heavy set tells the max of the day" if basis == "day" else "Until the log tells an estimated max"
    )
    text = f"{until}, {found.phrase} of {mass(found.kg, ctx.unit)} stands in."
    max_now = _named("max", found.kg, ctx)
    return replace(found, steps=(*found.steps, Step(text, "stand_in", (max_now,), max_now)), provisional=True)


def _by_ratio(found: Found, path: list[Lift], parent: Lift, ctx: Context) -> Found:
    """A max carried over from the lift that `path` is based on."""
    ratio = 1.0
    for lift in path:
        ratio *= lift.ratio or 1.0
    kg = found.kg * ratio
    sources = dict.fromkeys(lift.ratio_source or "common practice, no source" for lift in path)
    text = (
        f"The {path[0].name.lower()} has no max of its own: {number(ratio, 3)} times {found.phrase} of the "
        f"{parent.name.lower()}, {mass(found.kg, ctx.unit)}, is {mass(kg, ctx.unit)} (ratio: “{'; '.join(sources)}”)."
    )
    inputs = (_named("max", found.kg, ctx), Named("ratio", round(ratio, 3), "ratio"))
    step = Step(text, "ratio", inputs, _named("max_by_ratio", kg, ctx))
    return replace(found, kg=kg, ratio=ratio, phrase="this max", steps=(*found.steps, step))


def age(found: Found) -> tuple[str, tuple[Named, ...]]:
    """How old a max is, in words with a space before, and as an input; nothing for one of the same day."""
    if found.age_days == 0:
        return "", ()
    return f" ({plural(found.age_days, 'day')} old)", (Named("age", found.age_days, "days"),)


def _named(name: str, kg: float, ctx: Context) -> Named:
    return Named(name, in_unit(kg, ctx.unit), ctx.unit)
