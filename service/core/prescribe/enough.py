"""Whether enough sets have told how strong somebody is, so that loads may go by effort instead of by repetitions."""

from __future__ import annotations

from datetime import date, timedelta

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
    found = _telling(ctx, lift, support)
    return (0, 0) if found is None else (found.sets, found.days)


def is_enough(sets: int, days: int) -> bool:
    """Whether so many sets on so many days tell enough. [sets], [days]"""
    return sets >= ENOUGH_SETS and days >= ENOUGH_DAYS


def newest(ctx: Context, lift: str, support: SupportClass) -> date | None:
    """When a set told of a lift last; None where none did."""
    found = _telling(ctx, lift, support)
    return None if found is None else found.last


def _telling(ctx: Context, lift: str, support: SupportClass) -> Telling | None:
    return next((one for one in ctx.telling if (one.lift, one.support) == (lift, support)), None)


def tested_lately(ctx: Context, lift: str, support: SupportClass) -> bool:
    """Whether a max of the lift was tested within the last 56 days: that tells it from both sides."""
    return tested_since(ctx, lift, support, ctx.on - timedelta(days=TESTED_DAYS))


def tested_since(ctx: Context, lift: str, support: SupportClass, day: date) -> bool:
    """Whether a max of the lift was tested on a day or after it."""
    return any(
        one.basis == "tested" and (one.lift, one.support) == (lift, support) and day <= one.on <= ctx.on
        for one in ctx.maxes
    )
