"""A logged set as the model hears it."""

from __future__ import annotations

from service.core.effort import OR_MORE_RPE, to_rpe
from service.core.model.heard import Counts, Heard
from service.core.records import DoneSet


def heard(done: DoneSet, kg: float, *, rpe: float | None = None) -> Heard:
    """A set for the model.

    Parameters
    ----------
    done : DoneSet
        The set. Warm-ups teach nothing; nor does a set that technique, a command or the grip ended, or one done by a
        method that breaks the curve; after pain it does not even tire. To failure is RPE 10. Five or more left is
        five, also where a lower RPE says so: few count further. A load that a ladder asked for counts as confirmed.
    kg : float
        Effective load, > 0. [kg]
    rpe : float or None
        An imagined report, in place of what the set says. [RPE]
    """
    failed = not done.made and done.ended_by == "strength"
    counts: Counts = "all"
    if done.pain == "stop" or done.ended_by == "pain":
        counts = "nothing"
    elif done.role == "warm_up" or done.method != "straight" or not _told(done, failed=failed):
        counts = "fatigue"
    felt = done.felt if rpe is None and not failed else None
    if felt is None and rpe is None and not failed:
        rpe = to_rpe(rpe=done.rpe, rir=done.rir, or_more=done.or_more)
        if rpe is None and done.ended_by == "strength":
            rpe = 10.0
    if rpe is not None:
        rpe = max(rpe, OR_MORE_RPE)
    return Heard(
        kg,
        done.reps,
        None if failed else rpe,
        felt,
        failed,
        counts,
        done.answer == "confirmed" or done.by_ladder,
        done.answer == "excluded",
    )


def _told(done: DoneSet, *, failed: bool) -> bool:
    """Whether strength or choice ended it after at least a repetition, or strength while one more was tried."""
    return done.ended_by in ("choice", "strength") and (failed or done.reps >= 1)
