"""Who is entered as away on a day, as answers show it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Annotated, Any, ClassVar
from uuid import UUID

from pydantic import Field

from service.core.records import AbsenceKind
from service.core.returning import During, Eased, during
from service.store import people
from service.store.session import Tx


@dataclass(frozen=True, slots=True, kw_only=True)
class AwayThen:
    """An absence that a day lies in."""

    __pydantic_config__: ClassVar[dict[str, Any]] = {"serialize_by_alias": True}

    kind: AbsenceKind
    """`holiday`, `illness`, `injury` or `other`."""
    from_date: Annotated[date, Field(alias="from")]
    """The first day."""
    until: date | None
    """The last day; it is included. Null: not known."""


def away_then(ease: Eased | None) -> AwayThen | None:
    """The absence that a day lies in, of what it is eased by."""
    return None if ease is None or ease.inside is None else shown(ease.inside)


def shown(one: During) -> AwayThen:
    """An absence as answers show it."""
    return AwayThen(kind=one.kind, from_date=one.since, until=one.until)


def away_on(tx: Tx, athletes: Sequence[UUID], on: date) -> dict[UUID, During]:
    """Who of some athletes is entered as away on a day, in one statement."""
    ways = people.conditions_and_absences_of_each(tx, [(one, on, None, on) for one in athletes])
    found = {one: during(away.absences, away.trained, on) for one, (_, away) in zip(athletes, ways, strict=True)}
    return {one: inside for one, inside in found.items() if inside is not None}
