"""Everything that an athlete's loads depend on, read in a few statements; kept with what was prescribed."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import lru_cache
from uuid import UUID

from service.core.context import Context
from service.core.errors import NotComputable
from service.core.loading.kits import default_kit, stack_for
from service.core.prescribe.ease import DAYS_BEFORE, holds
from service.core.prescribe.obey import orders
from service.core.records import Kit, Lift, Override, SessionKind, Settings
from service.core.returning import NOTHING_EASED, Eased, during, gaps, strongest, void_before
from service.core.units import MassUnit
from service.flows.knowledge import Whose, known_of_each, rows_for
from service.store import lifts as lift_store
from service.store import overrides as override_store
from service.store import people, places
from service.store.done_before import Before, done_before
from service.store.errors import UnknownReference
from service.store.lines import Lifter
from service.store.people import Away, Conditions
from service.store.places import KIT
from service.store.progress import Growing, progress, telling
from service.store.session import Tx


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """Whose loads on which day, and for what."""

    athlete: UUID
    """Whose loads."""
    on: date
    """The athlete's day."""
    lifts: Iterable[str]
    """Words of the lifts that the slots name; lifts they are based on and lifts in exchange are added. A word that the
    gym does not have is left out."""
    place: UUID | None
    """Where; None: the athlete's place, else the gym's, else the usual kit of the athlete's unit."""
    session_kind: SessionKind = "block"
    """A test or a meet lifts the effort limit."""
    unit: MassUnit | None = None
    """Unit of the answer; None: the athlete's."""
    kit: Kit | None = None
    """What can be loaded, in place of what the place has."""
    before_today: str | None = None
    """A lift whose max is to stand as before the day's first set of it (or of what is done in exchange): for reading
    the day's sets against the plan that they began with."""
    eased: bool = False
    """For sets that are to be done: on the way back from an absence they are eased."""
    done_on: date | None = None
    """With `eased`: the day on which they are done; None: today at the earliest, whatever day was planned."""
    growing: Collection[str] = ()
    """Lifts whose load grows from session to session: what was done of them before is read too."""
    session: UUID | None = None
    """The session itself, which is not before."""


def gather(tx: Tx, asked: Asked) -> Context:
    """Read what an athlete's loads depend on, in five statements; in two or three more where loads grow.

    Settings are the athlete's over the gym's. Raises NotFound if the gym has no such athlete or place.
    """
    return gather_each(tx, [asked])[0]


def gather_each(tx: Tx, asked: Sequence[Asked]) -> list[Context]:
    """As `gather`, for many in as many statements as for one."""
    if not asked:
        return []
    conditions = _conditions(tx, asked)
    decided = override_store.in_force_of_each(tx, [(one.athlete, one.on) for one in asked])
    wanted = [_words(one.lifts, overrides) for one, overrides in zip(asked, decided, strict=True)]
    known = lift_store.get_many(tx, {word: None for words in wanted for word in words})
    read = [
        _without_maxes(one, each, overrides, known if len(asked) == 1 else with_parents(words, known))
        for one, each, overrides, words in zip(asked, conditions, decided, wanted, strict=True)
    ]
    shown = known_of_each(tx, [_whose(*one) for one in zip(asked, conditions, read, strict=True)])
    found = [
        replace(ctx, maxes=tuple(one.maxes), person=one.person, rows=rows_for(one, ctx.lifts))
        for ctx, one in zip(read, shown, strict=True)
    ]
    return with_done_before(tx, [one.athlete for one in asked], _with_progress(tx, asked, found))


Conditioned = tuple[Conditions, Eased | None, date | None]
"""How somebody trains on a day, what the day is eased by, and since when maxes of a day count."""


def _conditions(tx: Tx, asked: Sequence[Asked]) -> list[Conditioned]:
    plain = [(one.athlete, one.on, one.place) for one in asked if not one.eased]
    eased = [(one.athlete, one.on, one.place, one.done_on) for one in asked if one.eased]
    persons = iter(people.conditions_of_each(tx, plain))
    ways = iter(people.conditions_and_absences_of_each(tx, eased))
    found: list[Conditioned] = []
    for one in asked:
        if one.eased:
            person, away = next(ways)
            found.append((person, *easing(person.settings, away)))
        else:
            found.append((next(persons), None, None))
    return found


def _without_maxes(
    asked: Asked, conditions: Conditioned, overrides: Sequence[Override], lifts: dict[str, Lift]
) -> Context:
    person, ease, since = conditions
    kit = asked.kit
    if kit is None:
        kit = default_kit(person.unit) if person.kit is None else _kit(person.kit)
    return Context(
        on=asked.on,
        unit=asked.unit or person.unit,
        kit=kit,
        lifts=lifts,
        settings=person.settings,
        overrides=tuple(overrides),
        session_kind=asked.session_kind,
        eased=ease,
        day_maxes_since=since,
        body_weight_kg=person.body_weight_kg,
        age_years=None if person.birth_year is None else full_years(person.birth_year, asked.on),
    )


def _whose(asked: Asked, conditions: Conditioned, ctx: Context) -> Whose:
    person, before = conditions[0], asked.before_today
    return Whose(
        lifter=Lifter(asked.athlete, person.unit, "", person.settings),
        on=asked.on,
        stacks=stacks(ctx.lifts, ctx.kit),
        before_sets_of=() if before is None else (before, orders(before, ctx).lift),
    )


