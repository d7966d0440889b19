"""Whether enough sets have told how strong somebody is, so that loads may go by effort instead of by repetitions."""

from __future__ import annotations

from service.core.context import Context, Telling
from service.core.model.tested import TESTED_DAYS
from service.core.records import SupportClass

TELLING_RPE = 6.0
"""Sets that were at least so hard tell: with five or more left a number only says "at least". Ours. [RPE]"""
ENOUGH_SETS, ENOUGH_DAYS = 6, 3
"""So many of them, on so many days: one day may be a good or a bad one (published retests of a max differ by 2 to 4 %),
and a newcomer's first reports are the least sure. Ours. [sets], [days]"""


def told(ctx: Context, lift: str, support: SupportClass) -> tuple[int, int]:
    """How many sets tell of a lift, and on how many days. [sets], [days]

    >>> from datetime import date
    >>> from service.core.loading.kits import default_kit
    >>> ctx = Context(on=date(2026, 1, 1), unit="kg", kit=default_kit("kg"), lifts={})
    >>> told(ctx, "squat", "unsupported")
    (0, 0)
    """
    nothing = Telling(lift=lift, support=support, sets=0, days=0)
    found = next((one for one in ctx.telling if (one.lift, one.support) == (lift, support)), nothing)
    return found.sets, found.days


def tested_lately(ctx: Context, lift: str, support: SupportClass) -> bool:
    """Whether a max of the lift was tested within the last 56 days: that tells it from both sides."""
    return any(
        one.basis == "tested"
        and (one.lift, one.support) == (lift, support)
        and 0 <= (ctx.on - one.on).days <= TESTED_DAYS
        for one in ctx.maxes
    )
