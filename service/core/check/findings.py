"""All findings of a template, the worst first."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from service.core.check import bases, efforts, loads, weeks, zones
from service.core.check.analysis import Read, SlotRead, WeekChange
from service.core.check.finding import Finding, Remark, merged, session_at, slot_at


def findings(found: Read, changes: Sequence[Mapping[str, WeekChange]]) -> list[Finding]:
    """What looks wrong in a template that was read, or is worth knowing; equal ones once, with all their places."""
    return merged([
        *_of_slots(found),
        *bases.findings(found),
        *weeks.spacing(found),
        *weeks.jumps(found, changes),
        *weeks.not_lighter(found, changes),
        *_of_sessions(found),
        *weeks.lengths(found),
    ])  # fmt: skip


def _of_slots(found: Read) -> Iterator[Finding]:
    known: dict[int, list[Remark]] = {}
    for week, sessions in enumerate(found.slots):
        for session, slots in enumerate(sessions):
            lifted = found.weeks[week].sessions[session].kind != "block"
            for at, one in enumerate(slots):
                said = known.get(id(one))
                if said is None:  # equal slots are one object
                    said = known[id(one)] = list(_of_slot(found, one, lifted=lifted))
                if said:
                    pointer = slot_at(week, session, at)
                    for remark in said:
                        yield remark.at(pointer, one.seen.slot.lift)


def _of_slot(found: Read, one: SlotRead, *, lifted: bool) -> Iterator[Remark]:
    lift = found.lifts.get(one.seen.slot.lift)
    if lift is None:
        return
    yield from efforts.remarks(one.seen, lift)
    yield from loads.remarks(one.seen, lift)
    yield from loads.unknown_ratio(one.seen, lift, found.lifts)
    if found.reader.ctx is not None:
        yield from loads.of_athlete(one.seen, lift, found.reader.ctx, lifted=lifted)
    yield from zones.of_slot(one, lift)


def _of_sessions(found: Read) -> Iterator[Finding]:
    for week, sessions in enumerate(found.slots):
        lighter = found.weeks[week].lighter
        for session, slots in enumerate(sessions):
            if found.weeks[week].sessions[session].kind == "block":
                yield from zones.of_session(slots, found.lifts, session_at(week, session), lighter=lighter)