def _with_progress(tx: Tx, asked: Sequence[Asked], found: list[Context]) -> list[Context]:
    """With what was done of lifts whose load grows."""
    grow = {
        at: Growing(
            one.athlete, {lift for word in one.growing for lift in (word, orders(word, ctx).lift)}, one.on, one.session
        )
        for at, (one, ctx) in enumerate(zip(asked, found, strict=True))
        if one.growing
    }
    if grow:
        growing = list(grow.values())
        for at, before, told in zip(grow, progress(tx, growing), telling(tx, growing), strict=True):
            found[at] = replace(found[at], progress=before, telling=told)
    return found


def with_done_before(tx: Tx, athletes: Sequence[UUID], found: Sequence[Context]) -> list[Context]:
    """With what was lifted before an absence, on days of the way back from it; in one statement, or none."""
    back = {
        at: Before(athlete, ctx.lifts.keys(), ease.since - timedelta(days=DAYS_BEFORE), max(ctx.on, ease.since))
        for at, (athlete, ctx) in enumerate(zip(athletes, found, strict=True))
        if (ease := ctx.eased) is not None and ease.since is not None and holds(ease)
    }
    new = list(found)
    for at, done in zip(back, done_before(tx, list(back.values())) if back else (), strict=True):
        machines = stacks(new[at].lifts, new[at].kit)
        here = tuple(one for stack, one in done if stack == machines.get(one.lift, ""))
        new[at] = replace(new[at], done_before=here)
    return new


def with_parents(words: Iterable[str], known: Mapping[str, Lift]) -> dict[str, Lift]:
    """Of the lifts that are known, those of some words, and all that they are based on."""
    found: dict[str, Lift] = {}
    for word in words:
        lift = known.get(word)
        while lift is not None and lift.id not in found:
            found[lift.id] = lift
            lift = None if lift.based_on is None else known.get(lift.based_on)
    return found


def easing(settings: Settings, away: Away) -> tuple[Eased | None, date | None]:
    """What a day is eased by, and since when maxes of a day count; None: nothing is, and all do.

    Of a day in an absence it is told that it is one.
    """
    found = gaps(settings.return_rule, away.trained, away.day, absences=away.absences, today=away.today)
    ease = strongest(found, away.day)
    inside = during(away.absences, away.trained, away.day)
    if inside is not None:
        ease = replace(ease, inside=inside)
    return None if ease is NOTHING_EASED else ease, void_before(found, away.day)


@lru_cache(maxsize=64)
def _kit(text: str) -> Kit:
    """The same text gives the same kit, which the search for plates remembers."""
    return KIT.validate_json(text)


def _words(lifts: Iterable[str], decided: Iterable[Override]) -> list[str]:
    """The lifts asked for, and all those that could stand in for them."""
    wanted = list(dict.fromkeys(lifts))
    return wanted + [one.to_lift for one in decided if one.to_lift is not None and one.to_lift not in wanted]


def stacks(lifts: Mapping[str, Lift], kit: Kit) -> dict[str, str]:
    """Which machine each stack lift is done on with a kit: estimates are comparable on one machine only."""
    found = {}
    for word, lift in lifts.items():
        name = stack_name(lift, kit)
        if name:
            found[word] = name
    return found


def stack_name(lift: Lift, kit: Kit) -> str:
    """The machine that a lift is done on with a kit; empty for other lifts, and where there is none."""
    if lift.load_kind != "stack":
        return ""
    try:
        return stack_for(kit, lift.id).name
    except NotComputable:
        return ""


def full_years(birth_year: int, on: date) -> int:
    """Years that are surely full: the birthday may be the last day of the year, and cautions for minors go first."""
    return max(on.year - birth_year - 1, 0)


def gather_named(
    tx: Tx,
    athlete: str,
    *,
    on: date | None,
    lifts: Iterable[str],
    place: str | None,
    kit: Kit | None,
    session_kind: SessionKind,
    unit: MassUnit | None,
    before_today: str | None,
    eased: bool = False,
    growing: Collection[str] = (),
) -> Context:
    """As `gather`, for an athlete and a place that a body names; without `on` it is the athlete's today.

    Raises UnknownReference for an athlete (a bound key: any but its own) or a place that is not there.
    """
    person = people.find(tx, athlete)
    if person is None:
        raise UnknownReference("athlete", "#/athlete")
    there = kit if place is None else places.kit_named(tx, place)
    asked = Asked(
        athlete=person.id,
        on=on or person.today,
        lifts=lifts,
        place=None,
        session_kind=session_kind,
        unit=unit,
        kit=there,
        before_today=before_today,
        eased=eased,
        done_on=on or person.today,
        growing=growing,
    )
    return gather(tx, asked)


def look_up(tx: Tx, lifts: Iterable[str], place: str | None) -> tuple[dict[str, Lift], Kit | None]:
    """The gym's lifts of these words with those they are based on, and what the place that a body names has."""
    there = None if place is None else places.kit_named(tx, place)
    return lift_store.get_many(tx, lifts), there
