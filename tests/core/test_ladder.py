"""A newcomer's ladder: steps by hand, and what holds for any answers."""

from dataclasses import replace
from itertools import combinations
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.core.adjust.adjust import next_set
from service.core.answers import Choice, LiftDone, NextSet
from service.core.catalogue import BUILT_IN
from service.core.context import Context
from service.core.errors import NotComputable
from service.core.prescribe.prescribe import prescribe
from service.core.records import Bar, DoneSet, Kit, Override, Plate, Settings, Stack
from service.core.slots import EffortTarget, Ladder, Slot
from service.core.units import load
from tests.core.plans import TODAY, context, known, unexplained

# The curve (1 + 0.116 (n - 1))^-0.4, by hand: 4 repetitions 88.74 %, 5: 85.86 %, 7: 80.95 %, 9: 76.90 %, 10: 75.14 %,
# 20: 62.77 %. Three left of five are wanted, so a step is to leave two at least: seven possible. For who loses
# repetitions 1.2 times as fast as is usual, from ten possible to seven: (80.95 / 75.14)^(1 / 1.2) = 1.064. Where a set
# went on to its end, the next one asks for two, which shall leave two as well: from ten possible to four it is
# (88.74 / 75.14)^(1 / 1.2) = 1.1487; from fifteen (67.99 %) it is 1.2486.
# Published steps (Haff & Triplett eds., Essentials of Strength Training and Conditioning, 4th ed.): 5 to 10 % for the
# upper body, 10 to 20 % for the lower.


def newcomer(*maxes: Any, **more: Any) -> Context:
    return context(*maxes, **{"settings": Settings(), "lifts": BUILT_IN, **more})


def ladder(lift: str = "squat", **more: Any) -> Slot:
    return Slot(lift=lift, scheme=Ladder(**more), target=EffortTarget(reps=5, rir=3))


def step(kg: float, left: int | None, reps: int = 5, lift: str = "squat", **more: Any) -> DoneSet:
    said = {} if left is None else {"rir": left, "or_more": left >= 5}
    return DoneSet(lift=lift, role="target_set", load=load(kg, "kg"), reps=reps, **said, **more)


def easy(kg: float, lift: str = "squat", **more: Any) -> DoneSet:
    """Ten, with five or more left."""
    return step(kg, 5, 10, lift, **more)


def fine(*masses: float, bar: float = 20, lifts: Any = BUILT_IN, **more: Any) -> Context:
    """A place with a bar and one pair of each plate."""
    plates = tuple(Plate(load=load(mass, "kg"), count=2) for mass in masses)
    kit = Kit(bars=(Bar(name="bar", load=load(bar, "kg")),), collars=load(0, "kg"), plates=plates)
    return newcomer(kit=kit, lifts=lifts, **more)


def goes_on(ctx: Context, on: Slot, *done: DoneSet) -> NextSet:
    found = next_set(on, ctx, done)
    assert isinstance(found, NextSet), found
    return found


def ends(ctx: Context, on: Slot, *done: DoneSet) -> LiftDone:
    found = next_set(on, ctx, done)
    assert isinstance(found, LiftDone), found
    return found


def kg_of(found: NextSet) -> float:
    assert found.load is not None
    return float(found.load.value)


def test_it_begins_with_the_lightest_implement_and_asks():
    found = goes_on(newcomer(), ladder())
    # Five with five left lead to 22.97 kg at most, ten to 24.97: to 22.5 both, so that five are enough.
    assert (kg_of(found), found.reps, found.reps_to, found.role, found.rest_seconds) == (20, 5, None, "target_set", 120)
    assert found.text == (
        "5 with the empty bar, 20 kg. Then say how many more you could have done with good form; five or more is an "
        "answer. It goes on by your answer."
    )
    # From 22.5 ten lead to 28.09, 27.5 here, which is 1.2222 times as much. 1 + 0.116 (n - 1) = 1.348 x 1.2222^3 =
    # 2.461 is n = 13.6: nine with five left.
    then = goes_on(newcomer(), ladder(), step(20, 5))
    assert (kg_of(then), then.reps, then.reps_to) == (22.5, 2, 9)
    assert then.text.startswith("2 to 9 with 22.5 kg. Go on while it is easy, and stop where about five more would go.")
    light = replace(newcomer().kit, bars=(*newcomer().kit.bars, Bar(name="light", load=load(8, "kg"))))
    assert kg_of(goes_on(newcomer(kit=light), ladder())) == 8


