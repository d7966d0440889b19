"""Sets that are corrected, put or deleted: everything that was learnt from them is computed anew."""

from __future__ import annotations

from dataclasses import fields, replace
from typing import Any
from uuid import UUID

from service.flows import take
from service.flows.log_set import learn
from service.flows.max_test import settle
from service.flows.set_entry import SetEntry, contradiction, far_alike, stored_set
from service.flows.take import Found, Held
from service.store import people, sets
from service.store.errors import ChangedMeanwhile, NotFound, UnknownReference, VersionNeeded
from service.store.naming import as_id
from service.store.session import Tx
from service.store.set_records import LoggedSet, StoredSet
from service.store.unfit import unfit

_EFFORTS = ("rpe", "rir", "felt")


def put(
    tx: Tx,
    identity: str,
    entry: SetEntry,
    *,
    session: str | None,
    athlete: str | None,
    expected: int | None,
    only_new: bool = False,
) -> tuple[LoggedSet, bool]:
    """Store a set under an id that the phone made; tell whether it was created.

    The same content again changes nothing. Other content replaces only with the version that the caller read
    (`expected`; None: whatever it is; -1: none was named).

    Raises
    ------
    VersionNeeded, ChangedMeanwhile
        Where other content is stored, and no version, or not the one in force, was named.
    Conflict
        For an id that was deleted.
    UnknownReference
        For a session, athlete, slot or lift that this caller does not have.
    """
    held = hold(tx, session, athlete)
    found = take.find(tx, held, entry, identity=_uuid(identity))
    if found.was is None:
        if expected not in (None, -1):
            raise NotFound("set")
        learn(tx, held, found)
        _settle(tx, found.meant)
        return found.meant.set, True
    if found.same:
        return found.was.set, False
    if only_new:
        raise ChangedMeanwhile(found.was.set.version)
    if expected == -1:
        raise VersionNeeded(found.was.set.version)
    return _write(tx, held, found, expected), False


def change(tx: Tx, name: str, *, expected: int | None, sent: dict[str, Any]) -> LoggedSet:
    """Correct some members of a set; null clears. Another effort takes the place of the one that was entered.

    Raises NotFound, ChangedMeanwhile, and as `take.find`.
    """
    held, was = _held(tx, name)
    if "doubt" in sent:
        return _answer(tx, held, was, expected=expected, sent=sent)
    entry = _entry(was)
    if any(sent.get(one) is not None for one in _EFFORTS):
        entry = replace(entry, **dict.fromkeys(_EFFORTS), or_more=None)
    if "made" in sent and "ended_by" not in sent:
        entry = replace(entry, ended_by=None)
    entry = replace(entry, **sent)
    if "method" not in sent and not far_alike(was.set.metres, entry.metres):
        entry = replace(entry, method=None)
    if entry.rir is None and "or_more" not in sent:
        entry = replace(entry, or_more=None)
    against = contradiction(entry)
    if against is not None:
        raise unfit(against[1], f"#/{against[0]}")
    where = take.place(tx, held, entry, was)
    meant = stored_set(tx, where, entry, was.set.id, session_sets=held.stored, was=was)
    found = Found(where, meant, was)
    if expected is not None and expected != was.set.version:
        raise ChangedMeanwhile(was.set.version)
    return was.set if found.same else _write(tx, held, found, expected)


def _answer(tx: Tx, held: Held, was: StoredSet, *, expected: int | None, sent: dict[str, Any]) -> LoggedSet:
    """What somebody says to the question about a set: it is right, it is to be left out; None takes that back."""
    doubt, answer = was.set.doubt, sent["doubt"]
    if len(sent) > 1:
        raise unfit("must be sent alone: a corrected set is asked about anew", "#/doubt")
    if expected is not None and expected != was.set.version:
        raise ChangedMeanwhile(was.set.version)
    if doubt is None:
        if answer is not None:
            raise unfit("must be null: nothing is asked about this set", "#/doubt")
        return was.set
    if doubt.answer == answer:
        return was.set
    told = replace(was.set, version=was.set.version + 1, doubt=replace(doubt, answer=answer))
    return _stored(tx, held, was, replace(was, set=told))


def remove(tx: Tx, name: str, *, expected: int | None) -> None:
    """Delete a set; its id stays taken."""
    held, was = _held(tx, name)
    if expected is not None and expected != was.set.version:
        raise ChangedMeanwhile(was.set.version)
    sets.remove(tx, was)
    _recompute(tx, held, was, was)


def hold(tx: Tx, session: str | None, athlete: str | None) -> Held:
    """Lock who a body names, by session or athlete; UnknownReference where this caller has none such."""
    if session is not None:
        try:
            return take.hold_session(tx, session)
        except NotFound:
            raise UnknownReference("session", "#/session") from None
    person = None if athlete is None else people.find(tx, athlete)
    if person is None:
        raise UnknownReference("athlete", "#/athlete")
    return take.hold_athlete(tx, person.id)


def _held(tx: Tx, name: str) -> tuple[Held, StoredSet]:
    """A set under its athlete's lock: read again, as it may have changed while the lock was waited for."""
    found = sets.get(tx, name)
    held = take.hold_athlete(tx, found.set.athlete)
    if found.set.session is not None:
        held = Held(held.lifter, found.set.session, sets.of_session(tx, found.set.session))
    return held, sets.get(tx, name)


def _entry(was: StoredSet) -> SetEntry:
    """What would have to be sent to store the set as it is."""
    said = {one.name: getattr(was.set, one.name) for one in fields(SetEntry)}
    said["slot"] = None if was.set.slot is None else str(was.set.slot)
    return SetEntry(**said)


def _write(tx: Tx, held: Held, found: Found, expected: int | None) -> LoggedSet:
    was = found.was
    if was is None:
        raise NotFound("set")
    if expected is not None and expected != was.set.version:
        raise ChangedMeanwhile(was.set.version)
    corrected = replace(found.meant, set=replace(found.meant.set, version=was.set.version + 1))
    return _stored(tx, held, was, corrected)


def _stored(tx: Tx, held: Held, was: StoredSet, now: StoredSet) -> LoggedSet:
    """The set as it is after all was computed anew: perhaps something else is asked about it."""
    sets.correct(tx, now)
    _recompute(tx, held, was, now)
    return sets.get(tx, str(now.set.id)).set


def _recompute(tx: Tx, held: Held, was: StoredSet, now: StoredSet) -> None:
    take.recompute(
        tx,
        held.lifter,
        sessions={one for one in (was.set.session, now.set.session) if one is not None},
        days={was.set.date, now.set.date},
    )
    _settle(tx, was, now)


def _settle(tx: Tx, *changed: StoredSet) -> None:
    """Tests that the sets belong to may have another result."""
    for session in {one.set.session for one in changed if one.set.session is not None and one.set.slot is not None}:
        settle(tx, session)


def _uuid(identity: str) -> UUID:
    found = as_id(identity)
    if found is None:
        raise NotFound("set")
    return found
