"""Pictures for the guide, drawn from lifters that may be looked at (none of the committed tables)."""

from __future__ import annotations

from dataclasses import replace
from math import exp
from pathlib import Path
from statistics import median

from tests.simulation.drawing import Picture
from tests.simulation.lifters import DEVELOPMENT, WEEKS, Lifter, Session, World, lifter
from tests.simulation.methods import Said
from tests.simulation.product import Product
from tests.simulation.training import train

FOLDER = Path(__file__).resolve().parents[2] / "service/guides/pictures"
LOOKED_AT = 60
"""Lifters among whom the one of the first picture has the middle error, and the others their middle."""
ROWS = 10
SESSIONS = 12

Seen = list[tuple[Session, Said | None]]


def seen(who: Lifter) -> Seen:
    """What the model said before each session."""
    found: Seen = []
    train(who, Product.of(who), watch=lambda session, said: found.append((session, said)))
    return found


def _squat(found: Seen) -> list[tuple[Session, Said]]:
    return [(session, said) for session, said in found if session.lift == 0 and said is not None]


def _error(found: list[tuple[Session, Said]]) -> float:
    return sum(abs(said.kg / exp(session.level) - 1) for session, said in found) / len(found)


def weeks(lifters: list[tuple[Lifter, Seen]]) -> Picture:
    """One lifter's squat over the weeks: the true max, what the model says, its range."""
    usual = [(who, _squat(found)) for who, found in lifters if len(_squat(found)) > WEEKS]
    middle = sorted(usual, key=lambda one: _error(one[1]))[len(usual) // 2]
    who, said = middle
    true = [(day / 7, exp(level)) for day, level in enumerate(who.levels[0][: 7 * WEEKS])][::2]
    low = [(session.day / 7, one.low or one.kg) for session, one in said]
    high = [(session.day / 7, one.high or one.kg) for session, one in said]
    kgs = [kg for _, kg in (*true, *low, *high)]
    bottom, top = 5 * (min(kgs) // 5), 5 * (max(kgs) // 5 + 1)
    picture = Picture(
        "A squat over sixteen weeks",
        "The true max of one invented lifter, the max that the model says before each session, and its 80 % range, "
        "which narrows with the first sessions.",
        (0, WEEKS),
        (bottom, top),
    )
    step = 5 if top - bottom <= 40 else 10
    first = step * -(-bottom // step)
    picture.grid((kg, f"{kg:.0f} kg") for kg in range(int(first), int(top) + 1, step))
    picture.ticks(((week, f"{week}") for week in range(0, WEEKS + 1, 4)), "weeks")
    picture.band(low, high)
    picture.line(true)
    picture.line([(session.day / 7, one.kg) for session, one in said], "b")
    picture.words(WEEKS * 0.52, bottom + 0.06 * (top - bottom), "true max")
    picture.words(WEEKS * 0.66, bottom + 0.06 * (top - bottom), "the model, with its 80 % range", "b")
    return picture


def held(lifters: list[tuple[Lifter, Seen]]) -> Picture:
    """Ten lifters' squats: before which sessions the true max lay inside of the range."""
    rows = [_squat(found)[:32] for _, found in lifters[:ROWS]]
    picture = Picture(
        "Ten lifters: when the true max lay inside of the 80 % range",
        "One row for each lifter, one mark for each session of the squat: filled where the true max lay inside of the "
        "range, empty where it did not. Misses of one lifter follow each other.",
        (0, max(len(row) for row in rows) + 1),
        (0, ROWS + 1),
    )
    for at, row in enumerate(rows):
        inside = [(one.low or 0) <= exp(session.level) <= (one.high or 0) for session, one in row]
        picture.grid([(ROWS - at, f"{round(100 * sum(inside) / len(inside))} %")])
        picture.dots([(number + 1, ROWS - at) for number, good in enumerate(inside) if good])
        for number, good in enumerate(inside):
            if not good:
                picture.mark(number + 1, ROWS - at, "o", 4.5)
    picture.ticks(((number, f"{number}") for number in (1, 8, 16, 24, 32)), "session of the squat")
    return picture


def narrowing(worlds: dict[str, list[list[float]]]) -> Picture:
    """How wide the range is before each session, by what is known at the start."""
    picture = Picture(
        "How the range narrows",
        "Half of the 80 % range in per cent of the max, before each of the first twelve sessions of a lift, the middle "
        "of many lifters: without a max, with one that was typed in, with one that was tested lately. After about "
        "six sessions it matters little how a lift began.",
        (1, SESSIONS),
        (0, 16),
    )
    picture.grid((percent, f"± {percent} %") for percent in (0, 4, 8, 12, 16))
    picture.ticks(((number, f"{number}") for number in range(1, SESSIONS + 1)), "before the session")
    kinds = {"a max typed in": "b", "tested lately": "o", "no max": "d"}
    for at, (name, sessions) in enumerate(worlds.items()):
        points = [(number + 1.0, median(widths)) for number, widths in enumerate(sessions) if widths]
        picture.line(points, kinds[name])
        picture.words(SESSIONS - 3.4, 14.4 - 1.5 * at, name, "" if name == "no max" else kinds[name])
        picture.line([(SESSIONS - 4.1, 14.8 - 1.5 * at), (SESSIONS - 3.6, 14.8 - 1.5 * at)], kinds[name])
    return picture


def _widths(lifters: list[tuple[Lifter, Seen]], *, tested: bool | None) -> list[list[float]]:
    """Half ranges before each session [%]; of lifts that were tested lately, that were not, or of all."""
    found: list[list[float]] = [[] for _ in range(SESSIONS)]
    for who, sayings in lifters:
        for session, said in sayings:
            if said is None or session.number >= SESSIONS or tested not in (None, who.tested[session.lift]):
                continue
            found[session.number].append(50 * ((said.high or said.kg) - (said.low or said.kg)) / said.kg)
    return found


def drawn(count: int = LOOKED_AT) -> dict[str, str]:
    """All pictures by their files' names."""
    given, none = (
        [(who, seen(who)) for who in (lifter(DEVELOPMENT + number, world) for number in range(count))]
        for world in (World(), replace(World(), given=False))
    )
    ways = {
        "no max": _widths(none, tested=None),
        "a max typed in": _widths(given, tested=False),
        "tested lately": _widths(given, tested=True),
    }
    pictures = {"weeks.svg": weeks(given), "held.svg": held(given), "narrowing.svg": narrowing(ways)}
    return {name: picture.svg() for name, picture in pictures.items()}


def write() -> None:
    """Put them into the guides' folder."""
    FOLDER.mkdir(exist_ok=True)
    for name, svg in drawn().items():
        (FOLDER / name).write_text(svg, "utf-8")
