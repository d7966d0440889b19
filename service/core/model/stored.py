"""Rows as plain lists that JSON can hold, and back with the same bits."""

from __future__ import annotations

from datetime import date
from typing import Any

from service.core.model.kin import Key, Level, Ratio
from service.core.model.memory import LiftMemory, Memory
from service.core.model.state import Person, Row

MODEL_VERSION = "2.3"
"""Stands with every stored row: rows of another version are folded anew from the log."""

Values = list[Any]
"""Numbers, strings, None, and lists of them."""


def row_values(row: Row) -> Values:
    """A row as a list."""
    return [
        row.reference,
        row.group,
        None if row.day is None else row.day.isoformat(),
        row.fatigue,
        row.used_in_session,
        row.used_ever,
        list(row.refused),
        row.flag,
        row.seen,
        list(row.m),
        list(row.p),
        row.at_least,
    ]


def row_from(values: Values) -> Row:
    """The row that `row_values` made a list of."""
    reference, group, day, fatigue, in_session, ever, refused, flag, seen, m, p, at_least = values
    return Row(
        reference,
        group,
        tuple(m),
        tuple(p),
        None if day is None else date.fromisoformat(day),
        fatigue,
        in_session,
        ever,
        tuple(refused),
        flag,
        seen,
        at_least,
    )


def person_values(person: Person) -> Values:
    """A person as a list."""
    return [
        person.bias,
        person.factor,
        person.v_bias,
        person.v_both,
        person.v_factor,
        person.rate,
        person.erratic,
        person.judged,
        person.version,
    ]


def person_from(values: Values) -> Person:
    """The person that `person_values` made a list of."""
    return Person(*values)


def ratio_values(ratio: Ratio) -> Values:
    """A ratio as a list."""
    on = None if ratio.on is None else ratio.on.isoformat()
    return [list(ratio.parent), ratio.mean, ratio.variance, on, ratio.here, ratio.there, ratio.up, ratio.down]


def ratio_from(values: Values) -> Ratio:
    """The ratio that `ratio_values` made a list of."""
    parent, mean, variance, on, *counts = values
    return Ratio(Key(*parent), mean, variance, None if on is None else date.fromisoformat(on), *counts)


def lift_values(lift: LiftMemory) -> Values:
    """All of one lift as a list: about fifty numbers."""
    return [
        row_values(lift.row),
        lift.before,
        None if lift.told is None else lift.told.isoformat(),
        lift.own,
        None if lift.ratio is None else ratio_values(lift.ratio),
    ]


def lift_from(values: Values) -> LiftMemory:
    """The lift that `lift_values` made a list of."""
    row, before, told, own, ratio = values
    return LiftMemory(
        row_from(row),
        None if before is None else Level(*before),
        None if told is None else date.fromisoformat(told),
        None if own is None else Level(*own),
        None if ratio is None else ratio_from(ratio),
    )


def memory_values(memory: Memory) -> Values:
    """A whole memory as a list: the form of a checkpoint."""
    return [
        MODEL_VERSION,
        person_values(memory.person),
        None if memory.day is None else memory.day.isoformat(),
        memory.closed,
        [[*key, lift_values(lift)] for key, lift in memory.lifts.items()],
    ]


def memory_from(values: Values) -> Memory:
    """The memory that `memory_values` made a list of.

    Raises
    ------
    ValueError
        If it is of another version of the model: replay the log.
    """
    version, person, day, closed, lifts = values
    if version != MODEL_VERSION:
        raise ValueError(f"A memory of version {version} of the model, not {MODEL_VERSION}: replay")
    return Memory(
        person_from(person),
        {Key(lift, support, stack): lift_from(rest) for lift, support, stack, rest in lifts},
        None if day is None else date.fromisoformat(day),
        closed,
    )
