"""Members of a body that can be read, but do not fit what is stored."""

from __future__ import annotations

from datetime import date, datetime
from zoneinfo import ZoneInfo

from service.core.records import Lift
from service.core.units import Load
from service.store.errors import UnfitReference


def unfit(rule: str, pointer: str) -> UnfitReference:
    """The refusal of a member that does not fit what is stored; the rule goes on after the member's name."""
    return UnfitReference("value", pointer, rule)


def fit_load(load: Load, lift: Lift, pointer: str = "#/load") -> None:
    """Refuse a load that the lift's load kind has no meaning for."""
    name = lift.name.lower()
    if lift.load_kind == "none":
        raise unfit(f"must not be sent: the {name} is done without a load", pointer)
    if load.unit == "step" and lift.load_kind != "stack":
        raise unfit(f"must be kg or lb: the {name} is not done on a machine with steps", f"{pointer}/unit")
    if load.value <= 0 and lift.load_kind != "bodyweight":
        raise unfit(f"must be more than 0: the {name} cannot be done with assistance", f"{pointer}/value")


def local_day(moment: datetime, time_zone: str) -> date:
    """The day that a moment is in a time zone (IANA name)."""
    return moment.astimezone(ZoneInfo(time_zone)).date()
