"""How strongly a statement is made."""

import pytest

from slowphase.measures.measure import Measure
from slowphase.reading.limits import limits
from slowphase.reading.rule import strength_of, verdict_of


def graded(grade):
    return Measure("x", "gain", 1.0, 0.9, 1.1, "1", grade=grade)


@pytest.mark.parametrize(
    ("probability", "grade", "strength"),
    [
        (0.999, "sound", "firm"),
        (0.001, "sound", "firm"),
        (0.96, "sound", "moderate"),
        (0.5, "sound", "weak"),
        (0.999, "caution", "moderate"),
        (0.96, "caution", "weak"),
        (0.5, "caution", "weak"),
    ],
)
def test_a_poor_recording_takes_one_step_off(probability, grade, strength):
    assert strength_of(probability, [graded("sound"), graded(grade)]) == strength


@pytest.mark.parametrize(
    ("probability", "verdict"),
    [(0.95, "holds"), (0.94, "cannot_tell"), (0.06, "cannot_tell"), (0.05, "does_not_hold")],
)
def test_ninety_five_percent_decide(probability, verdict):
    assert verdict_of(probability) == verdict


@pytest.mark.parametrize(
    ("code", "strength"), [("suppression", "moderate"), ("bilateral_gain", "firm")]
)
def test_a_limit_without_a_source_gives_at_most_moderate(code, strength):
    assert strength_of(0.999, [graded("sound")], [limits()[code]]) == strength
    assert strength_of(0.5, [graded("sound")], [limits()[code]]) == "weak"


def test_a_limit_without_a_source_says_so_in_the_sentence():
    assert limits()["suppression"].cited == "80 % (limit: habit of the trade, no source)"
    assert limits()["bilateral_gain"].cited == "0.10"
