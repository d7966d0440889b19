"""A session as a coach would write it on a board: plain text, 80 columns, one line a set."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import groupby

from service.core import words
from service.core.answers import (
    BarLoading,
    BodyweightLoading,
    DumbbellLoading,
    LoadRange,
    PlateCount,
    PrescribedSet,
    ResolvedSlot,
)
from service.core.calendar import WEEKDAYS
from service.core.records import DoneSet, Role
from service.core.slots import Slot, TopSet
from service.core.units import Load, MassUnit, say

WIDTH = 80
PLAIN = str.maketrans({"“": '"', "”": '"', "’": "'", "–": "-", "×": "x", "…": "...", "·": "-"})
"""Signs of our sentences that an old terminal may not have; names and coaches' words stay as they are."""
ROLES: dict[Role, str] = {
    "warm_up": "warm-up",
    "build_up": "build-up",
    "top_set": "top set",
    "back_off": "back-off",
    "same_load": "same load",
    "target_set": "set",
    "open_set": "open set",
    "free": "set",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class BoardSlot:
    """A slot with what stands under it: what was done today, and the last time before."""

    name: str
    slot: Slot
    resolved: ResolvedSlot
    done: Sequence[DoneSet] = ()
    last: tuple[date, Sequence[DoneSet]] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Board:
    """One session."""

    name: str
    date: date
    state: str
    place: str | None
    note: str | None
    slots: Sequence[BoardSlot]
    others: Sequence[DoneSet] = ()
    """Sets that belong to no slot."""


def text(board: Board) -> str:
    """The board of a session, ending in a line break."""
    lines = [*_head(board)]
    for one in board.slots:
        lines += ["", *_slot(one)]
    if board.others:
        lines += ["", "Besides:"]
        lines += [line for done in board.others for line in _wrapped(f"{done.lift}: {_done(done)}", "  ")]
    return "\n".join(lines) + "\n"


def _head(board: Board) -> Iterator[str]:
    day = f"{WEEKDAYS[board.date.weekday()].capitalize()} {words.day(board.date)}"
    at = f", {board.place}" if board.place else ""
    yield from _wrapped(f"{board.name} - {day}{at} ({board.state})", "")
    if board.note:
        yield from _wrapped(board.note, "")


def _slot(one: BoardSlot) -> Iterator[str]:
    asked = one.resolved.text
    yield from _wrapped(f"{one.name}: {asked[:1].lower()}{asked[1:]}{' (optional)' if one.slot.optional else ''}", "")
    yield from (line for remark in _remarks(one) for line in _wrapped(remark, "  "))
    yield from _sets(one.resolved.sets, fewest=_fewest(one.slot))
    yield from (line for done in one.done for line in _wrapped(f"done: {_done(done)}", "  "))
    if one.last is not None:
        day, sets = one.last
        yield from _wrapped(f"last time, {words.day(day)}: {'; '.join(map(_done, sets))}", "  ")


def _remarks(one: BoardSlot) -> Iterator[str]:
    """What stands between a slot's name and its sets."""
    stands_on = "; ".join(_grounds(one.resolved))
    if stands_on:
        yield f"({stands_on})"
    how = [f"tempo {one.slot.tempo}"] if one.slot.tempo else []
    how += [f"rest {one.slot.rest_seconds} s"] if one.slot.rest_seconds else []
    how += ["in turn with the next"] if one.slot.with_next else []
    if how and not one.resolved.left_out:
        yield ", ".join(how)
    if one.slot.note:
        yield f"Note: {one.slot.note}"
    yield from coach(one.resolved)
    yield from (f"Take care: {caution.text}" for caution in one.resolved.cautions)


def coach(resolved: ResolvedSlot) -> Iterator[str]:
    """A coach's decisions that a slot obeys, and its loads without them; what is left out says why in its text."""
    alone = [one.without_override for one in resolved.sets if one.role != "warm_up"]
    loads = tuple(dict.fromkeys(say(one) for one in (*alone, resolved.without_override) if one is not None))
    told = [] if resolved.left_out else [one.text for one in resolved.overrides]
    if loads and (told or resolved.left_out):
        without = f"Without {'it' if len(resolved.overrides) == 1 else 'them'}: {words.listing(loads)}."
        told = [*told[:-1], f"{told[-1]} {without}" if told else without]
    yield from (f"Coach: {one}" for one in told)


def _grounds(resolved: ResolvedSlot) -> Iterator[str]:
    """The max behind the work sets, the bar, and where the true load is likely to lie."""
    steps = (step for one in reversed(resolved.sets) for step in reversed(one.why))
    named = (known for step in steps for known in step.inputs)  # a max that came from another lift's stands later
    best = next((known for known in named if known.name == "max"), None)
    if best is not None:
        yield f"max {words.number(best.value)} {best.unit}{' with body weight' if _bodily(resolved) else ''}"
    bars = dict.fromkeys(say(one.loading.bar) for one in resolved.sets if isinstance(one.loading, BarLoading))
    if bars:
        yield f"bar {', '.join(bars)}"
    likely = next((one.range for one in resolved.sets if one.range is not None and one.role != "build_up"), None)
    if likely is not None:
        yield f"range {_range(likely, bodily=_bodily(resolved))}"
    if any(one.provisional for one in resolved.sets):
        yield "provisional until that day's heavy set"


def _bodily(resolved: ResolvedSlot) -> bool:
    return any(isinstance(one.loading, BodyweightLoading) for one in resolved.sets)


def _range(likely: LoadRange, *, bodily: bool) -> str:
    """Both ends of a range; what helps the lifter is assistance, never a load below nothing."""
    low, high = likely.low, likely.high
    if not bodily:
        return f"{low.value:g} to {say(high)}"
    if high.value <= 0:
        return f"{-high.value:g} to {-low.value:g} {high.unit} of assistance"
    if low.value < 0:
        return f"{-low.value:g} {low.unit} of assistance to {say(high)} added"
    return f"{low.value:g} to {say(high)} added"


def _look(one: PrescribedSet) -> tuple[object, ...]:
    """Sets that look alike stand in one line."""
    return one.role, one.load, one.reps, one.reps_to, one.seconds, one.metres


def _fewest(slot: Slot) -> int | None:
    """How many back-off sets there are at least, where they go on until one is hard enough."""
    back_off = slot.scheme.back_off if isinstance(slot.scheme, TopSet) else None
    return None if back_off is None or back_off.until_rpe is None else back_off.fewest_sets


def _sets(sets: Sequence[PrescribedSet], fewest: int | None = None) -> Iterator[str]:
    """One line a set, in columns; what does not fit beside goes below."""
    unit = next((known.unit for one in sets for step in one.why for known in step.inputs if known.name == "max"), None)
    groups = [list(alike) for _, alike in groupby(sets, key=_look)]
    hangs = [_hangs(group[0]) for group in groups]
    wide = max(map(len, hangs), default=0)
    for group, hang in zip(groups, hangs, strict=True):
        one, remark = group[0], _remark(group, unit, fewest)
        line = f"  {ROLES[one.role]:<9} {_load(one):<8} {_much(one):<5}"
        for part in (f"{hang:<{wide}}", remark):
            if len(line) + 2 + len(part.rstrip()) > WIDTH:
                yield from _wrapped(line.strip(), line[: len(line) - len(line.lstrip())])
                line = " " * 26
            line += f"  {part}"
        yield from _wrapped(line.strip(), line[: len(line) - len(line.lstrip())])
        if one.load is None and one.text != f"{_bare(one)}.":
            yield from _wrapped(one.text, "    ")


def _remark(group: Sequence[PrescribedSet], unit: str | None, fewest: int | None) -> str:
    """The load in the lifter's unit, how hard it should be, and how many such sets follow each other."""
    efforts = [one.expected_rpe for one in group if one.expected_rpe is not None and one.role != "warm_up"]
    other = _in_own_unit(group[0], unit)
    parts = [f"= {other}"] if other else []
    if efforts:
        word = "about" if min(efforts) == max(efforts) else "up to"
        parts.append(f"{word} RPE {words.number(max(efforts))}")
    if group[0].in_parts is not None:
        split = group[0].in_parts
        parts.append(f"in {words.plural(split.parts, 'part')}, {words.plural(split.rest_seconds, 'second')} between")
    if len(group) > 1:
        least = f"{fewest} to " if group[0].role == "back_off" and fewest and fewest < len(group) else ""
        parts.append(f"{least}{len(group)} times")
    return ", ".join(parts)


def _in_own_unit(one: PrescribedSet, unit: str | None) -> str:
    """The load in the unit that the lifter's max is told in, where it hangs in another."""
    if one.load is None or one.load.kg is None or unit not in ("kg", "lb") or unit == one.load.unit:
        return ""
    own: MassUnit = "lb" if unit == "lb" else "kg"
    return f"{words.in_unit(float(one.load.kg), own, 1):g} {own}"


def _load(one: PrescribedSet) -> str:
    if one.load is None:
        return ""
    return _body(one.load) if isinstance(one.loading, BodyweightLoading) else say(one.load)


def _body(load: Load) -> str:
    return "body" if load.value == 0 else f"{load.value:+g} {load.unit}"


def _bare(one: PrescribedSet) -> str:
    """The sentence of a set that says no more than its line."""
    if one.seconds is not None:
        return words.plural(one.seconds, "second")
    return words.plural(one.metres, "metre") if one.metres is not None else words.reps(one.reps, one.reps_to)


def _much(one: PrescribedSet) -> str:
    if one.seconds is not None:
        return f"{one.seconds} s"
    if one.metres is not None:
        return f"{one.metres:g} m"
    if one.reps is None:
        return ""
    return f"x {words.reps(one.reps, one.reps_to)}{' or more' if one.role == 'open_set' and not one.reps_to else ''}"


def _hangs(one: PrescribedSet) -> str:
    if isinstance(one.loading, DumbbellLoading):
        return "each hand"
    if isinstance(one.loading, BodyweightLoading):
        plates = _plates(one.loading.plates, one.loading.load.unit)
        return f"hang on: {plates}" if plates else ""
    if isinstance(one.loading, BarLoading):
        plates = _plates(one.loading.per_side, one.loading.bar.unit)
        return f"each side: {plates}" if plates else "empty bar"
    return ""


def _plates(plates: Iterable[PlateCount], unit: str) -> str:
    """Plates one by one; the unit stands only at those of another unit than the bar's."""
    each = (plate.plate for plate in plates for _ in range(plate.count))
    return " ".join(f"{one.value:g}" if one.unit == unit else f"{one.value:g}{one.unit}" for one in each)


def _done(done: DoneSet) -> str:
    parts = [_lifted(done)]
    if done.rpe is not None:
        parts.append(f"RPE {words.number(done.rpe)}")
    if done.rir is not None:
        parts.append(f"{words.number(done.rir)}{' or more' if done.or_more else ''} left")
    if done.felt is not None:
        parts.append(done.felt.replace("_", " "))
    if not done.made:
        parts.append("missed")
    return " ".join(parts)


def _lifted(done: DoneSet) -> str:
    """The load, and how often, how far or how long: `100 kg x 3`, `24 kg, 30 m`."""
    taken = "" if done.load is None else say(done.load)
    far = [] if done.metres is None else [f"{done.metres:g} m"]
    far += [] if done.seconds is None else [f"{done.seconds} s"]
    if not far or done.reps > 1:
        taken = f"{taken} x {done.reps}".strip()
    return ", ".join(part for part in (taken, " in ".join(far)) if part)


def _wrapped(sentence: str, indent: str) -> list[str]:
    return textwrap.wrap(
        sentence.translate(PLAIN),
        WIDTH,
        initial_indent=indent,
        subsequent_indent=indent + "  ",
        break_on_hyphens=False,
        drop_whitespace=True,
    )
