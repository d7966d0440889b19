"""Efforts that cannot come as they are written: over the limit at once, or by the sets before."""

from __future__ import annotations

from collections.abc import Iterator

from service.core.check.finding import OURS, PRACTICE, Level, Remark
from service.core.check.intensity import NEAR, SetSeen, SlotSeen, broken
from service.core.plan.sizes import work_sets
from service.core.prescribe.bounds import EPSILON
from service.core.prescribe.parts import part_reps, whole
from service.core.records import Lift
from service.core.slots import EffortTarget, SetsAtTarget, Slot, TopSet
from service.core.words import number, plural

LIMIT = f"{PRACTICE}; efforts expected by the model"
PEOPLE = (
    "limit: common practice, no source; efforts expected by the model; people differ: Nuzzo et al. 2024, "
    "Sports Med 54(2):303-321"
)
LEAST_SD = 0.5
HOLDS = frozenset({"plank", "planks", "hold", "holds", "hang", "hangs", "sit"})
"""Last words in the name of a lift without a load that is held for a time. Ours."""


def repetitions_sd(percent: float) -> float:
    """How far people differ in the repetitions that they get at a percentage, one standard deviation. [%] -> [reps]

    The straight line through the published 2.51 at 80 % and 4.36 at 60 % (Nuzzo et al. 2024), at least half a
    repetition (ours).

    >>> repetitions_sd(80), round(repetitions_sd(60), 2)
    (2.51, 4.36)
    """
    return max(LEAST_SD, 2.51 + (4.36 - 2.51) / (80 - 60) * (80 - percent))


def remarks(seen: SlotSeen, lift: Lift) -> Iterator[Remark]:
    """What is wrong with a slot's efforts."""
    if broken(seen.slot):
        text = (
            f"Clusters and complexes break the repetition curve: of the {lift.name.lower()} done so no effort is "
            "expected, and it teaches no max."
        )
        yield Remark("note", "left_out_of_estimates", text, OURS, "/scheme")
        yield from _part(seen, lift)
        return
    yield from _without_load(seen.slot, lift)
    if not seen.sets or seen.slot.scheme.kind in ("ladder", "test"):
        return
    over = _asked_over(seen, lift)
    yield from over
    if not over:
        yield from _by_the_sets(seen, lift)
    yield from _stop_rule(seen, lift)


def _without_load(slot: Slot, lift: Lift) -> Iterator[Remark]:
    """An effort in a lift that has no load: nothing is there that could be chosen to meet it, but repetitions."""
    target, name = slot.target, lift.name.lower()
    if lift.load_kind != "none" or not isinstance(target, EffortTarget):
        return
    asked = f"RPE {number(target.asked_rpe)}"
    if name.replace("-", " ").strip().rpartition(" ")[2] in HOLDS:
        text = (
            f"The {name} is held, without a load: neither a load nor a time can be worked out for {asked}. State the "
            "seconds."
        )
        yield Remark("doubt", "effort_without_load", text, OURS, "/target")
    elif target.reps_to is None or target.reps_to == target.reps:
        text = (
            f"The {name} is done without a load: nothing can be chosen to meet {asked} at {number(target.reps)}. A "
            "range of repetitions would leave room."
        )
        yield Remark("note", "effort_without_load", text, OURS, "/target")


def _part(seen: SlotSeen, lift: Lift) -> Iterator[Remark]:
    """A cluster whose single part cannot be done, fresh and alone: no rest between parts changes that."""
    one = seen.sets[0] if seen.sets else None
    percent, reps = (None, None) if one is None else (seen.percent(one), part_reps(whole(seen.slot)))
    if one is None or percent is None or reps is None or seen.by.ability is None or one.written_kg is None:
        return
    rpe = seen.by.ability.expected(one.written_kg, reps)
    if rpe <= 10 + NEAR:
        return
    text = (
        f"Even one part of the {lift.name.lower()}, {plural(reps, 'repetition')} with {number(percent)} % of the max, "
        f"is expected to fail: {_possible(max(0.0, reps + 10 - rpe))}, whatever the rest between the parts. "
        f"People differ by about {number(repetitions_sd(percent))} repetitions there."
    )
    level: Level = "error" if rpe > 10 + repetitions_sd(percent) else "doubt"
    yield Remark(level, "too_many_repetitions", text, PEOPLE, "/target")


