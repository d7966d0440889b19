"""Which max is meant. The order of bases is common practice, no source; all figures are plain products by hand."""

from datetime import timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.core.errors import NotComputable
from service.core.prescribe.basis import find_max
from tests.core.plans import TODAY, context, known, pinned, unexplained

ALL = (
    known("squat", 150, "tested", days=60),
    known("squat", 142, "training", days=30),
    known("squat", 153, "rolling", days=2),
    known("squat", 147, "day"),
)


def test_an_effort_goes_by_today_then_the_log_then_the_test_then_the_training_max():
    found = [find_max("squat", context(*ALL[: 4 - dropped])) for dropped in range(3)]
    assert [(one.basis, one.kg) for one in found] == [("day", 147), ("rolling", 153), ("tested", 150)]

    behind = find_max("squat", context(known("squat", 142.5, "training")))
    assert behind.basis == "training"
    assert behind.kg == pytest.approx(150)  # 142.5 / 0.95


def test_a_day_max_of_yesterday_says_nothing_about_an_effort_today():
    assert find_max("squat", context(ALL[0], known("squat", 160, "day", days=1))).kg == 150


@pytest.mark.parametrize(("valid_days", "kg"), [(None, 150), (1, 150), (3, 150), (4, 160), (14, 160)])
def test_a_day_max_serves_for_the_days_that_the_percentage_states(valid_days, kg):
    """Set three days ago: its own day is the first, so four days reach it."""
    ctx = context(ALL[0], known("squat", 160, "day", days=3))
    found = find_max("squat", ctx, basis="day", valid_days=valid_days)
    assert (found.kg, found.provisional) == (kg, kg == 150)


def test_the_newer_day_max_counts_even_if_it_is_lower():
    ctx = context(known("squat", 160, "day", days=2), known("squat", 155, "day"))
    assert find_max("squat", ctx, basis="day", valid_days=7).kg == 155


def test_the_max_in_force_is_the_latest_that_is_not_in_the_future():
    later = known("squat", 170, days=-1)
    assert later.on == TODAY + timedelta(days=1)
    assert find_max("squat", context(known("squat", 140, days=300), ALL[0], later)).kg == 150


def test_a_percentage_of_the_tested_max_never_takes_another_one():
    with pytest.raises(NotComputable, match="No tested max of the squat") as refusal:
        find_max("squat", context(*ALL[1:]), basis="tested")
    assert refusal.value.code == "no_max"


def test_a_training_max_is_the_entered_one_else_a_part_of_the_tested_one():
    assert find_max("squat", context(*ALL), basis="training").kg == 142

    found = find_max("squat", context(ALL[0], settings=pinned(training_max_percent=90)), basis="training")
    assert found.kg == pytest.approx(135)  # 90 % of 150
    assert found.steps[0].formula == "training_percent"
    assert found.steps[0].text == "No training max is entered: it is 90 % of the tested max of 150 kg, which is 135 kg."


@pytest.mark.parametrize(("maxes", "kg"), [(ALL[:3], 153), (ALL[:2], 150), ((known("squat", 142.5, "training"),), 150)])
def test_until_the_day_is_known_another_max_stands_in_and_is_called_provisional(maxes, kg):
    found = find_max("squat", context(*maxes), basis="day")
    assert found.kg == pytest.approx(kg)
    assert found.provisional
    assert found.steps[-1].formula == "stand_in"


def test_the_tested_max_stands_in_for_the_rolling_one_until_there_is_a_log():
    found = find_max("squat", context(ALL[0]), basis="rolling")
    assert (found.kg, found.basis, found.provisional) == (150, "tested", True)
    assert not find_max("squat", context(*ALL), basis="rolling").provisional


def test_technique_lifts_have_a_day_max_but_no_rolling_one():
    ctx = context(known("snatch", 100, days=20), known("snatch", 99, "rolling"))
    with pytest.raises(NotComputable) as refusal:
        find_max("snatch", ctx, basis="rolling")
    assert refusal.value.code == "technique_lift"
    standing_in = find_max("snatch", ctx, basis="day")  # the tested one, never the rolling one
    assert (standing_in.kg, standing_in.provisional) == (100, True)
    assert find_max("snatch", context(known("snatch", 96, "day"), *ctx.maxes), basis="day").kg == 96


def test_a_variation_without_a_max_takes_its_parents_times_the_ratio():
    found = find_max("pause-squat", context(ALL[0]))
    assert found.kg == pytest.approx(138)  # 0.92 of 150
    assert (found.lift, found.ratio) == ("squat", pytest.approx(0.92))
    assert "“the coach”" in found.steps[-1].text

    further = find_max("tempo-pause-squat", context(ALL[0]), basis="tested")
    assert further.kg == pytest.approx(131.1)  # 0.95 of 138
    assert find_max("pause-squat", context(ALL[0], known("pause-squat", 130))).kg == 130


def test_maxes_are_compared_like_with_like():
    wrapped = known("squat", 180, support="wraps")
    assert find_max("squat", context(wrapped, ALL[0])).kg == 150
    assert find_max("squat", context(wrapped, ALL[0]), support="wraps").kg == 180
    with pytest.raises(NotComputable, match="only for: wraps"):
        find_max("squat", context(wrapped))


def test_nothing_known_and_an_unknown_lift_are_refused():
    for lift, code in (("squat", "no_max"), ("nonsense", "unknown_lift")):
        with pytest.raises(NotComputable) as refusal:
            find_max(lift, context())
        assert refusal.value.code == code


@settings(max_examples=60)
@given(
    st.lists(
        st.tuples(
            st.sampled_from(["tested", "training", "day", "rolling"]),
            st.floats(20, 300, allow_nan=False).map(lambda kg: round(kg, 1)),
            st.integers(0, 40),
        ),
        min_size=1,
        max_size=5,
    ),
    st.sampled_from([None, "tested", "training", "day", "rolling"]),
    st.sampled_from(["squat", "pause-squat", "tempo-pause-squat"]),
    st.sampled_from(["kg", "lb"]),
)
def test_the_order_of_bases_holds_for_any_log_and_down_any_chain(maxes, basis, lift, unit):
    ctx = context(*(known("squat", kg, kind, days=days) for kind, kg, days in maxes), unit=unit)
    expected = by_the_list(maxes, basis)
    if expected is None:
        with pytest.raises(NotComputable) as refusal:
            find_max(lift, ctx, basis=basis)
        assert refusal.value.code == "no_max"
        return
    found = find_max(lift, ctx, basis=basis)
    ratio = {"squat": 1, "pause-squat": 0.92, "tempo-pause-squat": 0.92 * 0.95}[lift]
    assert found.kg == pytest.approx(expected * ratio)
    assert not [number for step in found.steps for number in unexplained(step)]


TURNS = {
    None: (("day", 1), ("rolling", 1), ("tested", 1), ("training", 1 / 0.95)),
    "tested": (("tested", 1),),
    "training": (("training", 1), ("tested", 0.95)),
    "day": (("day", 1), ("rolling", 1), ("tested", 1), ("training", 1 / 0.95)),
    "rolling": (("rolling", 1), ("tested", 1), ("training", 1 / 0.95)),
}


def by_the_list(maxes, basis):
    """The order written out as a table; of one basis the latest counts, the last entered of one day."""
    for kind, part in TURNS[basis]:
        fitting = [(-days, at, kg) for at, (of, kg, days) in enumerate(maxes) if of == kind]
        if fitting and not (kind == "day" and max(fitting)[0] < 0):
            return max(fitting)[2] * part
    return None
