"""All that was prescribed in a session, one revision after the other, each with its inputs."""

from __future__ import annotations

from dataclasses import dataclass
from uuid import UUID

from sqlalchemy import Uuid, bindparam, text

from service.core.answers import ResolvedSlot
from service.store.hot import Hot
from service.store.prescribed import INPUTS, ONE_SLOT, Inputs, split
from service.store.session import Tx


@dataclass(frozen=True, slots=True)
class Revision:
    """What was prescribed until the next revision."""

    model: str
    """Names how its loads were computed."""
    inputs: Inputs
    answer: tuple[ResolvedSlot, ...]


# The one in force comes last, also where two were kept within a millisecond.
REVISIONS = Hot(
    text("""
SELECT p.model, CAST(p.inputs AS text) AS inputs, CAST(p.answer AS text) AS answer
  FROM prescriptions p JOIN sessions s ON s.gym_id = p.gym_id AND s.id = p.session_id
 WHERE p.gym_id = :gym AND p.session_id = :session
 ORDER BY p.id = s.prescription_id, p.created_at, p.id
""").bindparams(*(bindparam(name, type_=Uuid()) for name in ("gym", "session")))
)


def of_session(tx: Tx, session: UUID) -> tuple[Revision, ...]:
    """Return the revisions of a session, the one in force last; none before it is opened."""
    rows = tx.execute(REVISIONS, {"gym": tx.gym, "session": session})
    return tuple(
        Revision(
            row.model,
            INPUTS.validate_json(row.inputs),
            tuple(ONE_SLOT.validate_json(one) for one in split(row.answer)),
        )
        for row in rows
    )
