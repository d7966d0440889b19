"""Which lifts belong together: variations of one lift, and how their maxes are tied."""

from __future__ import annotations

from collections.abc import Mapping

from service.core.records import Lift

LONGEST_CHAIN = 3
"""A variation of a variation of a variation: further than this a ratio says nothing. [lifts]"""


def first_of_line(lift: str, lifts: Mapping[str, Lift]) -> str:
    """The lift at the root of a lift's line of variations; itself where it is based on none.

    >>> from service.core.catalogue import BUILT_IN
    >>> first_of_line("pause-front-squat", BUILT_IN)
    'squat'
    """
    line = [lift]
    while (known := lifts.get(line[-1])) is not None and known.based_on is not None and known.based_on not in line:
        line.append(known.based_on)
    return line[-1]


def ratio_to(lift: str, of: str, lifts: Mapping[str, Lift]) -> float | None:
    """Max of a lift over the max of another one of its line, by the gym's ratios; None where none is known. [1]

    Parameters
    ----------
    lift, of : str
        Words of lifts; either may be the variation, over at most `LONGEST_CHAIN` lifts.
    lifts : mapping
        The gym's lifts by word, with those that they are based on.

    Examples
    --------
    >>> from service.core.catalogue import BUILT_IN
    >>> ratio_to("pause-squat", "squat", BUILT_IN), ratio_to("squat", "front-squat", BUILT_IN)
    (0.9, 1.25)
    >>> ratio_to("squat", "deadlift", BUILT_IN) is None
    True
    """
    up, down = _ratios(lift, lifts), _ratios(of, lifts)
    shared = next((word for word in up if word in down), None)
    return None if shared is None else up[shared] / down[shared]


def _ratios(lift: str, lifts: Mapping[str, Lift]) -> dict[str, float]:
    """Max of a lift over that of each lift it is based on, itself first. [1]"""
    found = {lift: 1.0}
    part, at = 1.0, lifts.get(lift)
    while at is not None and at.based_on is not None and at.ratio is not None and len(found) <= LONGEST_CHAIN:
        if at.based_on in found:
            break
        part *= at.ratio
        found[at.based_on] = part
        at = lifts.get(at.based_on)
    return found


def is_pull(lift: Lift) -> bool:
    """Whether a lift is a pull of a technique lift: planned in percent of the whole lift, above 100 too.

    Told by its name. Common practice, no source.

    >>> from service.core.catalogue import BUILT_IN
    >>> is_pull(BUILT_IN["clean-pull"]), is_pull(BUILT_IN["clean"]), is_pull(BUILT_IN["block-pull"])
    (True, False, False)
    """
    return lift.technique and "pull" in lift.name.lower().replace("-", " ").split()
