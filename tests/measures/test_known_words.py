"""The words that name a measure: all that the reports name are known, near misses are told."""

import tomllib
from importlib.resources import files

import pytest

from slowphase.measures.known_words import units_of, unknown_words


def labels():
    return tomllib.loads((files("slowphase.report") / "labels.toml").read_text("utf-8"))


def test_every_measure_that_a_report_names_is_known():
    assert [name for name in labels()["measure"] if units_of(name.split("/")[0]) is None] == []


def test_every_kind_that_a_report_names_is_known():
    for kind in (*labels()["kind"], *labels()["group"]):
        assert not list(unknown_words({"kind": kind}, name_key="name")), kind


@pytest.mark.parametrize(
    ("row", "key"),
    [
        ({"name": "gayn"}, "name"),
        ({"name": "gain", "unit": "%"}, "unit"),
        ({"name": "gain", "unit": "1", "kind": "sinus"}, "kind"),
        ({"name": "gain", "level": "trail"}, "level"),
    ],
)
def test_a_word_that_no_measure_has_is_named_by_its_key(row, key):
    assert [word.key for word in unknown_words(row, name_key="name")] == [key]


def test_thresholds_are_known_at_any_frequency():
    assert not list(unknown_words({"name": "threshold_air_500_hz", "unit": "dB"}, name_key="name"))
