"""What is not known of a lift, said plainly, with what to do about it."""

from __future__ import annotations

from typing import Literal

from service.core.records import Lift

Missing = Literal["technique_lift", "no_load", "no_mass", "no_body_weight", "no_effort", "no_max"]


def unknown(lift: Lift, missing: Missing) -> str:
    """Why there is no estimated max of a lift, and what would help.

    >>> from service.core.catalogue import BUILT_IN
    >>> unknown(BUILT_IN["plank"], "no_load")
    'The plank is done without a load, so there is no max of it.'
    """
    name = lift.name.lower()
    if missing == "technique_lift":
        return (
            f"Nothing is estimated of the {name}: technique ends its sets, not strength, so repetitions and efforts "
            "say nothing of a max. Its tested max and its heaviest made singles count."
        )
    if missing == "no_load":
        return f"The {name} is done without a load, so there is no max of it."
    if missing == "no_mass":
        return (
            f"The steps of the machine for the {name} have no mass, so there is no max of it: compare the "
            "repetitions at the same step."
        )
    if missing == "no_body_weight":
        return (
            f"In the {name} the body is part of the load, and no body weight is known for the day: sets are kept, but "
            "nothing is estimated. Enter a body weight."
        )
    if missing == "no_effort":
        return (
            f"Sets of the {name} are logged, but none of them says how hard it was, so its max is not known. Say how "
            "many repetitions were left, or enter a max."
        )
    return (
        f"Nothing is known of the {name} yet: no max is entered and no set is logged. Enter a max, or log one hard set "
        "and say how many repetitions were left."
    )