def test_five_or_more_left_is_a_step_as_far_as_it_is_safe_by_what_was_said():
    ctx = fine(0.25, 0.5, 1, 2, 4)
    for lift in ("squat", "bench-press"):
        # Of five: 1.064 x 20 = 21.28. Of ten, which is as far as it goes: 1.2486 x 20 = 24.97.
        assert kg_of(goes_on(ctx, ladder(lift), step(20, 5, lift=lift))) == 21
        assert kg_of(goes_on(ctx, ladder(lift), easy(20, lift))) == 24.5
        # Of eight that ended where five more would go: 13 are (1 + 0.116 x 12)^-0.4 = 70.54 %, so
        # (80.95 / 70.54)^(1 / 1.2) = 1.1216: 22.43.
        assert kg_of(goes_on(ctx, ladder(lift), step(20, 5, 8, lift))) == 22


def test_few_repetitions_with_five_or_more_left_are_no_end_but_all_are_asked_for():
    # Two that leave five or more say at least seven; eight are wanted, and there may be thirty. Five of five do tell.
    found = goes_on(newcomer(), ladder(), step(20, 5), step(22.5, 5, 2))
    assert (kg_of(found), found.reps, found.reps_to) == (22.5, 5, None)
    assert any("do not tell enough" in one.text for one in found.why)
    assert kg_of(goes_on(newcomer(), ladder(), step(20, 5), step(22.5, 5, 2), step(22.5, 5))) == 25
    # who counts five just there has seven in all, fewer than are wanted
    counted = step(22.5, None, 2, rir=5)
    assert ends(newcomer(), ladder(), step(20, 5), counted).text.startswith("That left less than wanted.")


def test_what_was_counted_after_more_repetitions_is_a_published_step_at_most():
    # Ten with four left are 14: (1 + 0.116 x 13)^-0.4 = 69.23 %: (80.95 / 69.23)^(1 / 1.2) = 1.139, 34.2 of 30, within
    # 20 %; for the upper body 10 % are 33.
    ctx = fine(0.25, 0.5, 1, 2, 4, 8)
    assert kg_of(goes_on(ctx, ladder(), step(30, 4, 10))) == 34
    bench = goes_on(ctx, ladder("bench-press"), step(30, 4, 10, "bench-press"))
    assert (kg_of(bench), bench.reps, bench.reps_to) == (33, 5, None)  # near the target nobody goes on


def test_four_left_is_a_small_step_and_three_the_end():
    ctx = fine(0.25, 0.5, 1, 2, 4, 8)
    # 5 % of 30 are 1.5 kg; two of seven shall be left at least: 80.95 / 76.90 = 1.0526, 31.58 kg.
    assert kg_of(goes_on(ctx, ladder(), step(30, 4))) == 31.5
    over = ends(ctx, ladder(), step(30, 4), step(31.5, 3))
    assert over.text.startswith("Your working load in the squat is 31.5 kg: 5 repetitions, which left about three")


def test_four_left_is_the_end_where_the_next_step_would_leave_too_little():
    # 2.5 kg on 22.5 are 11.1 %: so much that less than two could be left, though all five would go up (1.1165).
    assert "is 22.5 kg" in ends(newcomer(), ladder(), step(22.5, 4)).text


def test_less_than_wanted_or_a_miss_leads_back_to_the_step_before():
    for last in (step(30, 1), step(30, None, reps=1), step(30, None, reps=3, made=False, ended_by="strength")):
        over = ends(newcomer(), ladder(), step(27.5, 5), last)
        assert "Your working load in the squat is 27.5 kg: 5 repetitions, which left five or more" in over.text


def test_a_step_that_was_too_large_leads_to_what_it_speaks_for():
    # Two with three left are five possible: eight take 78.84 / 85.86 = 91.8 % of 50, 45.9 kg, more than the 40 before.
    done = [easy(40), step(50, 3, 2)]
    less = goes_on(newcomer(), ladder(), *done)
    assert (kg_of(less), less.reps, less.reps_to) == (45, 5, None)
    assert less.text.startswith("That was a little too much, so take less: 5 with 45 kg.")
    assert not [left for one in less.why for left in unexplained(one)]
    assert "is 45 kg: 5 repetitions, which left about three" in ends(newcomer(), ladder(), *done, step(45, 3)).text
    # Two that end where exactly five more would go are seven: 78.84 / 80.95 of 47.5 are 46.3.
    just = goes_on(newcomer(), ladder(), easy(40), replace(step(47.5, 5, 2), or_more=False))
    assert (kg_of(just), just.reps, just.reps_to) == (45, 5, None)
    # Between 42.5 and 40 nothing is here.
    assert "is 40 kg" in ends(newcomer(), ladder(), easy(40), step(42.5, 3, 2)).text


