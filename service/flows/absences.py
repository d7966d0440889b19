"""An absence is entered, changed or taken back: what the model believes and open sessions follow."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any
from uuid import UUID

from service.flows.open_session import refresh_open
from service.flows.replay import replay
from service.store import absences, athletes, states
from service.store.absences import Absence
from service.store.errors import Conflict
from service.store.session import Tx

COACHES = ("coach", "owner")


def add(tx: Tx, athlete: str, *, values: Mapping[str, Any]) -> Absence:
    """Enter an absence; as `store.absences.add`."""
    found = athletes.get(tx, athlete)
    states.lock(tx, found.id)
    made = absences.add(tx, found.id, values=values)
    _followed(tx, found.id, made)
    return made


def change(tx: Tx, name: str, *, expected: int | None, values: Mapping[str, Any]) -> Absence:
    """Change an absence; as `store.absences.change`. Only a coach makes an injury something else."""
    before = _locked(tx, name)
    if values.get("kind", before.kind) != before.kind:
        _own(tx, before)
    changed = absences.change(tx, before, expected=expected, values=values)
    _followed(tx, before.athlete, before, changed)
    return changed


def remove(tx: Tx, name: str, *, expected: int | None) -> None:
    """Take back an absence; as `store.absences.remove`. Only a coach takes back an injury."""
    before = _locked(tx, name)
    _own(tx, before)
    absences.remove(tx, before, expected=expected)
    _followed(tx, before.athlete, before)


def _locked(tx: Tx, name: str) -> Absence:
    states.lock(tx, absences.get(tx, name).athlete)
    return absences.get(tx, name)  # as it stands now that nobody else changes it


def _own(tx: Tx, before: Absence) -> None:
    if before.kind == "injury" and tx.caller.right not in COACHES:
        raise Conflict("After an injury the coach's word counts: ask the coach to take it back.")


def _followed(tx: Tx, athlete: UUID, *concerned: Absence) -> None:
    if any(one.kind == "injury" for one in concerned):
        replay(tx, athlete)
    refresh_open(tx, athlete)
