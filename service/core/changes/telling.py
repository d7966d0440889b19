"""Changes of a template as sentences."""

from __future__ import annotations

from collections.abc import Iterator

from service.core.slots import (
    Ladder,
    MaxTest,
    PercentTarget,
    SessionPlan,
    SetsAtTarget,
    Slot,
    TopSet,
    WeekPlan,
)
from service.core.words import listing, plural, slot_text

Facts = tuple[str | None, str | None, object]
Thing = WeekPlan | SessionPlan | Slot | None


def facts_of_week(week: WeekPlan) -> Facts:
    """What a week is besides its sessions: name, note, whether it is lighter."""
    return week.name, week.note, week.lighter


def facts_of_session(session: SessionPlan) -> Facts:
    """What a session is besides its slots: name, note, kind."""
    return session.name, session.note, session.kind


def place(week: int | None, week_before: int | None, session: str | None) -> str:
    """Where a change is.

    >>> place(3, 3, "Legs"), place(4, 3, "Legs"), place(None, 2, None)
    ('Week 3, Legs', 'Week 4 (week 3 before), Legs', 'Week 2')
    """
    text = f"Week {week_before if week is None else week}"
    if None not in (week, week_before) and week != week_before:
        text += f" (week {week_before} before)"
    return text if session is None else f"{text}, {session}"


def of_week(kind: str, where: str, number: int | None, before: Thing, after: Thing) -> str:
    """A week that was added, removed, moved or changed."""
    if kind == "moved":
        return f"{where} stands at another place now."
    if kind == "changed" and isinstance(before, WeekPlan) and isinstance(after, WeekPlan):
        told = [*_fact("name", before.name, after.name), *_fact("note", before.note, after.note)]
        if before.lighter != after.lighter:
            told.append("is a lighter week now" if after.lighter else "is no lighter week any more")
        return f"{where}: {_joined(told)}."
    week = after if kind == "added" else before
    named, holding = "", ""
    if isinstance(week, WeekPlan):
        named = f" “{week.name}”" if week.name is not None else ""
        lighter = "a lighter week with " if week.lighter else ""
        holding = f": {lighter}{plural(len(week.sessions), 'session')}, "
        holding += listing(tuple(session.name for session in week.sessions))
    done = "is new" if kind == "added" else "is gone"
    return f"Week {number}{named} {done}{holding}." if number is not None else f"{where}{named} {done}{holding}."


def of_session(kind: str, where: str, numbers: tuple[int | None, int | None], before: Thing, after: Thing) -> str:
    """A session that was added, removed, moved or changed."""
    if kind == "moved":
        return f"{where} is session {numbers[0]} of its week now, not {numbers[1]}."
    if kind == "changed" and isinstance(before, SessionPlan) and isinstance(after, SessionPlan):
        told = [*_fact("name", before.name, after.name), *_fact("note", before.note, after.note)]
        if before.kind != after.kind:
            told.append(f"is of the kind {after.kind} now, not {before.kind}")
        return f"{where}: {_joined(told)}."
    session = after if kind == "added" else before
    slots = session.slots if isinstance(session, SessionPlan) else ()
    holding = listing(tuple(slot_words(slot) for slot in slots)) if slots else "nothing"
    return f"{where} is {'new' if kind == 'added' else 'gone'}: {holding}."


def of_slot(kind: str, where: str, numbers: tuple[int | None, int | None], before: Thing, after: Thing) -> str:
    """A slot that was added, removed, moved or changed."""
    if isinstance(before, Slot) and isinstance(after, Slot):
        if kind == "moved":
            return f"{where}, {lift_words(after.lift)} is slot {numbers[0]} now, not {numbers[1]}."
        return f"{where}, {changed_slot(before, after)}."
    if isinstance(after, Slot):
        return f"{where}: {slot_words(after)} is new."
    return f"{where}: {slot_words(before)} is gone." if isinstance(before, Slot) else f"{where} differs."


