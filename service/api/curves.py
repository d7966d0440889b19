"""/v1/curves: the repetition curves, with their valid ranges and sources."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass

from fastapi import Response

from service.api.call import Called, Shape
from service.api.routing import operation, resource
from service.api.wire import Page
from service.core.curves.curves import CURVES
from service.core.units import Number, tidy

router = resource("/curves", "calculations")


@dataclass(frozen=True, slots=True, kw_only=True)
class CurveShown:
    """A curve between repetitions to failure and the share of the max."""

    name: str
    """What settings and calculations take."""
    title: str
    """Who published it, and when."""
    source: str
    """Where, and on whom it was found."""
    formula: str
    """In words and signs; reps are repetitions to failure."""
    fewest: Number
    """Fewer repetitions to failure are refused. [reps]"""
    most: Number
    """More repetitions to failure are refused. [reps]"""
    published_fewest: Number
    """What its source covers begins here; answers below it say so. [reps]"""
    published_most: Number
    """What its source covers ends here; answers above it say so. [reps]"""
    jumps_at_one: bool
    """The formula does not give 100 % at one repetition: a straight line from 100 % at 1 to its value at 2 is used."""


CURVE_PAGE: Shape[Page[CurveShown]] = Shape(Page[CurveShown])
SHOWN: Page[CurveShown] = Page[CurveShown].model_construct(
    items=[
        CurveShown(
            name=curve.name,
            title=curve.title,
            source=curve.source,
            formula=curve.formula,
            fewest=tidy(curve.fewest),
            most=tidy(curve.most),
            published_fewest=tidy(curve.published_fewest),
            published_most=tidy(curve.published_most),
            jumps_at_one=curve.jumps_at_one,
        )
        for curve in CURVES.values()
    ],
    next_page=None,
)
TAG = f'"{hashlib.sha256(CURVE_PAGE.json(SHOWN)).hexdigest()[:12]}"'


@router.get("", **operation("curves_list", "read", Page[CurveShown], own=True))
async def list_curves(call: Called) -> Response:
    """List the repetition curves, all on one page. They change with a release only."""
    call.headers["Cache-Control"] = "private, max-age=3600"
    return call.answer(CURVE_PAGE, SHOWN, tag=TAG)
