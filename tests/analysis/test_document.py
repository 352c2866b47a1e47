"""The result document against its own JSON Schema, with jsonschema as the outside judge."""

import json
import math
from dataclasses import replace

import invented_analysis
import jsonschema
import pytest
from hypothesis import given
from hypothesis import strategies as st

from slowphase.analysis.document import (
    document_schema,
    failure_document,
    rounded,
    to_json,
)

VALIDATOR = jsonschema.Draft202012Validator


@pytest.fixture(scope="module")
def analysis():
    return invented_analysis.invented_analysis()


@pytest.fixture(scope="module")
def document(analysis):
    return analysis.to_document()


def errors(document):
    return [error.message for error in VALIDATOR(document_schema()).iter_errors(document)]


def test_the_schema_is_a_valid_schema_of_draft_2020_12():
    VALIDATOR.check_schema(document_schema())
    assert document_schema()["$schema"].endswith("2020-12/schema")


def test_the_document_follows_the_schema(document):
    assert errors(document) == []


def test_the_schema_refuses_what_is_wrong(document):
    for spoil in (
        lambda d: d.pop("pairs"),
        lambda d: d["trials"][0]["measures"][0].pop("placement"),
        lambda d: d["trials"][0]["measures"][0].update(value="6"),
        lambda d: d["trials"][0]["measures"][0].update(value=None),
        lambda d: d["statements"][0].update(verdict="maybe"),
        lambda d: d.update(more=1),
    ):
        spoilt = json.loads(to_json(document))
        spoil(spoilt)
        assert errors(spoilt)


def test_every_key_that_the_contract_names_is_there(document):
    assert list(document)[:7] == [
        "schema", "software", "session", "problems", "trials", "pairs", "statements",
    ]  # fmt: skip
    assert set(document["software"]) == {
        "name", "version", "settings_digest", "input_digest", "edits_digest", "reference_digest",
    }  # fmt: skip
    for measure in [m for part in document["trials"] + document["pairs"] for m in part["measures"]]:
        assert {"id", "name", "of", "exciting", "value", "low", "high", "unit", "definition",
                "grade", "why", "placement"} == set(measure)  # fmt: skip
    for problem in document["problems"]:
        assert {"code", "trial", "file", "line", "found", "expected", "message"} <= set(problem)


def test_the_text_reads_back_as_the_same_document(analysis, document):
    text = analysis.to_json()
    assert json.loads(text) == document
    assert text.endswith("}\n")
    assert "NaN" not in text


def test_a_trial_not_done_appears_with_its_reason(document):
    trial = next(t for t in document["trials"] if t["id"] == "sin-0.64")
    assert (trial["outcome"], trial["reason"], trial["quality"]) == ("not done", "nausea", None)
    assert trial["measures"][0]["value"] is None
    assert trial["measures"][0]["why"] == ["not_done"]


def test_a_placement_stands_with_its_measure_and_null_means_no_reference(document):
    measures = {m["id"]: m for t in document["trials"] for m in t["measures"]}
    assert measures["sin-0.01/gain"]["placement"]["set"] == "yu-2022"
    assert measures["sin-0.04/gain"]["placement"] is None


def test_a_session_without_a_date_stays_valid(analysis):
    assert errors(replace(analysis, date=None).to_document()) == []


def test_unusable_input_gives_a_document_of_problems_alone():
    document = failure_document([invented_analysis.PROBLEM], "0.1.0")
    assert errors(document) == []
    assert document["session"] is None
    assert document["problems"][0]["line"] == 501


@given(st.floats())
def test_numbers_keep_six_significant_digits_and_are_never_nan(value):
    found = rounded(value)
    if not math.isfinite(value):
        assert found is None
    else:
        assert found == pytest.approx(value, rel=5.1e-6, abs=1e-320)
        assert found == float(f"{found:.6g}")


def test_events_list_quick_phases_and_unused_intervals_on_the_recordings_clock(analysis):
    events = analysis.events_document()
    assert json.loads(to_json(events)) == events
    trial = next(t for t in events["trials"] if t["id"] == "sin-0.04")
    (plane,) = trial["planes"]
    assert plane["of"] == "horizontal"
    onset = [quick["onset_s"] for quick in plane["quick_phases"]]
    assert onset == sorted(onset)
    assert len(onset) > 10
    blinks = [run for run in plane["unused"] if run["reason"] == "blink"]
    assert blinks[0]["stop_s"] - blinks[0]["start_s"] == pytest.approx(0.3, abs=0.02)
    assert {run["reason"] for run in plane["unused"]} == {"blink", "lost", "lapse", "quick_phase"}


def test_the_table_has_one_row_for_each_measure(analysis):
    table = analysis.to_polars()
    assert table.height == len(analysis.measures())
    row = table.filter(table["id"] == "sin-0.01/gain").to_dicts()[0]
    assert row["reference"] == "yu-2022"
    assert row["value"] == 0.30
    assert table.filter(table["id"] == "sin-0.64/gain")["value"].to_list() == [None]
    assert table["kind"].null_count() == 0
