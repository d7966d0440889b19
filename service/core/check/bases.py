"""Percentages whose basis nobody will have when they come."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from service.core.check.analysis import Read, SlotRead
from service.core.check.finding import OURS, PRACTICE, Finding, slot_at
from service.core.check.intensity import NEAR
from service.core.estimate.rolling import HEAVY_REPS, HEAVY_RPE
from service.core.plan.families import LONGEST_CHAIN
from service.core.plan.sizes import reps_of
from service.core.records import Lift
from service.core.slots import EffortTarget, Ladder, MaxTest, OpenLastSet, PercentTarget, Slot
from service.core.words import number, plural

WEEK = 7


def findings(found: Read) -> Iterator[Finding]:
    """Percentages of a day's max that no set tells, of a rolling one that no effort teaches, of an untested lift."""
    lifts = found.lifts
    ctx = found.reader.ctx
    heavy_at: dict[str, int] = {}
    """Place of the last session, counted over all weeks, with a set that tells a lift's max of the day."""
    taught, tested = _taught(found), _tested(found)
    place = -1
    for week, sessions in enumerate(found.slots):
        for session, slots in enumerate(sessions):
            place += 1
            for at, one in enumerate(slots):
                slot = one.seen.slot
                target = slot.target
                if isinstance(target, PercentTarget):
                    word = target.of or slot.lift
                    pointer = slot_at(week, session, at) + "/target/basis"
                    line = _line(word, lifts)
                    if target.basis == "day":
                        yield from _day(slot, target, lifts, pointer, line, heavy_at, place, len(sessions))
                    elif target.basis == "rolling":
                        if taught.isdisjoint(line) and not (ctx is not None and _has_rolling(found, line)):
                            yield _rolling(word, lifts, pointer)
                    elif ctx is None and tested.isdisjoint(line):
                        yield from _entered(slot, target, word, lifts, pointer, line)
                if _tells_day(one, lifts.get(slot.lift)):
                    heavy_at[slot.lift] = place


def _line(word: str, lifts: Mapping[str, Lift]) -> list[str]:
    """A lift and those that its max may come from by a ratio."""
    line = [word]
    while len(line) <= LONGEST_CHAIN:
        lift = lifts.get(line[-1])
        if lift is None or lift.based_on is None or lift.ratio is None or lift.based_on in line:
            break
        line.append(lift.based_on)
    return line


def _tells_day(one: SlotRead, lift: Lift | None) -> bool:
    """Whether a slot has a set that tells the max of its day: heavy, few repetitions; of technique lifts a single."""
    slot = one.seen.slot
    if lift is None or slot.complex:
        return False
    if isinstance(slot.scheme, MaxTest):
        return True
    reps = reps_of(slot)
    if lift.technique:
        return reps == 1
    if isinstance(slot.scheme, OpenLastSet | Ladder) or reps is None or reps > HEAVY_REPS:
        return False
    return any((each.rpe or 0) >= HEAVY_RPE - NEAR for each in one.seen.sets)


def _day(
    slot: Slot,
    target: PercentTarget,
    lifts: Mapping[str, Lift],
    pointer: str,
    line: list[str],
    heavy_at: Mapping[str, int],
    place: int,
    a_week: int,
) -> Iterator[Finding]:
    word = line[0]
    name = lifts[word].name.lower() if word in lifts else word
    days = target.valid_days or 1
    ago = min((place - heavy_at[one] for one in line if one in heavy_at), default=None)
    if ago is not None and ago <= max(0, days - 1) and (ago == 0 or ago * WEEK / a_week <= days - 1 + 1e-9):
        return
    rule = (
        "a made single"
        if word in lifts and lifts[word].technique
        else f"a set of at most {HEAVY_REPS} at RPE {number(HEAVY_RPE)} or harder"
    )
    if ago is not None and ago <= days - 1:
        text = (
            f"The max of the day of the {name} comes from {plural(ago, 'session')} before and serves "
            f"{plural(days, 'day')}: with {plural(a_week, 'session')} a week spread evenly it is too old by then."
        )
        yield Finding("doubt", "basis_too_old", text, PRACTICE, pointer, slot.lift)
        return
    when = "in the session" if days == 1 else f"within {plural(days, 'day')}"
    text = (
        f"Nobody has a max of the day of the {name} then: no slot before it {when} has {rule}. An older max would "
        "stand in."
    )
    yield Finding("error", "basis_never_known", text, PRACTICE, pointer, slot.lift)


def _taught(found: Read) -> frozenset[str]:
    """Lifts that some slot trains by effort: the log tells their max."""
    slots = (one.seen.slot for week in found.slots for session in week for one in session)
    return frozenset(
        slot.lift
        for slot in slots
        if isinstance(slot.target, EffortTarget) or isinstance(slot.scheme, OpenLastSet | MaxTest)
    )


def _tested(found: Read) -> frozenset[str]:
    """Lifts that the template tests, or that it takes to a meet."""
    return frozenset(
        one.seen.slot.lift
        for week, sessions in zip(found.weeks, found.slots, strict=True)
        for session, slots in zip(week.sessions, sessions, strict=True)
        for one in slots
        if session.kind != "block" or isinstance(one.seen.slot.scheme, MaxTest)
    )


def _has_rolling(found: Read, line: list[str]) -> bool:
    ctx = found.reader.ctx
    if ctx is None:
        return False
    maxes = any(one.basis == "rolling" and one.lift in line for one in ctx.maxes)
    return maxes or any(one.lift in line and one.row.used_ever > 0 for one in ctx.rows)


def _rolling(word: str, lifts: Mapping[str, Lift], pointer: str) -> Finding:
    name = lifts[word].name.lower() if word in lifts else word
    text = (
        f"The rolling max of the {name} comes from logged efforts, and no slot asks an effort in it: unless lifters "
        "say how hard its sets are, a tested or training max stands in."
    )
    return Finding("doubt", "basis_hardly_known", text, OURS, pointer, word)


def _entered(
    slot: Slot, target: PercentTarget, word: str, lifts: Mapping[str, Lift], pointer: str, line: list[str]
) -> Iterator[Finding]:
    """Lifts that hardly anybody tests: supporting work, and what is done with dumbbells or on a machine."""
    root = lifts.get(line[-1])
    if root is None or root.technique or not (slot.accessory or root.load_kind in ("per_hand", "stack")):
        return
    if word != slot.lift and root.load_kind not in ("per_hand", "stack"):
        return
    text = (
        f"Hardly anybody has a {target.basis} max of the {lifts[word].name.lower()}: "
        "an effort or a load says more there."
    )
    yield Finding("doubt", "basis_hardly_known", text, PRACTICE, pointer, slot.lift)
