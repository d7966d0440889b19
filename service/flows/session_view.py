"""A session as it is answered: what is prescribed, what was logged, and each lift's last time."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import lru_cache
from uuid import UUID

from pydantic import TypeAdapter
from pydantic_core import from_json, to_json

from service.core.prescribe.obey import orders
from service.core.records import DoneSet
from service.core.slots import Slot
from service.core.units import MassUnit
from service.export import board
from service.export.board import Board, BoardSlot
from service.flows.in_unit import last_in, logged_in, plans_in
from service.flows.open_session import answer_to, inputs_of_each
from service.flows.session_shape import Computed, PlaceShown, SessionHead, SessionTail, SlotHead, SlotTail
from service.store import lifts as lift_store
from service.store import prescribed, revisions, sets
from service.store.plans import SLOT
from service.store.prescribed import INPUTS, MODEL, ONE_SLOT, Inputs, LastTime, Page
from service.store.revisions import Revision
from service.store.session import Tx
from service.store.set_records import StoredSet

SLOT_HEAD: TypeAdapter[SlotHead] = TypeAdapter(SlotHead)
SLOT_TAIL: TypeAdapter[SlotTail] = TypeAdapter(SlotTail)
HEAD: TypeAdapter[SessionHead] = TypeAdapter(SessionHead)
TAIL: TypeAdapter[SessionTail] = TypeAdapter(SessionTail)
LETTERS = str.maketrans("0123456789abcdef", "abcdefghijklmnop")  # the mark of a tag has letters only


@dataclass(slots=True)
class Seen:
    """A session at hand; its loads are computed only when they are asked for."""

    page: Page
    logged: list[StoredSet]
    last: dict[str, LastTime]
    names: dict[str, str]
    inputs: Inputs | None
    """While nothing is kept: what the loads would be computed from."""
    now: datetime
    unit: MassUnit | None = None
    """Loads are told in this unit; None: as they were kept and entered."""
    revisions: tuple[Revision, ...] = ()
    """With `unit`: all that was prescribed, from which the loads are told anew."""
    told: tuple[str, ...] = ()
    """What else a change has come to."""
    _answers: tuple[str, ...] | None = None

    @property
    def version(self) -> int:
        """What `If-Match` takes."""
        return self.page.version

    @property
    def answers(self) -> tuple[str, ...]:
        """Each slot's sets, as JSON."""
        if self._answers is None:
            kept = self.page.answers
            if kept is None:
                kept = _computed(self.inputs)
            elif self.unit is not None:
                kept = _told(self.revisions, self.unit)
            self._answers = kept
        return self._answers

    def marks(self) -> bytes:
        """All that the answer is made of, for its tag; much cheaper than the answer."""
        page = self.page
        kept = (page.version, page.state, page.prescription, page.place_id, page.place_name, page.name, page.slots)
        done = [(one.set.id, one.set.version) for one in self.logged]
        now = b"" if self.inputs is None else INPUTS.dump_json(self.inputs)
        return repr((MODEL, self.unit, page.id, kept, done, self.last, sorted(self.names.items()))).encode() + now

    def json(self, *, why: bool) -> bytes:
        """The session as JSON: what was kept is put in as it is, without being read."""
        slots = b",".join(self._slot(at, why=why) for at in range(len(self.page.slots)))
        head, tail = HEAD.dump_json(self._head()), TAIL.dump_json(self._tail())
        return head[:-1] + b',"slots":[' + slots + b"]," + tail[1:]

    def board(self) -> str:
        """The session as plain text."""
        page = self.page
        return board.text(
            Board(
                name=page.name,
                date=page.date,
                state=page.state,
                place=page.place_name,
                note=page.plan_note,
                slots=[self._board_slot(at) for at in range(len(page.slots))],
                others=[one.done() for one in self._of(None)],
            )
        )

    def _of(self, slot: UUID | None) -> list[StoredSet]:
        return [one for one in self.logged if one.set.slot == slot]

    def _slot(self, at: int, *, why: bool) -> bytes:
        row, answer = self.page.slots[at], self.answers[at]
        slot = _slot(row.body)
        lift = lift_of(answer)
        head = SLOT_HEAD.dump_json(
            SlotHead(
                id=row.id,
                lift_name=self.names[lift],
                with_next=slot.with_next,
                tempo=slot.tempo,
                rest_seconds=slot.rest_seconds,
                note=slot.note,
                optional=slot.optional,
                accessory=slot.accessory,
            )
        )
        done = tuple(one.set for one in self._of(row.id))
        tail = SLOT_TAIL.dump_json(SlotTail(logged=done, last_time=self.last.get(lift)))
        shown = answer.encode() if why else _without_why(answer)
        return head[:-1] + b"," + shown[1:-1] + b"," + tail[1:]

    def _board_slot(self, at: int) -> BoardSlot:
        row = self.page.slots[at]
        resolved = ONE_SLOT.validate_json(self.answers[at])
        last = self.last.get(resolved.lift)
        return BoardSlot(
            name=self.names[resolved.lift],
            slot=_slot(row.body),
            resolved=resolved,
            done=[one.done() for one in self._of(row.id)],
            last=None if last is None else (last.date, _as_done(last, resolved.lift)),
        )

    def _head(self) -> SessionHead:
        p = self.page
        place = None if p.place_id is None or p.place_name is None else PlaceShown(p.place_id, p.place_name)
        return SessionHead(
            id=p.id,
            version=p.version,
            athlete=p.athlete,
            block=p.block,
            kind=p.kind,
            state=p.state,
            name=p.name,
            date=p.date,
            week=p.week,
            number=p.number,
            place=place,
            plan_note=p.plan_note,
        )

    def _tail(self) -> SessionTail:
        p = self.page
        return SessionTail(
            logged=tuple(one.set for one in self._of(None)),
            minutes_available=p.minutes_available,
            session_rpe=p.session_rpe,
            minutes=p.minutes,
            note=p.note,
            computed=Computed(p.kept_at or self.now, p.model or MODEL),
            told=self.told,
        )


