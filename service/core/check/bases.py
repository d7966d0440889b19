"""Percentages whose basis nobody will have when they come."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from service.core.check.analysis import Read, SlotRead
from service.core.check.finding import OURS, PRACTICE, Finding, slot_at
from service.core.check.intensity import NEAR
from service.core.estimate.rolling import HEAVY_REPS, HEAVY_RPE, TOP_REPS
from service.core.plan.families import LONGEST_CHAIN
from service.core.plan.sizes import reps_of
from service.core.records import MODEL, Lift
from service.core.slots import Cluster, EffortTarget, Ladder, MaxTest, OpenLastSet, PercentTarget, Slot
from service.core.words import number, plural

WEEK = 7
"""[days]"""


def findings(found: Read) -> Iterator[Finding]:
    """Percentages of a day's max that no set tells, of a rolling one that no effort teaches, of an untested lift."""
    days, others = _Days(found), _Others(found)
    for week, sessions in enumerate(found.slots):
        for session, slots in enumerate(sessions):
            days.begin(a_week=len(sessions))
            for at, one in enumerate(slots):
                target = one.seen.slot.target
                if isinstance(target, PercentTarget):
                    pointer = slot_at(week, session, at) + "/target/basis"
                    told = days.of if target.basis == "day" else others.of
                    yield from told(one.seen.slot, target, pointer)
                days.take(one)


class _Days:
    """Which sessions tell the max of the day, while a template is gone through in order."""

    def __init__(self, found: Read) -> None:
        self.found = found
        self.place, self.a_week = -1, 1
        self.told: dict[str, int] = {}
        """By lift the last session with a set that tells it, counted over all weeks."""

    def begin(self, *, a_week: int) -> None:
        """The next session, of so many in its week."""
        self.place, self.a_week = self.place + 1, a_week

    def take(self, one: SlotRead) -> None:
        """A slot is done."""
        if self._tells(one):
            self.told[one.seen.slot.lift] = self.place

    def of(self, slot: Slot, target: PercentTarget, pointer: str) -> Iterator[Finding]:
        """What is wrong with a percentage of a day's max that comes now."""
        line = _line(target.of or slot.lift, self.found.lifts)
        name, days = _name(line[0], self.found.lifts), target.valid_days or 1
        ago = min((self.place - self.told[one] for one in line if one in self.told), default=days)
        if ago >= days:
            when = "in the session" if days == 1 else f"within {plural(days, 'day')}"
            text = (
                f"Nobody has a max of the day of the {name} then: no slot before it {when} has "
                f"{self._rule(line[0])}. An older max would stand in."
            )
            yield Finding("error", "basis_never_known", text, PRACTICE, pointer, slot.lift)
        elif ago * WEEK / self.a_week > days - 1 + 1e-9:
            text = (
                f"The max of the day of the {name} comes from {plural(ago, 'session')} before and serves "
                f"{plural(days, 'day')}: with {plural(self.a_week, 'session')} a week spread evenly it is too old."
            )
            yield Finding("doubt", "basis_too_old", text, PRACTICE, pointer, slot.lift)

    def _tells(self, one: SlotRead) -> bool:
        """Whether a slot has a set that tells the max of its day: hard, not too long; of technique lifts a single."""
        slot, lift = one.seen.slot, self.found.lifts.get(one.seen.slot.lift)
        reps = reps_of(slot)
        if lift is None or slot.complex or isinstance(slot.scheme, Ladder | Cluster):
            return False
        if isinstance(slot.scheme, MaxTest):
            return True
        if lift.technique:
            return reps == 1
        if reps is None or reps > self._most_reps(slot.lift):
            return False
        return any((each.rpe or 0) >= HEAVY_RPE - NEAR for each in one.seen.sets)

    def _most_reps(self, lift: str) -> int:
        """Repetitions up to which a set tells: by the athlete's model more than by a pinned curve. [reps]"""
        return TOP_REPS if self.found.reader.settings.curve_of(lift) == MODEL else HEAVY_REPS

    def _rule(self, word: str) -> str:
        if word in self.found.lifts and self.found.lifts[word].technique:
            return "a single of it"
        return f"a set of it of at most {self._most_reps(word)} at RPE {number(HEAVY_RPE)} or harder"


class _Others:
    """Rolling, tested and training maxes: whether anything tells them."""

    def __init__(self, found: Read) -> None:
        self.found, self.taught, self.tested = found, _taught(found), _tested(found)

    def of(self, slot: Slot, target: PercentTarget, pointer: str) -> Iterator[Finding]:
        """What is wrong with a percentage of such a max."""
        found = self.found
        line = _line(target.of or slot.lift, found.lifts)
        if target.basis == "rolling":
            if self.taught.isdisjoint(line) and not _has_rolling(found, line):
                yield _rolling(line[0], found.lifts, pointer)
        elif found.reader.ctx is None and self.tested.isdisjoint(line):
            yield from _entered(slot, target, line, found.lifts, pointer)


def _line(word: str, lifts: Mapping[str, Lift]) -> list[str]:
    """A lift and those that its max may come from by a ratio."""
    line = [word]
    while len(line) <= LONGEST_CHAIN:
        lift = lifts.get(line[-1])
        if lift is None or lift.based_on is None or lift.ratio is None or lift.based_on in line:
            break
        line.append(lift.based_on)
    return line


def _name(word: str, lifts: Mapping[str, Lift]) -> str:
    return lifts[word].name.lower() if word in lifts else word


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
    text = (
        f"The rolling max of the {_name(word, lifts)} comes from logged efforts, and no slot asks an effort in it: "
        "unless lifters say how hard its sets are, a tested or training max stands in."
    )
    return Finding("doubt", "basis_hardly_known", text, OURS, pointer, word)


def _entered(
    slot: Slot, target: PercentTarget, line: list[str], lifts: Mapping[str, Lift], pointer: str
) -> Iterator[Finding]:
    """Lifts that hardly anybody tests: what is done with dumbbells or on a machine, and supporting work."""
    root = lifts.get(line[-1])
    if root is None or root.technique:
        return
    if root.load_kind not in ("per_hand", "stack") and not (slot.accessory and line[0] == slot.lift):
        return
    text = (
        f"Hardly anybody has a {target.basis} max of the {_name(line[0], lifts)}: an effort or a load says more there."
    )
    yield Finding("doubt", "basis_hardly_known", text, PRACTICE, pointer, slot.lift)
