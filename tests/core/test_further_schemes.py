"""Clusters, loads that grow, stop rules and open sets alone: what holds for every way through a slot holds for them."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import assume, given
from hypothesis import strategies as st

from service.core.adjust.adjust import next_set
from service.core.answers import NextSet
from service.core.slots import AddLoad, BackOff, Cluster, OpenLastSet, SetsAtTarget, TopSet
from service.core.units import load
from tests.core.plans import unexplained
from tests.core.test_adjust_properties import FEW, HALVES, Case, cases, fits, logged, outcome

STEP = AddLoad(when="all_sets_complete", step=load(2.5, "kg"))
further = st.one_of(
    st.builds(
        lambda sets, parts, rest: Cluster(sets=sets, parts=parts, rest_seconds=rest),
        st.integers(1, 4),
        st.integers(2, 3),  # a pinned curve reaches 40 repetitions, not more
        st.integers(5, 60),
    ),
    st.builds(
        lambda sets, add: SetsAtTarget(sets=sets, add_load=add),
        st.integers(1, 4),
        st.sampled_from([STEP, replace(STEP, when="two_more_twice"), replace(STEP, until_sure=True)]),
    ),
    st.builds(
        lambda less, rpe, fewest, more: TopSet(
            back_off=BackOff(less_percent=less, until_rpe=rpe, fewest=fewest, most=fewest + more)
        ),
        st.sampled_from([0, 5, 8]),
        st.sampled_from([7, 8, 9, 9.5]),
        st.integers(1, 3),
        st.integers(0, 3),
    ),
    st.builds(lambda most: OpenLastSet(sets_before=0, most_reps=most), st.sampled_from([None, 10])),
)


@given(cases(scheme=further))
@FEW
def test_what_is_said_to_follow_is_what_follows(case: Case) -> None:
    coming = case.coming
    assert isinstance(coming, NextSet)
    assume(coming.load is not None)
    miss = logged(coming, made=False, ended_by="strength", reps=max(logged(coming).reps - 1, 0))
    reports = [logged(coming, rpe=rpe) for rpe in HALVES]
    for one in reports if coming.role == "warm_up" else (*reports, miss):
        fitting = [entry for entry in coming.next_if if fits(entry, one)]
        assert fitting, one
        found = next_set(case.slot, case.ctx, [*case.done, one], plan=case.plan, slot_id=coming.slot)
        assert (fitting[-1].load, fitting[-1].reps) == outcome(found), (one, coming.next_if)


@given(cases(scheme=further))
@FEW
def test_reasons_name_their_numbers_and_no_kept_plan_is_needed(case: Case) -> None:
    coming = case.coming
    assert isinstance(coming, NextSet)
    assert not [left for step in coming.why for left in unexplained(step)]
    assert next_set(case.slot, case.ctx, case.done, slot_id=coming.slot) == coming
