"""Members of a body that can be read, but do not fit what is stored."""

from __future__ import annotations

from datetime import date, datetime
from zoneinfo import ZoneInfo

from service.core.errors import DomainError
from service.core.records import Lift
from service.core.units import Load
from service.store.errors import UnknownReference


class Unfit(UnknownReference):
    """A member that does not fit what is stored; `pointer` leads to it, the sentence goes on after its name."""

    code = "does_not_fit"

    def __init__(self, sentence: str, pointer: str) -> None:
        DomainError.__init__(self, sentence)
        self.what, self.pointer = "value", pointer


def fit_load(load: Load, lift: Lift, pointer: str = "#/load") -> None:
    """Refuse a load that the lift's load kind has no meaning for."""
    name = lift.name.lower()
    if lift.load_kind == "none":
        raise Unfit(f"must not be sent: the {name} is done without a load", pointer)
    if load.unit == "step" and lift.load_kind != "stack":
        raise Unfit(f"must be kg or lb: the {name} is not done on a machine with steps", f"{pointer}/unit")
    if load.value <= 0 and lift.load_kind != "bodyweight":
        raise Unfit(f"must be more than 0: the {name} cannot be done with assistance", f"{pointer}/value")


def local_day(moment: datetime, time_zone: str) -> date:
    """The day that a moment is in a time zone (IANA name)."""
    return moment.astimezone(ZoneInfo(time_zone)).date()
