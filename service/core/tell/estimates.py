"""What is known of a lift's max: in words, with its range, today or ahead; or why nothing is known."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

from service.core.ability.by_model import ByModel
from service.core.answers import Caution, Named, Step
from service.core.context import Context
from service.core.errors import NotComputable
from service.core.model.levels import Ranged, max_ahead, rolling_max
from service.core.model.needs import needs
from service.core.model.smooth import Smoothed
from service.core.model.state import Person, Row
from service.core.prescribe.basis import Found
from service.core.prescribe.grounds import ground
from service.core.records import MODEL, KnownMax, Lift, SupportClass
from service.core.slots import FreeTarget, SetsAtTarget, Slot
from service.core.tell.answers import HistoryPoint, LiftDetail, LiftEstimate, TaughtSession
from service.core.tell.manner import manner
from service.core.tell.measure import Measure
from service.core.tell.parts import Session
from service.core.tell.sure import AWAY_DAYS, Sure, sure
from service.core.tell.taught import taught
from service.core.tell.unknown import Missing, unknown
from service.core.words import day, plural

WORN: dict[SupportClass, tuple[str, ...]] = {"unsupported": (), "wraps": ("wraps",), "suit": ("suit",)}
"""Words of support for each class."""
SUPPORTED: dict[SupportClass, str] = {"unsupported": "", "wraps": " in wraps", "suit": " in a suit or shirt"}


@dataclass(slots=True, kw_only=True)
class Ground:
    """What an answer about a lift stands on. Treated as if it were frozen."""

    lift: Lift
    support: SupportClass
    shown: Measure
    row: Row | None = None
    """Opened on the day; None where nothing is known."""
    person: Person | None = None
    found: Found | None = None
    """Where the max comes from."""
    missing: Missing | None = None
    """Why nothing is known."""


def stand(lift: Lift, support: SupportClass, ctx: Context, *, logged: bool) -> Ground:
    """What is known of a lift on `ctx.on`, by the model, whatever curve is pinned.

    Parameters
    ----------
    lift : Lift
        One of `ctx.lifts`.
    support : SupportClass
        What it is done in.
    ctx : Context
        The athlete; with what the log has taught.
    logged : bool
        Whether sets of it are logged: without an effort they tell nothing.
    """
    shown = Measure(lift, ctx.unit, _body(lift, ctx))
    slot = Slot(lift=lift.id, scheme=SetsAtTarget(sets=1), target=FreeTarget(), support=WORN[support])
    modelled = replace(ctx, settings=replace(ctx.settings, curve=MODEL, lift_curves=()))
    missing: Missing
    try:
        g = ground(slot, modelled)
    except NotComputable as refusal:
        if refusal.code != "no_body_weight":
            raise
        return Ground(lift=lift, support=support, shown=shown, missing="no_body_weight")
    if isinstance(g.ability, ByModel) and g.able is not None and g.ability.known:
        ability = g.ability
        return Ground(
            lift=lift, support=support, shown=shown, row=ability.row, person=ability.person, found=g.able
        )  # fmt: skip
    if lift.technique:
        missing = "technique_lift"
    elif lift.load_kind == "none":
        missing = "no_load"
    elif g.massless:
        missing = "no_mass"
    else:
        missing = "no_effort" if logged else "no_max"
    return Ground(lift=lift, support=support, shown=shown, missing=missing)


def _body(lift: Lift, ctx: Context) -> float:
    return (ctx.body_weight_kg or 0.0) if lift.load_kind == "bodyweight" else 0.0


def estimate(
    at: Ground, ctx: Context, *, stack: str | None = None, last: date | None = None, days_ahead: int = 0
) -> LiftEstimate:
    """What is known of a lift's max.

    Parameters
    ----------
    at : Ground
        From `stand`.
    ctx : Context
        The same; its day is today, or the day in the past that is asked about.
    stack : str or None
        The machine.
    last : date or None
        Date of the last session of the lift.
    days_ahead : int
        Days after `ctx.on` that the max is asked of, >= 0. [days]
    """
    if at.row is None or at.person is None or at.found is None:
        return _unknown(at, ctx, stack, last)
    now = rolling_max(at.row, at.person)
    if now is None:
        return _unknown(at, ctx, stack, last)
    then = now if days_ahead == 0 else max_ahead(at.row, at.person, days_ahead) or now
    steps = list(at.found.steps) or [_entered(at, at.found)]
    if days_ahead:
        steps.append(_ahead(at, now, then, days_ahead))
    return LiftEstimate(
        lift=at.lift.id,
        name=at.lift.name,
        support=at.support,
        stack=stack,
        max=at.shown.load(then.kg),
        range=at.shown.range(then),
        basis=at.found.basis,
        last=last,
        sets=at.row.used_ever,
        sure_percent=percent(then),
        text=_text(at, then, days_ahead),
        why=tuple(steps),
        cautions=_cautions(at, ctx, last),
    )


def percent(known: Ranged) -> int:
    """Half of a range against its middle, in whole percent, at least one."""
    return max(round(50 * (known.high - known.low) / known.kg), 1)


def _text(at: Ground, then: Ranged, days_ahead: int) -> str:
    which = f"{at.lift.name}{SUPPORTED[at.support]}"
    span = f"in 8 of 10 such cases it is {at.shown.span(then)}"
    if days_ahead:
        ahead = plural(days_ahead, "day")
        return f"{which}: in {ahead}, if training goes on as usual, a max of about {at.shown.say(then.kg)}; {span}."
    if at.row is not None and at.row.at_least:
        so_far = "and perhaps far more, as only easy sets are known"
        return f"{which}: a max of at least {at.shown.say(then.kg)}, {so_far}; {span}."
    return f"{which}: a max of about {at.shown.say(then.kg)}; {span}."


def _entered(at: Ground, found: Found) -> Step:
    """A max that somebody entered is where it starts."""
    text = f"No set has told anything yet: {found.phrase} of {at.shown.say(found.kg)} is where it starts."
    named = at.shown.named("max", found.kg)
    return Step(text, "entered_max", (named, Named("age", found.age_days, "days")), named)


def _ahead(at: Ground, now: Ranged, then: Ranged, days: int) -> Step:
    text = (
        f"From {at.shown.say(now.kg)} today, {plural(days, 'day')} of training as usual lead to about "
        f"{at.shown.say(then.kg)}, {at.shown.span(then)}: the further ahead, the less sure."
    )
    inputs = (
        at.shown.named("max", now.kg),
        Named("days", days, "days"),
        at.shown.named("low", then.low),
        at.shown.named("high", then.high),
    )
    return Step(text, "max_ahead", inputs, at.shown.named("max_ahead", then.kg))


def _unknown(at: Ground, ctx: Context, stack: str | None, last: date | None) -> LiftEstimate:
    """Why nothing is estimated; with the newest max that was entered, or lifted in such a lift, where there is one."""
    known = newest(at, ctx)
    text = unknown(at.lift, at.missing or "no_max")
    steps: tuple[Step, ...] = ()
    if known is not None:
        kind = "tested max" if known.basis == "tested" else "heaviest single of the day"
        text += f" The last {kind}: {at.shown.say(known.kg)} on {day(known.on)}."
        named = at.shown.named("max", known.kg)
        steps = (Step(f"The {kind} of {day(known.on)} is {at.shown.say(known.kg)}.", "entered_max", (named,), named),)
    return LiftEstimate(
        lift=at.lift.id,
        name=at.lift.name,
        support=at.support,
        stack=stack,
        max=None if known is None else at.shown.load(known.kg),
        range=None,
        basis=None if known is None else known.basis,
        last=last,
        sets=0,
        sure_percent=None,
        text=text,
        why=steps,
        cautions=_away(ctx, last),
    )


def newest(at: Ground, ctx: Context) -> KnownMax | None:
    """The newest tested max or day's single of a technique lift; None for others."""
    if at.missing != "technique_lift":
        return None
    own = [
        one
        for one in ctx.maxes
        if one.lift == at.lift.id and one.support == at.support and one.basis in ("tested", "day") and one.on <= ctx.on
    ]
    return max(own, key=lambda one: (one.on, one.basis == "tested"), default=None)


