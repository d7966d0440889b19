"""Answers are written on a short way; pydantic's general way is what they are held against."""

from __future__ import annotations

from dataclasses import dataclass

import pytest
from pydantic import TypeAdapter

from service.api.call import Shape, ShapeByKind
from service.core.answers import DumbbellLoading, Loading, StackLoading
from service.core.units import Number, load


@dataclass
class Rack:
    """Some loads as they hang, and a number."""

    hung: tuple[Loading | None, ...]
    number: Number


PAIR = DumbbellLoading(exact=load(21.3, "kg"), load=load(22.5, "kg"), difference=load(1.2, "kg"))
STEP = StackLoading(exact=None, load=load(7, "step"), difference=None, number=7)


def kinds(rack: Rack) -> frozenset[type]:
    return frozenset(type(one) for one in rack.hung)


@pytest.mark.parametrize("hung", [(), (None,), (PAIR,), (None, STEP, STEP), (PAIR, STEP), (STEP, None, PAIR)])
@pytest.mark.parametrize("number", [7, 7.0, 7.25, -0.001, 10**15])
def test_an_answer_is_written_as_the_general_way_writes_it(hung: tuple[Loading | None, ...], number: float) -> None:
    rack = Rack(hung, number)
    usual = TypeAdapter(Rack).dump_json(rack) + b"\n"
    assert Shape(Rack).json(rack) == usual
    assert ShapeByKind(Rack, kinds).json(rack) == usual


def test_records_that_are_not_told_of_are_written_all_the_same() -> None:
    rack = Rack((STEP, PAIR), 1)
    assert ShapeByKind(Rack, lambda _: frozenset()).json(rack) == TypeAdapter(Rack).dump_json(rack) + b"\n"
