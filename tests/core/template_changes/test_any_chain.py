"""Whatever is done to a template, it stays one, and every difference is told once and whole."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from itertools import pairwise

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from service.core.catalogue import BUILT_IN
from service.core.changes import operations as ops
from service.core.changes.apply import apply
from service.core.changes.difference import difference
from service.core.changes.operations import Refused
from tests.core.template_changes.made import SIMPLE, assert_valid, some_operation, templates

QUIET = settings(
    max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large]
)


def refusal(weeks, operations):
    try:
        apply(weeks, operations, BUILT_IN)
    except Refused as refused:
        return refused
    return None


def rebuilt(before, changes, after_number, before_number):
    """Items in their new order, by what changes claim of their places: None stands for one that is told elsewhere."""
    left = dict(enumerate(before, 1))
    placed = {}
    for change in changes:
        if change.kind == "removed":
            del left[before_number(change)]
        elif change.kind == "added":
            placed[after_number(change)] = change.after
        elif change.kind == "moved" or change.what == "slot":
            item = left.pop(before_number(change))
            placed[after_number(change)] = change.after if change.what == "slot" else item
    rest = iter(left.values())
    return [placed[place] if place in placed else next(rest) for place in range(1, len(left) + len(placed) + 1)]


def replayed(before, changes):
    """The newer version, made from the older one by nothing but the claims of a difference."""
    of_weeks = [one for one in changes if one.what == "week"]
    weeks = rebuilt(before, of_weeks, lambda one: one.week, lambda one: one.week_before)
    added = {one.week for one in of_weeks if one.kind == "added"}
    for place, week in enumerate(weeks, 1):
        if place in added:
            continue
        inside = [one for one in changes if one.what != "week" and one.week == place]
        sessions = rebuilt(
            week.sessions,
            [one for one in inside if one.what == "session"],
            lambda one: one.session_number,
            lambda one: one.session_number_before,
        )
        new = {one.session_number for one in inside if one.what == "session" and one.kind == "added"}
        for number, session in enumerate(sessions, 1):
            if number in new:
                continue
            own = [one for one in inside if one.session_number == number]
            held = rebuilt(
                session.slots,
                [one for one in own if one.what == "slot"],
                lambda one: one.slot,
                lambda one: one.slot_before,
            )
            facts = next((one.after for one in own if (one.what, one.kind) == ("session", "changed")), session)
            sessions[number - 1] = replace(facts, slots=tuple(held))
        facts = next((one.after for one in of_weeks if one.kind == "changed" and one.week == place), week)
        weeks[place - 1] = replace(facts, sessions=tuple(sessions))
    return tuple(weeks)


@QUIET
@given(templates(), st.lists(some_operation, min_size=1, max_size=6))
def test_any_chain_of_operations_keeps_a_valid_template_and_is_told_whole(weeks, operations):
    assert_valid(weeks)
    done = []
    for operation in operations:
        refused = refusal(weeks, [*done, operation])
        if refused is None:
            done.append(operation)
        else:
            for fault in refused.faults:
                assert fault.pointer.startswith(f"#/operations/{len(done)}/")
                assert fault.text[0].islower()
    outcome = apply(weeks, done, BUILT_IN)
    assert_valid(outcome.weeks)
    for step in outcome.steps:
        assert replayed(step.before, list(step.changes())) == step.after
        assert step.text[0].isupper() or step.text[0].isdigit()
    assert replayed(weeks, list(outcome.changes())) == outcome.weeks


@QUIET
@given(templates(), templates())
def test_the_difference_of_two_versions_is_whole_and_names_each_thing_once(before, after):
    found = list(difference(before, after))
    assert replayed(before, found) == after
    keys = Counter(
        (one.what, one.kind in ("moved", "changed") and one.kind, one.week, one.session_number, one.slot)
        for one in found
        if one.kind != "removed"
    )
    assert not keys or max(keys.values()) == 1
    for one in found:
        assert one.told().endswith(".")
        assert "None" not in one.told(BUILT_IN)


@QUIET
@given(templates())
def test_nothing_differs_from_itself(weeks):
    assert list(difference(weeks, weeks)) == []


@QUIET
@given(templates(), st.one_of(*SIMPLE))
def test_each_changed_slot_is_told_exactly_once(weeks, operation):
    try:
        outcome = apply(weeks, [operation], BUILT_IN)
    except Refused:
        return
    told = Counter((one.what, one.kind, one.week, one.session_number, one.slot) for one in outcome.changes())
    counted = Counter(
        ("slot", "changed", w, s, at)
        for w, (old_week, new_week) in enumerate(zip(weeks, outcome.weeks, strict=True), 1)
        for s, (old, new) in enumerate(zip(old_week.sessions, new_week.sessions, strict=True), 1)
        for at, pair in enumerate(zip(old.slots, new.slots, strict=True), 1)
        if pair[0] != pair[1]
    )
    assert told == counted


@QUIET
@given(templates(), st.integers(1, 7), st.integers(1, 5))
def test_a_week_repeated_and_the_copies_dropped_is_no_change(weeks, number, times):
    week = 1 + number % len(weeks)
    copies = tuple(range(week + 1, week + 1 + times))
    there = [ops.RepeatWeek(week=week, times=times), ops.DropWeeks(weeks=copies)]
    outcome = apply(weeks, there, BUILT_IN)
    assert outcome.weeks == weeks
    assert list(outcome.changes()) == []
    first = apply(weeks, [there[0], ops.DropWeeks(weeks=tuple(one - 1 for one in copies))], BUILT_IN)
    assert list(first.changes()) == []  # a copy is as good as what it was made from


@QUIET
@given(templates(), st.integers(1, 30))
def test_what_was_lengthened_and_is_shortened_again_is_as_it_was_unless_it_held_repeats(weeks, more):
    if any(one == other for one, other in pairwise(weeks)):
        return
    try:
        longer = apply(weeks, [ops.Stretch(weeks=len(weeks) + more)], BUILT_IN).weeks
    except Refused:
        assert all(week.lighter for week in weeks[:-1])
        return
    assert len(longer) == len(weeks) + more
    assert longer[-1] == weeks[-1]
    assert apply(longer, [ops.Stretch(weeks=len(weeks))], BUILT_IN).weeks == weeks


@QUIET
@given(templates(), st.integers(1, 7))
def test_however_short_the_last_week_stays_and_no_lighter_week_comes_to_stand_first(weeks, wanted):
    if wanted >= len(weeks):
        return
    shorter = apply(weeks, [ops.Stretch(weeks=wanted)], BUILT_IN).weeks
    assert len(shorter) == wanted
    assert shorter[-1] == weeks[-1]
    if not weeks[0].lighter and wanted > 1 and shorter[0].lighter:
        assert all(week.lighter for week in shorter[:-1])
