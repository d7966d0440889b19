"""Changes of a template as sentences."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from service.core.records import Lift
from service.core.slots import (
    BuildUp,
    Ladder,
    MaxTest,
    PercentTarget,
    SessionPlan,
    Slot,
    TopSet,
    WeekPlan,
)
from service.core.words import NO_LIFTS, lift_words, listing, number, plural, slot_text

Facts = tuple[str | None, str | None, object]
Thing = WeekPlan | SessionPlan | Slot | None
MOST_OF_NOTE = 80
"""So much of a note is told; the whole of it stands in what was there and what is there now. Ours. [characters]"""


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
        told = [*_name(before.name, after.name), *_note(before.note, after.note)]
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


def of_session(
    kind: str,
    where: str,
    numbers: tuple[int | None, int | None],
    before: Thing,
    after: Thing,
    lifts: Mapping[str, Lift] = NO_LIFTS,
) -> str:
    """A session that was added, removed, moved or changed."""
    if kind == "moved":
        return f"{where} is session {numbers[0]} of its week now, not {numbers[1]}."
    if kind == "changed" and isinstance(before, SessionPlan) and isinstance(after, SessionPlan):
        told = [*_name(before.name, after.name), *_note(before.note, after.note)]
        if before.kind != after.kind:
            told.append(f"is of the kind {after.kind} now, not {before.kind}")
        return f"{where}: {_joined(told)}."
    session = after if kind == "added" else before
    slots = session.slots if isinstance(session, SessionPlan) else ()
    holding = listing(tuple(slot_words(slot, lifts) for slot in slots)) if slots else "nothing"
    return f"{where} is {'new' if kind == 'added' else 'gone'}: {holding}."


def of_slot(
    kind: str,
    where: str,
    numbers: tuple[int | None, int | None],
    before: Thing,
    after: Thing,
    lifts: Mapping[str, Lift] = NO_LIFTS,
) -> str:
    """A slot that was added, removed, moved or changed."""
    if isinstance(before, Slot) and isinstance(after, Slot):
        if kind == "moved":
            return f"{where}, {lift_words(after.lift, lifts)} is slot {numbers[0]} now, not {numbers[1]}."
        return f"{where}, {changed_slot(before, after, lifts)}."
    if isinstance(after, Slot):
        return f"{where}: {slot_words(after, lifts)} is new."
    return f"{where}: {slot_words(before, lifts)} is gone." if isinstance(before, Slot) else f"{where} differs."


def changed_slot(before: Slot, after: Slot, lifts: Mapping[str, Lift] = NO_LIFTS) -> str:
    """What a slot was and what it is, with everything that differs.

    >>> from service.core.slots import EffortTarget, SetsAtTarget
    >>> one = Slot(lift="squat", scheme=SetsAtTarget(sets=4), target=EffortTarget(reps=5, rpe=7))
    >>> changed_slot(one, Slot(lift="squat", scheme=SetsAtTarget(sets=3), target=EffortTarget(reps=5, rpe=8)))
    'squat: 4 sets of 5 at RPE 7 becomes 3 sets of 5 at RPE 8'
    """
    old, new = _small(slot_text(before, lifts)), _small(slot_text(after, lifts))
    finer = list(_finer(before, after))
    name = lift_words(after.lift, lifts)
    if before.lift != after.lift:
        said = f"{slot_words(before, lifts)}, becomes {slot_words(after, lifts)}"
    elif old != new:
        said = f"{name}: {old} becomes {new}"
    else:
        said = f"{name}: {_joined(finer) if finer else 'changes by less than is shown'}"
        finer = []
    return f"{said}; {_joined(finer)}" if finer else said


def slot_words(slot: Slot, lifts: Mapping[str, Lift] = NO_LIFTS) -> str:
    """A slot with its lift: `squat, 4 sets of 5 at RPE 7`."""
    return f"{lift_words(slot.lift, lifts)}, {_small(slot_text(slot, lifts))}"


def shortened(note: str) -> str:
    """A note on one line, of a long one its beginning.

    >>> shortened("Breathe  out"), shortened("Slowly " * 20)[-14:]
    ('Breathe out', 'Slowly Slowly…')
    """
    line = " ".join(note.split())
    if len(line) <= MOST_OF_NOTE:
        return line
    end = line.rfind(" ", 0, MOST_OF_NOTE)
    return f"{line[: end if end > 0 else MOST_OF_NOTE]}…"


def _small(text: str) -> str:
    return text[:1].lower() + text[1:]


def _joined(told: list[str]) -> str:
    return ", ".join(told)


def _note(before: str | None, after: str | None) -> Iterator[str]:
    if before == after:
        return
    if before is None or after is None:
        yield f"the note “{shortened(before)}” is gone" if before else f"has the note “{shortened(after or '')}” now"
    else:
        yield f"the note “{shortened(before)}” is “{shortened(after)}” now"


def _name(before: str | None, after: str | None) -> Iterator[str]:
    if before == after:
        return
    if before is None or after is None:
        yield f"is called “{after}” now" if after is not None else f"is not called “{before}” any more"
    else:
        yield f"“{before}” is called “{after}” now"


def _finer(before: Slot, after: Slot) -> Iterator[str]:
    """What differs and does not stand in the slot's own sentence."""
    yield from _words("tempo", before.tempo, after.tempo)
    yield from _words("rest", _seconds(before.rest_seconds), _seconds(after.rest_seconds))
    yield from _words("support", _worn(before), _worn(after))
    yield from _words("priority", _number(before.priority), _number(after.priority))
    yield from _note(before.note, after.note)
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
        yield f"build-up sets {_build_up(one.build_up)} become build-up sets {_build_up(other.build_up)}"
    if isinstance(one, Ladder) and isinstance(other, Ladder):
        yield from _most(one.most_sets, other.most_sets, "set")
    if isinstance(one, MaxTest) and isinstance(other, MaxTest):
        yield from _most(one.attempts, other.attempts, "attempt")


def _build_up(up: BuildUp | None) -> str:
    """Sets on the way to a top set, after their name."""
    if up is None:
        return "as the settings say"
    reps = "" if up.reps is None else f"of {up.reps} "
    if up.rpes is not None:
        return f"{reps}at RPE {listing(tuple(number(rpe) for rpe in up.rpes))}"
    return f"{reps}at {listing(tuple(number(percent, 3) for percent in up.percents or ()))} % of its load"


def _most(before: int | None, after: int | None, one: str) -> Iterator[str]:
    """How many sets or attempts there may be."""
    if before != after:
        usual = f"the usual number of {one}s"
        old, new = (usual if count is None else plural(count, one) for count in (before, after))
        yield f"at most {old} becomes at most {new}"


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
