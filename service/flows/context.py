"""Everything that an athlete's loads depend on, read in a few statements; kept with what was prescribed."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import date
from functools import lru_cache
from uuid import UUID

from service.core.context import Context
from service.core.errors import NotComputable
from service.core.loading.kits import default_kit, stack_for
from service.core.prescribe.obey import orders
from service.core.records import Kit, Lift, Override, SessionKind, Settings
from service.core.returning import NOTHING_EASED, Eased, gaps, strongest, void_before
from service.core.units import MassUnit
from service.flows.knowledge import known_on, rows_for
from service.store import lifts as lift_store
from service.store import overrides as override_store
from service.store import people, places
from service.store.errors import UnknownReference
from service.store.lines import Lifter
from service.store.people import Away
from service.store.places import KIT
from service.store.progress import progress, telling
from service.store.session import Tx


def gather(
    tx: Tx,
    athlete_id: UUID,
    *,
    on: date,
    lifts: Iterable[str],
    place_id: UUID | None,
    session_kind: SessionKind = "block",
    unit: MassUnit | None = None,
    kit: Kit | None = None,
    before_today: str | None = None,
    eased: bool = False,
    done_on: date | None = None,
    growing: Iterable[str] = (),
    session: UUID | None = None,
) -> Context:
    """Read what an athlete's loads depend on, in five statements; in two or three more where loads grow.

    Parameters
    ----------
    tx : Tx
        The transaction.
    athlete_id : UUID
        Whose loads.
    on : date
        The athlete's day.
    lifts : iterable of str
        Words of the lifts that the slots name; lifts they are based on and lifts in exchange are added. A word that
        the gym does not have is left out.
    place_id : UUID or None
        Where; None: the athlete's place, else the gym's, else the usual kit of the athlete's unit.
    session_kind : SessionKind
        A test or a meet lifts the effort limit.
    unit : "kg", "lb" or None
        Unit of the answer; None: the athlete's.
    kit : Kit or None
        What can be loaded, in place of what the place has.
    before_today : str or None
        A lift whose max is to stand as before the day's first set of it (or of what is done in exchange): for
        reading the day's sets against the plan that they began with.
    eased : bool
        For sets that are to be done: on the way back from an absence they are eased.
    done_on : date or None
        With `eased`: the day on which they are done; None: today at the earliest, whatever day was planned.
    growing : iterable of str
        Lifts whose load grows from session to session: what was done of them before is read too.
    session : UUID or None
        The session itself, which is not before.

    Returns
    -------
    Context
        Settings are the athlete's over the gym's.

    Raises
    ------
    NotFound
        If the gym has no such athlete or place.
    """
    if eased:
        person, away = people.conditions_and_absences(tx, athlete_id, on=on, place_id=place_id, done_on=done_on)
        ease, since = easing(person.settings, away)
    else:
        person, ease, since = people.conditions(tx, athlete_id, on=on, place_id=place_id), None, None
    shown_in: MassUnit = unit or person.unit
    if kit is None:
        kit = default_kit(person.unit) if person.kit is None else _kit(person.kit)
    decided = override_store.in_force(tx, athlete_id, on)
    found = lift_store.get_many(tx, _words(lifts, decided))
    without_maxes = Context(
        on=on,
        unit=shown_in,
        kit=kit,
        lifts=found,
        settings=person.settings,
        overrides=tuple(decided),
        session_kind=session_kind,
        eased=ease,
        day_maxes_since=since,
        body_weight_kg=person.body_weight_kg,
        age_years=None if person.birth_year is None else full_years(person.birth_year, on),
    )
    not_of = () if before_today is None else (before_today, orders(before_today, without_maxes).lift)
    lifter = Lifter(athlete_id, person.unit, "", person.settings)
    known = known_on(tx, lifter, on, stacks=stacks(found, kit), before_sets_of=not_of)
    ctx = replace(without_maxes, maxes=tuple(known.maxes), person=known.person, rows=rows_for(known, found))
    grow = {lift for word in growing for lift in (word, orders(word, without_maxes).lift)}
    if not grow:
        return ctx
    before = progress(tx, athlete_id, grow, on=on, session=session)
    return replace(ctx, progress=before, telling=telling(tx, athlete_id, grow, on=on))


def easing(settings: Settings, away: Away) -> tuple[Eased | None, date | None]:
    """What a day is eased by, and since when maxes of a day count; None: nothing is, and all do."""
    found = gaps(settings.return_rule, away.trained, away.day, absences=away.absences, today=away.today)
    ease = strongest(found, away.day)
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
    growing: Iterable[str] = (),
) -> Context:
    """As `gather`, for an athlete and a place that a body names; without `on` it is the athlete's today.

    Raises UnknownReference for an athlete (a bound key: any but its own) or a place that is not there.
    """
    person = people.find(tx, athlete)
    if person is None:
        raise UnknownReference("athlete", "#/athlete")
    there = kit if place is None else places.kit_named(tx, place)
    return gather(
        tx,
        person.id,
        on=on or person.today,
        lifts=lifts,
        place_id=None,
        session_kind=session_kind,
        unit=unit,
        kit=there,
        before_today=before_today,
        eased=eased,
        done_on=on or person.today,
        growing=growing,
    )


def look_up(tx: Tx, lifts: Iterable[str], place: str | None) -> tuple[dict[str, Lift], Kit | None]:
    """The gym's lifts of these words with those they are based on, and what the place that a body names has."""
    there = None if place is None else places.kit_named(tx, place)
    return lift_store.get_many(tx, lifts), there
