"""What a refused set probably was. Numbers: worked example C of the model's specification, printed to six digits."""

from datetime import date

import pytest

from service.core.model.heard import Heard
from service.core.model.learn import learn
from service.core.model.passing import opened
from service.core.model.slips import FACTORS, explain, misfit
from service.core.model.state import Person, Row, new_person, new_row


@pytest.fixture(scope="module")
def trained() -> tuple[Person, Row]:
    person, row = new_person(), new_row("other", 100)
    for heard in (Heard(80, 5, 8), Heard(80, 5, 8.5)):
        person, row, _ = learn(person, opened(row, person, date(2026, 1, 5)), heard)
    return person, opened(row, person, date(2026, 1, 9))


def test_worked_example_c_distances_of_the_entry_and_of_its_corrections(trained: tuple[Person, Row]) -> None:
    _, row = trained
    heard = Heard(176.37, 5, 8)
    assert misfit(row, heard)[1] == pytest.approx(6.80492, rel=1e-5)
    sizes = {code: misfit(row, heard, factor)[1] for code, factor in FACTORS.items()}
    assert sizes == pytest.approx(
        {
            "pounds_as_kilograms": 0.053879,
            "kilograms_as_pounds": 7.2336,
            "digit_too_many": 7.00971,
            "digit_too_few": 7.32612,
        },
        rel=1e-5,
    )
    assert misfit(row, heard, 10)[0] < 0 < misfit(row, heard, 0.1)[0]  # far too light: fewer repetitions than expected


@pytest.mark.parametrize(
    ("heard", "code", "kg"),
    [
        (Heard(176.37, 5, 8), "pounds_as_kilograms", 80.0),  # 176.37 / 2.2046226 = 80.0001
        (Heard(36.25, 5, 8), "kilograms_as_pounds", 79.92),  # 36.25 × 2.2046226
        (Heard(800, 5, 8), "digit_too_many", 80.0),
        (Heard(8, 5, 8), "digit_too_few", 80.0),
        (Heard(205, 2, failed=True), "pounds_as_kilograms", 92.99),  # 205 / 2.2046226
    ],
)
def test_a_refused_set_is_explained_by_the_slip_that_was_made(
    trained: tuple[Person, Row], heard: Heard, code: str, kg: float
) -> None:
    person, row = trained
    assert learn(person, row, heard)[2].status == "refused"
    slip = explain(row, person, heard)
    assert slip is not None
    assert (slip.code, slip.factor) == (code, FACTORS[slip.code])
    assert slip.kg == pytest.approx(kg, abs=0.005)


def test_what_no_slip_makes_believable_stays_unexplained(trained: tuple[Person, Row]) -> None:
    person, row = trained
    heard = Heard(120, 5, 8)  # 54.4 kg, 264.6 kg, 12 kg, 1200 kg: none is near 80
    assert learn(person, row, heard)[2].status == "refused"
    assert explain(row, person, heard) is None


def test_a_word_keeps_the_effort_that_it_was_given_for(trained: tuple[Person, Row]) -> None:
    person, row = trained
    surprise, size = misfit(row, Heard(176.37, 5, felt="as_expected"))
    number = misfit(row, Heard(176.37, 5, 10))
    assert surprise == number[0]  # as expected of 176 kg, of which not one is expected, is RPE 10;
    assert size < number[1]  # a word is less exact
    assert explain(row, person, Heard(176.37, 5, felt="as_expected")) is not None
