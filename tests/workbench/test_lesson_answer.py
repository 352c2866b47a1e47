"""The teaching bench's answer: what is decoded of it is the lesson itself."""

import json

import numpy as np
import pytest
from pydantic import ValidationError

from slowphase.physiology.lesson import lesson
from slowphase.physiology.short_form import ShortForm
from slowphase.workbench.lesson_answer import UNITS, lesson_bytes
from slowphase.workbench.shapes.teaching import LessonAsked


def decoded(data):
    length = int.from_bytes(data[:4], "little")
    assert length % 4 == 0
    return json.loads(data[4 : 4 + length]), np.frombuffer(data[4 + length :], "<f4")


@pytest.fixture(scope="module")
def acute():
    return decoded(lesson_bytes(LessonAsked(right=0.0, alertness=0.6)))


def test_every_trace_is_where_the_header_says(acute):
    header, floats = acute
    shown = lesson(ShortForm(right=0.0, alertness=0.6))
    assert [trial["id"] for trial in header["trials"]] == [one.plan.id for one in shown]
    for trial, one in zip(header["trials"], shown, strict=True):
        n, at = trial["samples"], trial["offset"]
        np.testing.assert_array_equal(floats[at : at + n], one.head_velocity_deg_s.astype("f4"))
        np.testing.assert_array_equal(
            floats[at + n : at + 2 * n], one.slow_phase_deg_s.astype("f4")
        )
    assert floats.size == sum(2 * trial["samples"] for trial in header["trials"])


def test_every_number_has_its_unit_and_a_name_in_words(acute):
    for trial in acute[0]["trials"]:
        assert trial["title"]
        for measure in trial["measures"]:
            assert measure["unit"] == UNITS[measure["name"]]
            assert "_" not in measure["label"]


def test_what_no_person_has_is_refused():
    for wrong in ({"right": 1.2}, {"left": float("nan")}, {"storage": 0.0}, {"height": 3.0}):
        with pytest.raises(ValidationError):
            LessonAsked(**wrong)