@dataclass(frozen=True, slots=True)
class Written:
    """An answer as bytes with its tag; `body` is None where the reader has it already."""

    body: bytes | None
    tag: str


def see(tx: Tx, page: Page, unit: MassUnit | None = None) -> Seen:
    """A session with what was logged and each lift's last time: two statements more than its page.

    `unit`: with its loads in this unit, which takes one statement more once it is opened.
    """
    return see_each(tx, [page], unit)[0]


def see_each(tx: Tx, pages: Sequence[Page], unit: MassUnit | None = None) -> list[Seen]:
    """As `see`, of several; what the loads of those that are planned stand on is read for all of them at once."""
    planned = iter(inputs_of_each(tx, [page for page in pages if page.answer is None], unit))
    return [_seen(tx, page, next(planned) if page.answer is None else None, unit) for page in pages]


def _seen(tx: Tx, page: Page, inputs: Inputs | None, unit: MassUnit | None) -> Seen:
    names = {one.lift: one.lift_name for one in page.slots}
    if inputs is None:
        lifts = {lift_of(answer) for answer in page.answers or ()}
    else:
        lifts = {orders(one.lift, inputs.context).lift for one in page.slots}
        names |= {lift.id: lift.name for lift in inputs.context.lifts.values()}
    unnamed = lifts - names.keys()
    if unnamed:  # a lift in exchange
        names |= {lift.id: lift.name for lift in lift_store.get_many(tx, unnamed).values()}
    logged = sets.of_session(tx, page.id)
    last = prescribed.last_times(tx, page.athlete, lifts, on=page.date, session=page.id)
    if unit is None:
        return Seen(page, logged, last, names, inputs, tx.now)
    before = revisions.of_session(tx, page.id) if inputs is None else ()
    last = {lift: last_in(one, unit) for lift, one in last.items()}
    return Seen(page, logged_in(logged, unit), last, names, inputs, tx.now, unit, before)


def read(
    tx: Tx,
    session: str,
    *,
    has: Callable[[str], bool],
    plain: bool = False,
    why: bool = True,
    unit: MassUnit | None = None,
) -> Written:
    """A session as JSON or as the board, unless the reader `has` the state of its tag. Raises NotFound."""
    seen = see(tx, prescribed.page(tx, session), unit)
    tag = f'"{seen.version}.{mark_of([seen], plain, why)}"'
    if has(tag):
        return Written(None, tag)
    return Written(seen.board().encode() if plain else seen.json(why=why) + b"\n", tag)


def mark_of(seen: Iterable[Seen], *others: object) -> str:
    """What tells one computed answer from another in its tag, hashed from all that the answer is made of."""
    marks = hashlib.sha256(repr(others).encode())
    for one in seen:
        marks.update(one.marks())
    return marks.hexdigest()[:24].translate(LETTERS)


def lift_of(answer: str) -> str:
    """The lift of a slot's JSON, which is its first member.

    >>> lift_of('{"lift":"squat","text":"..."}')
    'squat'
    """
    return answer.split('"', 4)[3]


@lru_cache(maxsize=512)  # a template's slots come again with every athlete and reading
def _slot(body: str) -> Slot:
    return SLOT.validate_json(body)


def _computed(inputs: Inputs | None) -> tuple[str, ...]:
    if inputs is None:
        return ()
    return tuple(ONE_SLOT.dump_json(one).decode() for one in answer_to(inputs))


def _told(before: tuple[Revision, ...], unit: MassUnit) -> tuple[str, ...]:
    return tuple(ONE_SLOT.dump_json(plan.sets).decode() for plan in plans_in(before, unit).values())


def _without_why(answer: str) -> bytes:
    """A slot without its reasons; cautions stay."""
    slot = from_json(answer)
    for one in slot["sets"]:
        one["why"] = []
    return to_json(slot)


def _as_done(last: LastTime, lift: str) -> list[DoneSet]:
    return [
        DoneSet(
            lift=lift,
            role="free",
            load=one.load,
            reps=one.reps,
            rpe=one.rpe,
            rir=one.rir,
            or_more=one.or_more,
            made=one.made,
            seconds=one.seconds,
            metres=one.metres,
        )
        for one in last.sets
    ]
