"""What the sets of a session taught: how they compared, where the max went, and what else they were put down to."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from service.core.answers import Named, Step
from service.core.model.levels import rolling_max
from service.core.model.state import Row
from service.core.tell.measure import Measure
from service.core.tell.parts import Parts, Session, Told, by_repetitions, name_of, parts_of, points, surprise
from service.core.units import tidy
from service.core.words import number, plural

STAYS = 0.0025
"""A max that moves by less is said to stay. Ours. [1]"""
PART = 0.25
"""From here on a part of what a session said is worth a sentence. Ours. [1]"""
REPORT_MOVED = 0.1
"""And so is a change of the report bias. Ours. [reps]"""
AS_EXPECTED = 0.25
"""A surprise under this is none: lifters report in halves. Ours. [RPE]"""


@dataclass(frozen=True, slots=True)
class Taught:
    """What a session taught."""

    text: str
    """One to four sentences."""
    why: tuple[Step, ...]
    """Each set against what was expected, then where it went."""


def taught(session: Session, shown: Measure) -> Taught:
    """What a session taught, in sentences that a lifter understands.

    Parameters
    ----------
    session : Session
        With the lessons of its sets.
    shown : Measure
        How maxes of the lift are shown.

    Returns
    -------
    Taught
        The text names the max before and after only where it moved by `STAYS` or more.
    """
    used = [(heard, lesson) for heard, lesson in session.sets if lesson.status == "used" and any(lesson.moved)]
    anchored = any(lesson.status == "re_anchored" for _, lesson in session.sets)
    parts = parts_of(session.before, used)
    sentences = [_main(session, shown, used, anchored=anchored)]
    if used and not anchored and _known(session.before) and (moves(session) or abs(surprise(used)) >= AS_EXPECTED):
        sentences += _causes(parts, used)
    sentences = [one for one in (*sentences, *_asides(session.sets)) if one] or [_nothing(session.sets)]
    return Taught(" ".join(sentences), (*_surprises(session, shown), *_learnt(session, shown, parts)))


def _known(row: Row | None) -> bool:
    return row is not None and row.reference is not None


def _maxes(session: Session) -> tuple[float | None, float | None]:
    before = None if session.before is None else rolling_max(session.before, session.before_person)
    after = rolling_max(session.after, session.person)
    return None if before is None else before.kg, None if after is None else after.kg


def moves(session: Session) -> bool:
    """Whether the max moved by enough to say so."""
    before, after = _maxes(session)
    return before is not None and after is not None and abs(after / before - 1) >= STAYS


def _main(session: Session, shown: Measure, used: Sequence[Told], *, anchored: bool) -> str:
    before, after = _maxes(session)
    if after is None:
        return ""
    now = shown.say(after)
    if anchored:
        was = "" if before is None else f" instead of {shown.say(before)}"
        return (
            f"Several sets did not fit what was believed before and agree with each other: now a max of about {now} is "
            f"believed{was}."
        )
    if before is None and any(lesson.status == "used" for _, lesson in session.sets):
        return f"The first sets that tell something: a max of about {now}."
    if before is None or not used:
        return ""
    if not moves(session) or shown.value(before) == shown.value(after):
        return _stays(used, now)
    change = f"{_change(shown, before, after)}, to {now}"
    return f"{_who_says(session.before, used, up=after > before)}: {change}."


def _change(shown: Measure, before: float, after: float) -> str:
    by = shown.value(after) - shown.value(before)
    return f"{number(abs(by))} {shown.unit} {'up' if by > 0 else 'down'}"


def _stays(used: Sequence[Told], now: str) -> str:
    off = surprise(used)
    if abs(off) < AS_EXPECTED:
        return f"The sets went as expected: the max stays about {now}."
    how = "lighter" if off > 0 else "harder"
    return f"The sets were {points(abs(off))} {how} than expected, which hardly moves the max: it stays about {now}."


def _who_says(before: Row | None, used: Sequence[Told], *, up: bool) -> str:
    """Which sets moved the max, and against which others."""
    groups = by_repetitions(used)
    said = {reps: parts_of(before, sets).strength * (1 if up else -1) for reps, sets in groups.items()}
    loudest = max(said, key=lambda reps: said[reps])
    quietest = min(said, key=lambda reps: said[reps])
    if len(groups) > 1 and said[quietest] < PART * said[loudest]:
        louder, quieter = (name_of(reps, groups[reps]) for reps in (loudest, quietest))
        say = "say" if len(groups[loudest]) > 1 else "says"
        return f"Your {louder} {say} {'more' if up else 'less'} than your {quieter} did"
    sets = groups[loudest]
    verb = "was" if len(sets) == 1 else "were"
    missed = any(heard.failed for heard, _ in sets)
    off = surprise(sets)
    if missed and not up:
        return f"A repetition was missed in your {name_of(loudest, sets)}"
    if abs(off) < AS_EXPECTED or (off > 0) != up:
        return "Taken together, your sets say a little " + ("more" if up else "less") + " than was expected"
    return f"Your {name_of(loudest, sets)} {verb} {points(abs(off))} {'lighter' if off > 0 else 'harder'} than expected"


def _causes(parts: Parts, used: Sequence[Told]) -> list[str]:
    """What else the sets were put down to."""
    found = []
    if abs(parts.share(parts.day)) >= PART and parts.day * surprise(used) > 0:
        kind = "good" if parts.day > 0 else "bad"
        much = "Most" if abs(parts.share(parts.day)) >= 0.5 else "Part"
        found.append(f"{much} of what they said passes for a {kind} day, and is forgotten by the next session.")
    if abs(parts.share(parts.curve)) >= PART:
        more = "more" if sum(lesson.moved[1] for _, lesson in used) > 0 else "fewer"
        found.append(f"It also looks as if you get {more} repetitions at a percentage than was thought.")
    bias = sum(lesson.moved[5] for _, lesson in used)
    if abs(bias) >= REPORT_MOVED:
        more = "more" if bias > 0 else "less"
        found.append(f"And it looks as if a little {more} is left in your sets than you say.")
    return found


def _asides(sets: Sequence[Told]) -> list[str]:
    """What has to be said of sets that counted in another way than usual."""
    found = []
    if any(lesson.widened for _, lesson in sets):
        found.append("As these are among the first sets, what was believed before counts less beside them.")
    if any(lesson.weighed_down for _, lesson in sets):
        found.append("One that surprises much counts less, until another says the same.")
    doubted = sum(lesson.status == "refused" for _, lesson in sets)
    if doubted:
        what, it = ("1 set is", "it was") if doubted == 1 else (f"{doubted} sets are", "they were")
        found.append(f"{what} too far from what is known to be believed: say whether {it} entered right.")
    silent = sum(lesson.status == "unrated" and heard.counts == "all" and not heard.excluded for heard, lesson in sets)
    if silent:
        found.append(
            f"{plural(silent, 'set')} without an effort {'says' if silent == 1 else 'say'} nothing of the max."
        )
    return found


def _nothing(sets: Sequence[Told]) -> str:
    """Where there is nothing else to say."""
    if any(lesson.status == "used" for _, lesson in sets):
        return "The sets were light enough to be no surprise: they hardly say anything about the max."
    return "Nothing in this session says anything about the max."


def _surprises(session: Session, shown: Measure) -> tuple[Step, ...]:
    """Each used set against what was expected of it."""
    found = []
    for heard, lesson in session.sets:
        if lesson.status != "used" or lesson.worth <= 0 or lesson.expected_rpe is None or not any(lesson.moved):
            continue
        done = f"{heard.reps} with {shown.say(heard.kg)}"
        how = "a repetition was missed" if heard.failed else ""
        if not heard.failed and heard.rpe is not None:
            how = f"RPE {number(heard.rpe)}"
        elif heard.felt is not None:
            how = f"felt {heard.felt.replace('_', ' ')}"
        expected = min(max(lesson.expected_rpe, 1.0), 10.0)
        off = tidy(lesson.surprise / lesson.worth, 1)
        if heard.rpe is not None and not heard.failed and lesson.expected_rpe <= 10:
            off = tidy(round(expected, 1) - heard.rpe, 1)  # so that the sentence adds up
        side = "as expected" if off == 0 else f"{number(abs(off))} {'easier' if off > 0 else 'harder'}"
        hoped = "a miss was likely" if lesson.expected_rpe > 10 else f"expected RPE {number(expected)}"
        text = f"{done}: {how or 'done'}, {hoped}; {side}."
        inputs = [Named("reps", heard.reps, "reps"), shown.named("load", heard.kg)]
        if heard.rpe is not None and not heard.failed:
            inputs.append(Named("rpe", tidy(heard.rpe, 1), "rpe"))
        inputs.append(Named("expected_rpe", tidy(expected, 1), "rpe"))
        found.append(Step(text, "surprise", tuple(inputs), Named("surprise", off, "rpe")))
    return tuple(found)


def _learnt(session: Session, shown: Measure, parts: Parts) -> tuple[Step, ...]:
    """Where what the sets said went, and the max before and after."""
    before, after = _maxes(session)
    if before is None or after is None:
        return ()
    moved = abs(after / before - 1) >= 1e-12
    to = f"from {shown.say(before)} to {shown.say(after)}" if moved else f"stays {shown.say(after)}"
    text = f"The max {'goes ' if moved else ''}{to}"
    inputs = [shown.named("max_before", before)]
    named = (
        ("strength", "strength", parts.strength),
        ("curve", "how many repetitions you get at a percentage", parts.curve),
        ("day", "the day", parts.day),
        ("reports", "how you report", parts.reports),
    )
    told = [(name, what, tidy(100 * abs(parts.share(part)), 0)) for name, what, part in named]
    if parts.whole > 1e-9:
        inputs += [Named(name, percent, "percent") for name, _, percent in told]
        text += "; what the sets said is put down to " + ", ".join(f"{what} {percent} %" for _, what, percent in told)
    return (Step(f"{text}.", "learnt", tuple(inputs), shown.named("max", after)),)
