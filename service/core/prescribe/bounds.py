"""What a coach's decisions, and a missing approval, allow at most in one slot."""

from __future__ import annotations

from dataclasses import dataclass

from service.core.units import Load, Number

HELD_RPE = 8.5
"""Work sets stay at this or easier while maximal work waits for an approval: half a point under the efforts from which
a minor's set is for the coach to approve. Ours; that it is approved first is common practice, no source. [RPE]"""
HELD_PERCENT = 90.0
"""The same for technique lifts, which have no efforts to hold: the share of the max from which a minor's set is for the
coach to approve. Ours. [%]"""
EPSILON = 1e-9
NEAR = 0.05
"""An effort that passes a bound by no more is shown as the bound, to a tenth, and does not pass it. [RPE]"""
LESS_FOR_TWO = 0.95
"""Where nothing is known of efforts, two repetitions take this part of the load of one: a little more off than the
default curve's 2 to 3 % a repetition there, to be on the safe side. Ours. [1]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Bounds:
    """Limits of a slot; those left out allow anything."""

    load: Load | None = None
    """No more than this load of the wire."""
    rpe: float | None = None
    """No work set is harder. [RPE]"""
    percent: Number | None = None
    """No more than this part of the max that the slot's loads are read by. [%]"""
    single: float | None = None
    """Of a slot whose single became two repetitions: what its load was meant for; None for others. [reps]"""
    fewest: int = 1
    """No set has fewer repetitions. [reps]"""
    held: bool = False
    """Maximal work waits for an approval."""
    approved: str | None = None
    """Maximal work is approved: by whom and until when, as it goes on in a sentence."""


FREE = Bounds()
"""Nothing is decided."""