def test_all_its_sets_together_have_no_more_than_65_repetitions():
    """Whoever goes on for longer than is asked has fewer sets, and goes on next time."""
    done, total = [], 0
    while isinstance(told := next_set(ladder(), newcomer(), done), NextSet):
        assert total + (told.reps_to or told.reps or 0) <= 65
        done.append(step(kg_of(told), 5, 12))
        total += 12
    assert (len(done), total) == (6, 72)  # 60 were done when the sixth began, and it asked for no more than 5
    assert isinstance(told, LiftDone)
    assert told.text.startswith("Enough for today: go on next time from ")


def test_the_first_step_with_little_left_gives_fewer_repetitions():
    over = ends(newcomer(), ladder(), step(20, 1))
    # One left of five, three wanted: two repetitions fewer.
    assert over.text.startswith(
        "5 repetitions with 20 kg left less than wanted: work with it and 3 repetitions for now."
    )


def test_where_even_the_lightest_is_missed_something_easier_is_chosen():
    found = next_set(
        ladder("bench-press"), newcomer(), [step(20, None, 2, "bench-press", made=False, ended_by="strength")]
    )
    assert isinstance(found, Choice)
    assert [one.ends for one in found.options] == [None, "lift", "lift"]
    named = Override(
        id="1", kind="exchange", lift="bench-press", to_lift="floor-press", reason="Shoulder", set_by="Ann", until=TODAY
    )
    past = replace(named, until=TODAY.replace(day=1))
    found = next_set(
        ladder("bench-press"),
        newcomer(overrides=(past,)),
        [step(20, None, 2, "bench-press", made=False, ended_by="strength")],
    )
    assert isinstance(found, Choice)
    assert found.options[1].to_lift == "floor-press"


def test_coarse_steps_of_a_place_are_small_ones_or_wait_for_more_repetitions():
    # 10 kg a side: from 20 to 40 kg is no step of a newcomer. Ten repetitions with five left allow 24.97 kg: the
    # ladder stays there.
    ctx = fine(10)
    more = goes_on(ctx, ladder(), step(20, 5))
    assert (kg_of(more), more.reps, more.reps_to) == (20, 5, 10)
    assert more.text.startswith(
        "The next load here is too far off yet, so more repetitions come first: 5 to 10 with the empty"
    )
    over = ends(ctx, ladder(), step(20, 5), easy(20))
    assert over.text.startswith(
        "The next load here is too far off: work with 20 kg and 10 repetitions until that is easy."
    )
    # 1.25 kg a side is 2.5 kg: small in itself, also where it is a quarter of the load; but only after ten.
    light = fine(1.25, bar=10)
    found = goes_on(light, ladder(), easy(10))
    assert kg_of(found) == 12.5
    assert "large_step" in {one.code for one in found.cautions}
    assert kg_of(goes_on(light, ladder(), step(10, 5))) == 10


def test_who_does_no_more_than_five_climbs_by_small_steps_after_a_second_answer():
    """Of ten possible with 27.5, all five go up with 85.86 / 75.14 = 1.1426 times as much: 31.4; 30 is here."""
    begun = [step(20, 5), step(22.5, 5, 9)]
    asked = goes_on(newcomer(), ladder(), *begun, step(27.5, 5))
    assert (kg_of(asked), asked.reps, asked.reps_to) == (27.5, 5, 10)
    assert kg_of(goes_on(newcomer(), ladder(), *begun, step(27.5, 5), step(27.5, 5))) == 30
    # who ended both where exactly five more would go has hardly more than a working load in hand: two of five too many
    exactly = replace(step(27.5, 5), or_more=False)
    assert "work with 27.5 kg and 5 repetitions" in ends(newcomer(), ladder(), *begun, exactly, exactly).text


def test_dumbbells_climb_pair_by_pair_while_the_pairs_are_light():
    on = ladder("dumbbell-bench-press")
    assert kg_of(goes_on(newcomer(), on)) == 1
    assert kg_of(goes_on(newcomer(), on, easy(1, "dumbbell-bench-press"))) == 2


