"""Everything that can be read from an opened row, in one place: each name lives in the module it is imported from."""

from __future__ import annotations

from service.core.model.expect_effort import (
    Effort,
    chance_of_single,
    chance_to_make,
    chances,
    expected_effort,
)
from service.core.model.following import Following, following
from service.core.model.levels import Ranged, day_max, max_ahead, rolling_max
from service.core.model.load import (
    BUILD_UP_UNITS,
    EFFORT_LIMIT,
    Suggested,
    highest_load_under,
    limit_for,
    load_for,
    planned_load,
    unlimited_load,
)
from service.core.model.load_list import Listed, load_list
from service.core.model.needs import Need, Sureness, needs
from service.core.model.smooth import Smoothed, Step, smooth

__all__ = [
    "BUILD_UP_UNITS",
    "EFFORT_LIMIT",
    "Effort",
    "Following",
    "Listed",
    "Need",
    "Ranged",
    "Smoothed",
    "Step",
    "Suggested",
    "Sureness",
    "chance_of_single",
    "chance_to_make",
    "chances",
    "day_max",
    "expected_effort",
    "following",
    "highest_load_under",
    "limit_for",
    "load_for",
    "load_list",
    "max_ahead",
    "needs",
    "planned_load",
    "rolling_max",
    "smooth",
    "unlimited_load",
]