def changed_slot(before: Slot, after: Slot) -> str:
    """What a slot was and what it is, with everything that differs.

    >>> from service.core.slots import EffortTarget
    >>> one = Slot(lift="squat", scheme=SetsAtTarget(sets=4), target=EffortTarget(reps=5, rpe=7))
    >>> changed_slot(one, Slot(lift="squat", scheme=SetsAtTarget(sets=3), target=EffortTarget(reps=5, rpe=8)))
    'squat: 4 sets of 5 at RPE 7 becomes 3 sets of 5 at RPE 8'
    """
    old, new = _small(slot_text(before)), _small(slot_text(after))
    finer = list(_finer(before, after))
    if before.lift != after.lift:
        said = f"{slot_words(before)}, becomes {slot_words(after)}"
    elif old != new:
        said = f"{lift_words(after.lift)}: {old} becomes {new}"
    else:
        said = f"{lift_words(after.lift)}: {_joined(finer) if finer else 'changes by less than is shown'}"
        finer = []
    return f"{said}; {_joined(finer)}" if finer else said


def slot_words(slot: Slot) -> str:
    """A slot with its lift: `squat, 4 sets of 5 at RPE 7`."""
    return f"{lift_words(slot.lift)}, {_small(slot_text(slot))}"


def lift_words(lift: str) -> str:
    """A lift's word for reading."""
    return lift.replace("-", " ")


def _small(text: str) -> str:
    return text[:1].lower() + text[1:]


def _joined(told: list[str]) -> str:
    return ", ".join(told)


def _fact(name: str, before: str | None, after: str | None) -> Iterator[str]:
    """A name or note that differs; long ones are not told whole."""
    if before == after:
        return
    if name == "note":
        yield "has a note now" if before is None else "the note is gone" if after is None else "has another note"
    elif before is None or after is None:
        yield f"is called “{after}” now" if after is not None else f"is not called “{before}” any more"
    else:
        yield f"“{before}” is called “{after}” now"


def _finer(before: Slot, after: Slot) -> Iterator[str]:
    """What differs and does not stand in the slot's own sentence."""
    yield from _words("tempo", before.tempo, after.tempo)
    yield from _words("rest", _seconds(before.rest_seconds), _seconds(after.rest_seconds))
    yield from _words("support", _worn(before), _worn(after))
    yield from _words("priority", _number(before.priority), _number(after.priority))
    yield from _fact("note", before.note, after.note)
    for name, old, new in (
        ("an accessory", before.accessory, after.accessory),
        ("optional", before.optional, after.optional),
        ("done in turn with the next slot", before.with_next, after.with_next),
    ):
        if old != new:
            yield f"is {name} now" if new else f"is not {name} any more"
    yield from _scheme(before, after)
    if _valid_days(before) != _valid_days(after):
        yield from _words("how old the day's max may be", _days(before), _days(after))


def _scheme(before: Slot, after: Slot) -> Iterator[str]:
    one, other = before.scheme, after.scheme
    if isinstance(one, TopSet) and isinstance(other, TopSet) and one.build_up != other.build_up:
        yield "the build-up sets are others"
    if isinstance(one, SetsAtTarget) and isinstance(other, SetsAtTarget) and one.add_load != other.add_load:
        yield "the load grows by another rule"
    if isinstance(one, Ladder | MaxTest) and type(one) is type(other) and one != other:
        yield "ends after another number of sets"


def _words(name: str, before: str | None, after: str | None) -> Iterator[str]:
    if before == after:
        return
    if before is None:
        yield f"{name} {after}"
    elif after is None:
        yield f"no {name} stated any more"
    else:
        yield f"{name} {before} becomes {after}"


def _seconds(count: int | None) -> str | None:
    return None if count is None else plural(count, "second")


def _number(count: int | None) -> str | None:
    return None if count is None else str(count)


def _worn(slot: Slot) -> str | None:
    return listing(slot.support) if slot.support else None


def _valid_days(slot: Slot) -> int | None:
    return slot.target.valid_days if isinstance(slot.target, PercentTarget) else None


def _days(slot: Slot) -> str | None:
    days = _valid_days(slot)
    return None if days is None else plural(days, "day")