def _asked_over(seen: SlotSeen, lift: Lift) -> list[Remark]:
    asked, name, limit = seen.asked_rpe, lift.name.lower(), seen.limit
    if asked is None:
        return []
    if limit is not None and seen.held_under is not None and asked >= limit:
        sets = work_sets(seen.slot)
        how = (
            f"{plural(sets, 'set')} of the {name} at RPE {number(asked)}"
            if sets > 1
            else f"A set at RPE {number(asked)}"
        )
        text = (
            f"{how} cannot come as written: work sets stay under RPE {number(limit)}, so the loads will be for "
            f"RPE {number(seen.held_under)}. Only tests, meets and a single set to RPE 10 lift that limit."
        )
        return [Remark("error", "effort_over_limit", text, LIMIT, "/target")]
    followers = [one for one in seen.sets[1:] if one.role in ("target_set", "same_load")]
    if asked >= 10 and followers:
        text = (
            f"After a set of the {name} at RPE 10 nothing is left: {plural(len(followers), 'further set')} at the same "
            "effort would fail, or the load must fall from set to set."
        )
        return [Remark("error", "nothing_left", text, LIMIT, "/scheme")]
    return []


def _by_the_sets(seen: SlotSeen, lift: Lift) -> Iterator[Remark]:
    first = seen.sets[0]
    limit, under, name = seen.limit, seen.held_under, lift.name.lower()
    if limit is None or under is None or first.written_rpe is None or first.reps is None:
        return
    percent = seen.percent(first)
    by_percent = not isinstance(seen.slot.target, EffortTarget)
    missed = 10 + (repetitions_sd(percent) if by_percent and percent is not None else 0.0)
    if by_percent and percent is not None and first.written_rpe >= limit - NEAR:
        likely = "to fail" if first.written_rpe > 10 + NEAR else f"to be RPE {number(first.written_rpe)}"
        possible = max(0.0, first.reps + 10 - first.written_rpe)
        verb = "is" if first.reps == 1 else "are"
        text = (
            f"{plural(first.reps, 'repetition')} of the {name} with {number(percent)} % of the max {verb} expected "
            f"{likely}: {_possible(possible)}, and work sets stay under RPE {number(limit)}. "
            f"People differ by about {number(repetitions_sd(percent))} repetitions there."
        )
        level: Level = "error" if first.written_rpe > missed else "doubt"
        yield Remark(level, "too_many_repetitions", text, PEOPLE, "/target")
        return
    if isinstance(seen.slot.scheme, SetsAtTarget) and not by_percent:
        return  # each of them is chosen to land on the target
    yield from _followers(seen, name, missed, under)


def _possible(reps: float) -> str:
    """How many repetitions are possible, as the middle of a sentence. [reps]"""
    if reps < 1:
        return "even one is more than is likely"
    return f"about {number(reps)} {'is' if number(reps) == '1' else 'are'} possible"


def _followers(seen: SlotSeen, name: str, missed: float, under: float) -> Iterator[Remark]:
    """Sets that follow with a stated load, and get too hard by the fatigue of those before."""
    hard = [
        (at, one)
        for at, one in enumerate(seen.sets, 1)
        if at > 1 and one.role != "open_set" and (one.written_rpe or 0) > under + NEAR
    ]
    if not hard:
        return
    number_of, worst = hard[0][0], max(one.written_rpe or 0 for _, one in hard)
    lowered = f"from set {number_of} on the load will be lowered."
    if worst > 10 + NEAR:
        what = f"would fail. Following sets are held under RPE {number(under)}: {lowered}"
    else:
        what = (
            f"would reach RPE {number(worst)}, past RPE {number(under)} that following sets are held under: {lowered}"
        )
    text = f"The sets of the {name} after the first {what}"
    yield Remark("error" if worst > missed + NEAR else "doubt", "following_sets_too_hard", text, LIMIT, "/scheme")


def _stop_rule(seen: SlotSeen, lift: Lift) -> Iterator[Remark]:
    scheme = seen.slot.scheme
    back_off = scheme.back_off if isinstance(scheme, TopSet) else None
    if back_off is None or back_off.until_rpe is None:
        return
    until, name = float(back_off.until_rpe), lift.name.lower()
    if seen.held_under is not None and until > seen.held_under + EPSILON:
        text = (
            f"Back-off sets of the {name} are to go on until RPE {number(until)}, but following sets are held under "
            f"RPE {number(seen.held_under)}: they would end at {plural(back_off.most_sets, 'set')}, not by effort."
        )
        yield Remark("error", "stop_never_reached", text, LIMIT, "/scheme/back_off/until_rpe")
        return
    last: SetSeen = seen.sets[-1]
    if last.rpe is not None and last.role == "back_off" and last.rpe < until - NEAR:
        text = (
            f"Back-off sets of the {name} are not expected to reach RPE {number(until)} within "
            f"{plural(back_off.most_sets, 'set')}: the last one is expected at RPE {number(last.rpe)}."
        )
        yield Remark("doubt", "stop_never_reached", text, "efforts expected by the model", "/scheme/back_off/until_rpe")
