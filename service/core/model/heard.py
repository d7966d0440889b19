"""One set as the model hears it, and what the set did."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from service.core.model.state import Means
from service.core.records import Felt

Counts = Literal["all", "fatigue", "nothing"]
Status = Literal["used", "unrated", "ignored", "refused", "re_anchored"]

UNMOVED: Means = (0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0)


@dataclass(slots=True)
class Heard:
    """One logged set. Validated outside: a load above zero, whole repetitions, at least one unless it failed."""

    kg: float
    """Effective load: with a share of the body mass where the lift has one. [kg]"""
    reps: int
    """Good repetitions. [reps]"""
    rpe: float | None = None
    """Reported effort, 1 to 10; "five or more left" is 5. Not used where the set failed. [RPE]"""
    felt: Felt | None = None
    """Effort in a word against what was expected, where there is no `rpe`."""
    failed: bool = False
    """Strength ended the set while one more repetition was tried."""
    counts: Counts = "all"
    """All; "fatigue": technique, a command, grip or something else ended it; "nothing": pain did."""
    confirmed: bool = False
    """Asked whether load and repetitions are right, the lifter said yes."""
    excluded: bool = False
    """Asked the same, the lifter said to ignore the set."""


@dataclass(slots=True)
class Lesson:
    """What one set did to the model."""

    status: Status
    """"used": it taught something (though perhaps nothing new). "unrated": only fatigue. "ignored": changed no belief,
    as the lift is not known yet, it was a warm-up far from what is known, or the curve factor would have left its
    range. "refused": not believed. "re_anchored": believed, and the level starts anew from it."""
    surprise: float = 0.0
    """How much easier (above 0) than expected it was; divided by `worth`, in repetitions or RPE points. [log]"""
    spread: float = 0.0
    """Standard deviation of the surprise, before an outlier was weighed down; 0: nothing was compared. [log]"""
    worth: float = 0.0
    """Log load that a repetition is worth where the set was expected to end; 0: nothing was compared. [log / rep]"""
    expected_rpe: float | None = None
    """Effort that was expected, not limited; above 10: a miss was likely. None: nothing was known. [RPE]"""
    moved: Means = UNMOVED
    """Change of the means; after a new anchor, from that anchor."""
    widened: bool = False
    """The level was believed less than before, as one of the first sets disagreed with it."""
    weighed_down: bool = False
    """A surprising set, so that it counted less."""
    off: float | None = None
    """How far a refused set, or one that moved the anchor, lay off. [log]"""
    left: float | None = None
    """Repetitions left that the fatigue was counted with; None: none was counted, or one unit as nothing is known."""
    held: bool = False
    """The max stayed where it was, as it would have gone against the surprise; all else moved."""
