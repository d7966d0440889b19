"""Effort: RPE on the repetitions-in-reserve scale, repetitions left, and words against what was expected.

Halves: the scale's words follow its publication (9.5: no further repetition, a little more load), the arithmetic
reads a half as half a repetition. `published_left` is the one, `repetitions_left` the other.
"""

from __future__ import annotations

from math import floor

from service.core.errors import NotComputable, OutOfRange
from service.core.records import Felt

LOWEST_RPE, HIGHEST_RPE = 1.0, 10.0
LOWEST_RIR, HIGHEST_RIR = 0.0, 9.0
OR_MORE_RPE = 5.0
"""Five or more left is taken as five: few lifters count further [RPE]."""

_PUBLISHED: dict[float, tuple[float, float]] = {
    10: (0, 0), 9.5: (0, 0), 9: (1, 1), 8.5: (1, 2), 8: (2, 2), 7.5: (2, 3), 7: (3, 3),
    6: (4, 6), 5.5: (4, 6), 5: (4, 6),
}  # fmt: skip
_FELT: dict[str, float] = {"lighter": -1, "as_expected": 0, "heavier": 1}
_COUNTS = ("no", "one", "two", "three", "four", "five")


def repetitions_left(rpe: float) -> float:
    """Repetitions left by the arithmetic: 10 minus RPE, a half being half a repetition.

    Takes computed efforts too, so it wants no halves. Raises OutOfRange outside of 1 to 10. [RPE] -> [reps]

    >>> repetitions_left(8), repetitions_left(9.5)
    (2.0, 0.5)
    """
    if not LOWEST_RPE <= rpe <= HIGHEST_RPE:
        raise OutOfRange("rpe", rpe, LOWEST_RPE, HIGHEST_RPE, "RPE")
    return HIGHEST_RPE - rpe


def published_left(rpe: float) -> tuple[float, float]:
    """Fewest and most repetitions left by the words of the published scale [RPE] -> [reps], [reps].

    Zourdos et al. 2016, JSCR 30(1):267-275; Helms et al. 2016, Strength Cond J 38(4):42-49. The scale names no
    repetitions below 5 (light effort), and 6.5 is not printed: NotComputable (`not_published`).

    >>> published_left(9.5), published_left(8.5), published_left(6)
    ((0, 0), (1, 2), (4, 6))
    """
    entered_rpe(rpe)
    found = _PUBLISHED.get(rpe)
    if found is None:
        raise NotComputable("not_published", f"The published scale names no repetitions left at RPE {rpe:g}.")
    return found


def entered_rpe(value: float) -> float:
    """An RPE as lifters give it: 1 to 10 in halves; else OutOfRange or NotComputable (`not_a_half`) [RPE].

    >>> entered_rpe(8.5)
    8.5
    """
    return _halves("rpe", value, LOWEST_RPE, HIGHEST_RPE, "RPE")


def entered_rir(value: float) -> float:
    """Repetitions left as lifters give them: 0 to 9 in halves; else as `entered_rpe` [reps].

    >>> entered_rir(2)
    2.0
    """
    return _halves("rir", value, LOWEST_RIR, HIGHEST_RIR, "reps")


def to_rpe(
    *,
    rpe: float | None = None,
    rir: float | None = None,
    or_more: bool = False,
    felt: Felt | None = None,
    expected_rpe: float | None = None,
) -> float | None:
    """The effort of a set on the RPE scale, from what was logged.

    Parameters
    ----------
    rpe, rir, felt
        At most one: an RPE (1 to 10), repetitions left (0 to 9), both in halves, or a word. [RPE], [reps], -
    or_more : bool
        `rir` or more were left; for five and up. Counts as five left. [-]
    expected_rpe : float or None
        What the set was expected to be: words are one point lighter, as, or one point heavier than it, rounded to
        the nearest half between 4 and 10, and never above 10. [RPE]

    Returns
    -------
    float or None
        RPE; None without an effort, or for a word without an expectation. [RPE]

    Raises
    ------
    OutOfRange, NotComputable
        For a number off its scale; for two efforts at once (`two_efforts`) or `or_more` below five (`or_more`).

    Examples
    --------
    >>> to_rpe(rir=2), to_rpe(rir=5, or_more=True), to_rpe(felt="heavier", expected_rpe=7.7), to_rpe(felt="lighter")
    (8.0, 5.0, 8.5, None)
    """
    if sum(given is not None for given in (rpe, rir, felt)) > 1:
        raise NotComputable("two_efforts", "Give one effort: an RPE, repetitions left, or a word.")
    if or_more and (rir is None or rir < HIGHEST_RPE - OR_MORE_RPE):
        raise NotComputable("or_more", "'Or more' is for five repetitions left and up.")
    if rpe is not None:
        return entered_rpe(rpe)
    if rir is not None:
        left = entered_rir(rir)
        return OR_MORE_RPE if or_more else HIGHEST_RPE - left
    if felt is None or expected_rpe is None:
        return None
    return min(nearest_half(min(max(expected_rpe, 4), HIGHEST_RPE)) + _FELT[felt], HIGHEST_RPE)


def nearest_half(rpe: float) -> float:
    """Rounded to the nearest half; a quarter rounds up, to the harder side [RPE].

    >>> nearest_half(7.7), nearest_half(7.25)
    (7.5, 7.5)
    """
    return floor(2 * rpe + 0.5) / 2


def words_left(expected_rpe: float) -> str:
    """What a set of this effort leaves, for sentences of the form "this ..." [RPE].

    >>> words_left(6), words_left(7.7), words_left(10)
    ('leaves about four repetitions', 'leaves two or three repetitions', 'leaves nothing')
    >>> words_left(9.5), words_left(4)
    ('leaves no further repetition, perhaps a little more load', 'leaves five or more repetitions')
    """
    half = nearest_half(min(expected_rpe, HIGHEST_RPE))
    if half == HIGHEST_RPE:
        return "leaves nothing"
    if half == HIGHEST_RPE - 0.5:
        return "leaves no further repetition, perhaps a little more load"
    if half <= OR_MORE_RPE:
        return "leaves five or more repetitions"
    return f"leaves {count_words(HIGHEST_RPE - half)}"


def count_words(left: float) -> str:
    """Repetitions left in words: `about two repetitions`, `one or two repetitions`. For 1 to 5 in halves [reps].

    >>> count_words(2.5), count_words(1)
    ('two or three repetitions', 'about one repetition')
    """
    whole = int(left)
    if left != whole:
        return f"{_COUNTS[whole]} or {_COUNTS[whole + 1]} repetitions"
    return f"about {_COUNTS[whole]} repetition{'' if whole == 1 else 's'}"


def _halves(name: str, value: float, low: float, high: float, unit: str) -> float:
    if not low <= value <= high:
        raise OutOfRange(name, value, low, high, unit)
    if 2 * value != int(2 * value):
        raise NotComputable("not_a_half", f"{name} is given in halves, got {value:g}.")
    return float(value)