def test_the_body_begins_alone_or_with_half_of_it_taken_off_by_a_machine():
    on = ladder("pull-up")
    assert kg_of(goes_on(newcomer(), on)) == 0
    machine = Stack(name="assisted", lifts=("pull-up",), steps=tuple(load(kg, "kg") for kg in range(10, 70, 10)))
    assisted = newcomer(kit=replace(newcomer().kit, stacks=(machine,)))  # a body of 80 kg
    assert kg_of(goes_on(assisted, on)) == -40
    # A fifth less than the 40 kg that were moved are 32: with 50 kg of assistance 30 are.
    miss = step(-40, None, 3, "pull-up", made=False, ended_by="strength")
    assert kg_of(goes_on(assisted, on, miss)) == -50


def test_a_machine_is_climbed_step_by_step_where_its_steps_are_small_in_kilograms():
    # The usual machine has steps of 5 kg: from 5 to 10 is twice as much, but no more than 5 kg.
    on = ladder("leg-press")
    assert kg_of(goes_on(newcomer(), on)) == 5
    found = goes_on(newcomer(), on, easy(5, "leg-press"))
    assert (kg_of(found), "large_step" in {one.code for one in found.cautions}) == (10, True)


def test_steps_without_a_mass_go_one_at_a_time():
    tower = Stack(name="tower", lifts=("lat-pulldown",), steps=tuple(load(n, "step") for n in range(1, 10)))
    ctx = newcomer(kit=replace(newcomer().kit, stacks=(tower,)))
    on = ladder("lat-pulldown")
    first = goes_on(ctx, on)
    assert kg_of(first) == 1

    def at(n: int, left: int) -> DoneSet:
        return replace_load(step(1, left, lift="lat-pulldown"), n)

    assert kg_of(goes_on(ctx, on, at(1, 5))) == 2
    assert "is step 2" in ends(ctx, on, at(1, 5), at(2, 4)).text


def replace_load(one: DoneSet, number: int) -> DoneSet:
    return replace(one, load=load(number, "step"))


def test_without_an_answer_the_load_stays_and_the_number_of_sets_is_held():
    on = ladder(most_sets=3)
    silent = step(20, None)
    assert kg_of(goes_on(newcomer(), on, silent, silent)) == 20
    assert ends(newcomer(), on, silent, silent, silent).text.startswith("Enough for today")


def test_a_word_is_no_answer_as_nothing_was_expected():
    word = DoneSet(lift="squat", role="target_set", load=load(22.5, "kg"), reps=5, felt="lighter")
    again = goes_on(newcomer(), ladder(), step(20, 5), word)
    assert (kg_of(again), again.text.startswith("Nobody said how many more were possible")) == (22.5, True)


def test_what_was_known_before_is_reached_in_larger_steps():
    # 100 kg known: five repetitions that leave four are a load for nine, 76.9 kg, less for what is not sure. Half way
    # from 20 kg there is under 48.45 kg, and over what 25 % would give.
    found = goes_on(newcomer(known("squat", 100)), ladder(), step(20, 5))
    assert 25 < kg_of(found) < 48.45


def test_a_cap_ends_the_climb():
    cap = Override(id="1", kind="cap", lift="squat", reason="New", set_by="Ann", until=TODAY, load=load(25, "kg"))
    ctx = newcomer(overrides=(cap,))
    done = [easy(20), easy(22.5), easy(25)]
    assert kg_of(goes_on(ctx, ladder(), *done[:2])) == 25
    assert ends(ctx, ladder(), *done).text.startswith("A coach's decision allows no more: 25 kg is your working load")
    assert [one.id for one in goes_on(ctx, ladder(), *done[:2]).overrides] == ["1"]


def test_pain_is_never_coached_through():
    assert isinstance(next_set(ladder(), newcomer(), [step(20, 5, pain="some")]), Choice)
    stop = ends(newcomer(), ladder(), step(20, 5), step(22.5, 5, pain="stop"))
    assert [one.code for one in stop.cautions] == ["pain_stop", "warning_signs"]


@pytest.mark.parametrize(("lift", "code"), [("snatch", "technique_lift"), ("plank", "no_load")])
def test_some_lifts_have_no_ladder(lift, code):
    with pytest.raises(NotComputable) as refused:
        prescribe(ladder(lift), newcomer())
    assert refused.value.code == code


def test_its_end_says_how_sure_it_is_and_what_follows():
    over = ends(newcomer(), ladder(), step(20, 5), step(22.5, 5), step(25, 3))
    assert "sure to about" in over.text
    assert "For the weeks after: sets of 5 from this load" in over.text
    assert [one.formula for one in over.why][-2:] == ["ladder_end", "sureness"]
    assert "tested single" not in over.text  # that is nothing for a newcomer


