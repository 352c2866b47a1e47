"""Numbers beside their limits: what differs from a limit is not written as if it were the limit."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from slowphase.measures.measure import Measure
from slowphase.reading.limits import Limit
from slowphase.reading.rule import evidence
from slowphase.reading.words import DIGITS_MOST, beside, quantity


@pytest.mark.parametrize(
    ("value", "unit", "limit", "text"),
    [
        (25.0, "%", 25.0, "25 %"),
        (25.3, "%", 25.0, "25.3 %"),
        (-25.3, "%", 25.0, "−25.3 %"),
        (0.5999, "1", 0.6, "0.5999"),
        (0.6, "1", 0.6, "0.60"),
        (0.55, "1", 0.6, "0.55"),
        (6.04, "deg/s", 6.0, "6.04 deg/s"),
    ],
)
def test_a_number_has_the_digits_that_tell_it_from_its_limit(value, unit, limit, text):
    assert beside(value, unit, [limit]) == text


@given(st.floats(-1e3, 1e3), st.floats(0, 1e3), st.sampled_from(["1", "%", "deg/s", "s"]))
def test_what_differs_visibly_is_never_written_alike(value, limit, unit):
    shown = beside(value, unit, [limit])
    if abs(abs(value) - limit) >= 10.0**-DIGITS_MOST * 2:
        assert shown.lstrip("−") != quantity(limit, unit)


def test_evidence_shows_a_value_apart_from_its_limit():
    measure = Measure("m", "unilateral_weakness", 25.3, None, None, "%")
    limit = Limit("weak", 25.0, "%", "limit", "a source", "read")
    assert evidence(measure, limit).shown == "25.3 %"
    assert evidence(measure).shown == "25 %"