def _cautions(at: Ground, ctx: Context, last: date | None) -> tuple[Caution, ...]:
    found = [*_away(ctx, last)]
    curve = ctx.settings.curve_of(at.lift.id)
    if curve != MODEL:
        text = "A curve is pinned for the loads of this lift, so they do not stand on this estimate alone."
        found.append(Caution("pinned_curve", text))
    return tuple(found)


def _away(ctx: Context, last: date | None) -> tuple[Caution, ...]:
    if last is None or (ctx.on - last).days < AWAY_DAYS:
        return ()
    text = f"The last session of this lift was on {day(last)}: start lighter than this max says, as your coach decides."
    return (Caution("long_ago", text),)


def detail(
    at: Ground,
    ctx: Context,
    known: LiftEstimate,
    *,
    last: Session | None,
    last_shown: Measure,
    on: date,
    days_ahead: int = 0,
    why: bool = True,
) -> LiftDetail:
    """All that is known of a lift on a day.

    Parameters
    ----------
    at, ctx, known
        From `stand` and `estimate`.
    last : Session or None
        The last session of the lift up to the day.
    last_shown : Measure
        How loads of that session are shown: with the body weight of then.
    on, days_ahead
        The day, and how far it is ahead of `ctx.on`.
    why : bool
        False: without reasons.
    """
    sureness = Sure(None, unknown(at.lift, at.missing or "no_max"), (), ())
    own = None
    if at.row is not None and at.person is not None:
        sureness = sure(needs(at.row, at.person), at.row, at.person, at.shown, last=known.last, on=ctx.on)
        own = manner(at.row, at.person)
    told = None
    if last is not None:
        lesson = taught(last, last_shown)
        told = TaughtSession(date=last.on, text=lesson.text, why=lesson.why if why else ())
    members = {name: getattr(known, name) for name in LiftEstimate.__dataclass_fields__}
    if not why:
        sureness = replace(sureness, why=())
        own = None if own is None else replace(own, why=())
    return LiftDetail(**members, on=on, days_ahead=days_ahead, taught=told, sure=sureness, manner=own)


def in_order(known: Sequence[LiftEstimate]) -> list[LiftEstimate]:
    """By name, then support, then machine."""
    return sorted(known, key=sort_values)


def sort_values(one: LiftEstimate) -> tuple[str, str, str, str]:
    """What a list is sorted by."""
    return one.name.lower(), one.lift, one.support, one.stack or ""


def believed(session: Session) -> Ranged | None:
    """The max as it was believed after a session; None: nothing was known."""
    return rolling_max(session.after, session.person)


def point(smoothed: Smoothed, then: Ranged, shown: Measure) -> HistoryPoint:
    """One point of the line."""
    return HistoryPoint(
        date=smoothed.on,
        max=shown.load(smoothed.max.kg, 1),
        range=shown.range(smoothed.max),
        as_it_was=shown.load(then.kg, 1),
        starts=smoothed.starts,
    )


def history_text(at: Ground, points: int) -> str:
    """What the line shows, or why there is none."""
    if points == 0:
        return unknown(at.lift, at.missing) if at.missing is not None else "No session of this lift is in these days."
    return (
        f"{at.lift.name}{SUPPORTED[at.support]}: the max after each of {plural(points, 'session')}, as it looks today, "
        "and as it was believed then."
    )