def test_every_number_of_a_reason_is_named():
    ctx = newcomer()
    done: list[DoneSet] = []
    for kg, left, reps in ((20, 5, 5), (20, 5, 15), (22.5, None, 5), (22.5, 5, 15), (27.5, 4, 5)):
        found = next_set(ladder(), ctx, done)
        assert [list(unexplained(one)) for one in found.why if isinstance(found, NextSet)] == [[]] * len(found.why)
        done.append(step(kg, left, reps))
    assert isinstance(found, NextSet)
    assert [one.formula for one in found.why] == ["ladder_step"]


def test_what_would_follow_is_what_follows():
    ctx = fine(0.25, 0.5, 1, 2, 4, 8)
    found = goes_on(ctx, ladder(), easy(20))
    assert found.next_if[0].text.startswith(f"After {found.reps_to} with five or more left: then 2 to ")
    for left in range(6):
        rpe = 10 - left
        told = [one for one in found.next_if if one.made is None and (one.rpe_at_least or 0) <= rpe][-1]
        count = (found.reps_to if left == 5 else found.reps) or 0
        then = next_set(ladder(), ctx, [easy(20), step(kg_of(found), left, count)])
        assert told.load == (then.load if isinstance(then, NextSet) else None)


PAIRS = (0.5, 1.25, 2.5, 5, 10, 20)
answers = st.lists(
    st.tuples(st.sampled_from((None, 0, 1, 2, 3, 4, 5, 5)), st.sampled_from((True, True, True, False)), st.booleans()),
    max_size=14,
)


@settings(max_examples=80, deadline=None)
@given(
    pairs=st.sets(st.sampled_from(PAIRS), min_size=1),
    lift=st.sampled_from(("squat", "bench-press", "deadlift")),
    most=st.sampled_from((None, 2, 5, 12)),
    said=answers,
)
def test_a_ladder_ends_and_takes_no_step_that_the_answers_do_not_allow(pairs, lift, most, said):
    ctx = fine(*sorted(pairs))
    on = ladder(lift, most_sets=most)
    possible = sorted({20 + 2 * sum(some) for count in range(len(pairs) + 1) for some in combinations(pairs, count)})
    done: list[DoneSet] = []
    last: tuple[float, int, int, bool] | None = None  # load, repetitions, left, whether it went on to its end
    reached, total, ceiling = False, 0, 1000.0
    for left, whole, went_on in [*said, *[(5, True, True)] * 14]:
        found = next_set(on, ctx, done)
        if not isinstance(found, NextSet):
            break
        assert not reached  # never on after the target was reached, or a step was too much
        assert len(done) < (most or 8)
        kg, reps = kg_of(found), found.reps or 0
        assert kg in possible
        assert kg < ceiling or kg == 20
        assert total + (found.reps_to or reps) <= 65
        if last is not None and kg > last[0]:
            before, count, had, to_its_end = last
            usual = (1 + 0.116 * (count + had - 1)) ** 0.4  # one divided by the share
            read = (usual / 1.696**0.4) ** (1 / 1.2 if count + had >= 10 else 1)  # two more than five are left
            if had == 5 and to_its_end:  # two that leave two
                read = max(read, (usual / 1.348**0.4) ** (1 / 1.2))
            larger = 1.25 if had == 5 else 1.1 if lift == "bench-press" else 1.2
            nearest = min(one for one in possible if one > before)
            assert count + had > 8  # of five, more than three
            assert kg <= before * min(larger, read) + 1e-6 or (
                kg == nearest
                and (
                    kg <= before * read + 1e-6
                    or (kg - before <= 2.5 and (count >= 10 or kg <= before * usual / 1.464**0.4))
                )
            )
        count = (found.reps_to or reps if went_on else reps) if whole else reps - 1
        short = count < reps
        said_left = left if whole else None
        made = {} if whole else {"made": False, "ended_by": "strength"}
        done.append(step(kg, said_left, reps=count, lift=lift, **made))
        total += count
        too_much = short or (said_left is not None and count + said_left <= 6.5)
        ceiling = min(ceiling, kg) if too_much else ceiling
        reached = not too_much and said_left is not None and count >= 5 and count + said_left <= 8
        last = last if said_left is None else (kg, count, said_left, count >= (found.reps_to or reps))
    else:
        pytest.fail("the ladder never ended")
    assert isinstance(next_set(on, ctx, done), LiftDone | Choice)
