"""Sets that are no row of single repetitions: clusters, in parts with short rests, and complexes, lifts in a row."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from service.core import words
from service.core.answers import InParts, Named, Step
from service.core.records import Lift
from service.core.slots import Cluster, DistanceTarget, EffortTarget, Slot, TimeTarget


def whole(slot: Slot) -> Slot:
    """A cluster's slot with the repetitions of whole sets: those of a part, times its parts. Others stay as they are.

    An effort is then read as that of one straight set of all of them. The short rests make it easier, so the load is
    on the light side: prudence, ours, without a source.
    """
    scheme, target = slot.scheme, slot.target
    if not isinstance(scheme, Cluster) or isinstance(target, TimeTarget | DistanceTarget) or target.reps is None:
        return slot
    most = None if target.reps_to is None else target.reps_to * scheme.parts
    return replace(slot, target=replace(target, reps=target.reps * scheme.parts, reps_to=most))


def on_a_curve(slot: Slot) -> bool:
    """Whether an effort may be expected of a slot's sets: no curve holds for complexes, nor for clusters by load."""
    return not slot.complex and (slot.scheme.kind != "cluster" or isinstance(slot.target, EffortTarget))


def part_reps(slot: Slot) -> float | None:
    """Repetitions of one part of a cluster by load or percentage, of its `whole` slot; None for others. [reps]

    The middle of a range. No curve tells how hard all parts are, but what one part alone does not allow, no rest will.
    """
    if not isinstance(slot.scheme, Cluster) or slot.complex or isinstance(slot.target, EffortTarget):
        return None
    middle = words.middle_reps(slot.target)
    return None if middle is None else middle / slot.scheme.parts


def in_parts(slot: Slot) -> InParts | None:
    """How a set is split; None for sets in one go."""
    scheme = slot.scheme
    return InParts(scheme.parts, scheme.rest_seconds) if isinstance(scheme, Cluster) else None


def count_words(slot: Slot, reps: int, reps_to: int | None, lifts: Mapping[str, Lift]) -> str:
    """The repetitions of a set, as a sentence begins: `3 parts of 2`, `2 times 1 clean and 2 jerks in a row,`."""
    if slot.complex:
        often = words.reps(reps, reps_to)
        return f"{'' if often == '1' else f'{often} times '}{row(slot, lifts)} in a row,"
    if isinstance(slot.scheme, Cluster):
        parts = slot.scheme.parts
        if reps % parts or (reps_to or 0) % parts:
            return f"{words.reps(reps, reps_to)} in {words.plural(parts, 'part')} as even as they go"
        return f"{words.plural(parts, 'part')} of {words.reps(reps // parts, reps_to and reps_to // parts)}"
    return words.reps(reps, reps_to)


def row(slot: Slot, lifts: Mapping[str, Lift]) -> str:
    """What a complex goes through once: `1 clean and 2 jerks`."""
    return words.listing(tuple(_times(one.reps, one.lift, lifts) for one in slot.complex))


def _times(count: int, lift: str, lifts: Mapping[str, Lift]) -> str:
    known = lifts.get(lift)
    return words.times(count, known.name.lower() if known is not None else lift.replace("-", " "))


def in_parts_text(slot: Slot, text: str, expected: float | None) -> str:
    """A cluster's sentence from its begin: the rest between the parts, and what its effort is read as. [RPE]"""
    scheme = slot.scheme
    if not isinstance(scheme, Cluster):
        return f"{text}."
    text = f"{text}, {words.plural(scheme.rest_seconds, 'second')} between the parts"
    if expected is None:
        return f"{text}."
    if expected > 10:
        return f"{text}: in one go it would likely be missed, but the rests make it easier."
    return f"{text}: in one go it {words.should_leave(expected)}, and the rests make it easier."


def cluster_step(slot: Slot) -> Step | None:
    """What an effort is read as in a cluster; None where no effort is asked."""
    scheme, target = slot.scheme, slot.target
    if not isinstance(scheme, Cluster) or not isinstance(target, EffortTarget):
        return None
    each = words.reps(target.reps // scheme.parts, target.reps_to and target.reps_to // scheme.parts)
    all_of_it = words.reps(target.reps, target.reps_to)
    text = (
        f"{scheme.parts} parts of {each} are read as {all_of_it} in one go: the {scheme.rest_seconds} seconds between "
        "them make it easier, so the load is on the light side."
    )
    inputs = [
        Named("parts", scheme.parts, "parts"),
        Named("part_reps", target.reps // scheme.parts, "reps"),
        Named("rest", scheme.rest_seconds, "seconds"),
    ]
    if target.reps_to is not None:
        inputs.append(Named("part_reps_to", target.reps_to // scheme.parts, "reps"))
        inputs.append(Named("reps_to", target.reps_to, "reps"))
    return Step(text, "cluster", tuple(inputs), Named("reps", target.reps, "reps"))
