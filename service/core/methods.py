"""Methods of doing a set that break the repetition curve: such sets are kept, and teach no max."""

from __future__ import annotations

from service.core.records import Lift, Method
from service.core.slots import Cluster, DistanceTarget, Slot

SLOW_DOWN, SLOW_UP, LONG_PAUSE = 4, 3, 2
"""From these on a tempo is slow. Repetitions at a load fall with a slower tempo (Wilk et al. 2018, PMC6006544, with
five seconds down and three up, or six and four), and one or two seconds each way are a moderate velocity (Ratamess et
al. 2009, MSSE 41(3):687-708); where exactly it begins to matter is ours. [s]"""
NAMED: dict[Method, str] = {
    "drop_set": "a drop set follows a set to which it belongs",
    "rest_pause": "a rest in the set lets more repetitions through",
    "cluster": "the rests inside a cluster let more repetitions through",
    "complex": "in a complex the weakest lift ends the set",
    "slow_tempo": "a slow tempo takes repetitions away",
    "carry": "a carry counts metres, not repetitions",
}
"""Why each of them tells no max, as the middle of a sentence."""


def is_slow(tempo: str | None) -> bool:
    """Whether a tempo is so slow, or so long paused, that the usual repetition curve does not hold.

    Parameters
    ----------
    tempo : str or None
        Seconds down, pause, up, pause; `x`: as fast as possible. [s]

    Examples
    --------
    >>> is_slow("5-0-3-0"), is_slow("3-2-x-0"), is_slow("2-0-x-0"), is_slow(None)
    (True, True, False, False)
    """
    if tempo is None:
        return False
    down, bottom, up, _ = (0 if part == "x" else int(part) for part in tempo.split("-"))
    return down >= SLOW_DOWN or bottom >= LONG_PAUSE or up >= SLOW_UP


def method_of(slot: Slot | None, lift: Lift) -> Method:
    """How the sets of a slot are done, where nobody says otherwise.

    Slow or paused work on a lift that is a variation of another one is straight: it has a max and a ratio of its own.
    """
    if slot is None:
        return "straight"
    if slot.complex:
        return "complex"
    if isinstance(slot.scheme, Cluster):
        return "cluster"
    if isinstance(slot.target, DistanceTarget):
        return "carry"
    return "slow_tempo" if lift.based_on is None and is_slow(slot.tempo) else "straight"


def left_out(method: Method) -> str | None:
    """What is said of a set that teaches no max because of its method; None for straight ones.

    >>> left_out("drop_set")
    'The set is stored. No max is read from it: a drop set follows a set to which it belongs.'
    """
    because = NAMED.get(method)
    return None if because is None else f"The set is stored. No max is read from it: {because}."
