"""A load in its three columns: as entered, its unit, and its exact mass."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from service.core.units import Load, load


def load_columns(value: Load | None) -> dict[str, Any]:
    """The columns of a load; the mass is exact to 1e-11 kg."""
    if value is None:
        return {"load_value": None, "load_unit": None, "load_kg": None}
    exact = None if value.unit == "step" else Decimal(value.grains).scaleb(-11)
    return {"load_value": Decimal(str(value.value)), "load_unit": value.unit, "load_kg": exact}


def stored_load(row: Any) -> Load | None:
    """The load of a row that has the three columns."""
    return None if row.load_value is None else load(float(row.load_value), row.load_unit)
