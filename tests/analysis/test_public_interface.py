import json
import re
from datetime import date
from pathlib import Path

import polars as pl
import pytest
from made_traces import answered, recorded, times, trial, turning

import slowphase
from slowphase import Patient, Session

ROOT = Path(__file__).resolve().parents[2]


def documented_names():
    """The names in code marks under ``## Names``."""
    text = (ROOT / "docs" / "api.md").read_text(encoding="utf-8")
    section = re.split(r"^## Names\s*$", text, flags=re.MULTILINE)[1]
    section = re.split(r"^## ", section, flags=re.MULTILINE)[0]
    return set(re.findall(r"`(\w+)`", section))


def test_the_public_names_are_exactly_the_documented_ones():
    assert set(slowphase.__all__) == documented_names()


def test_every_public_name_exists_once_and_is_listed():
    assert len(slowphase.__all__) == len(set(slowphase.__all__))
    assert set(slowphase.__all__) <= set(dir(slowphase))
    for name in slowphase.__all__:
        assert getattr(slowphase, name) is not None


def test_an_unknown_name_is_an_attribute_error_that_says_so():
    with pytest.raises(AttributeError, match="nonsense"):
        _ = slowphase.nonsense


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """A small session written as a folder."""
    time = times(40.0)
    head = turning(0.16, 5.5, time)
    trials = []
    for name, vision, gain in (("dark", "dark", 0.6), ("fix", "head-fixed target", 0.1)):
        velocity = 1.5 + answered(head, (gain, 15.0), (gain, 15.0), 100.0)
        keys = {"frequency_hz": 0.16, "peak_velocity_deg_s": 60.0}
        one = trial("sinusoid", recorded(velocity, head, time), name=name, vision=vision, **keys)
        trials.append(one)
    session = Session(Patient("A-7", 61.0, "male"), date(2026, 5, 4), tuple(trials))
    place = tmp_path_factory.mktemp("written") / "session"
    slowphase.write_session(session, place)
    return place


def test_a_written_session_is_read_and_analysed_through_public_names_alone(folder):
    session = slowphase.read_session(folder)
    analysis = slowphase.analyze(session)
    assert session.problems == ()
    assert isinstance(analysis, slowphase.Analysis)
    table = analysis.to_polars()
    gain = table.filter(pl.col("id") == "dark/gain").row(0, named=True)
    assert gain["value"] == pytest.approx(0.6, rel=0.02)
    assert gain["low"] < gain["value"] < gain["high"]
    assert (gain["patient"], gain["date"]) == ("A-7", date(2026, 5, 4))
    suppression = table.filter(pl.col("name") == "suppression").row(0, named=True)
    assert suppression["trial"] == "dark~fix"
    assert suppression["value"] == pytest.approx(100 * (1 - 0.1 / 0.6), abs=1.0)


def test_the_table_has_one_row_for_each_measure_in_order(folder):
    analysis = slowphase.analyze(slowphase.read_session(folder))
    assert analysis.to_polars()["id"].to_list() == [m.id for m in analysis.measures()]


def test_the_same_folder_gives_the_same_json_byte_for_byte(folder):
    first, second = (slowphase.analyze(slowphase.read_session(folder)).to_json() for _ in "12")
    assert first == second
    assert json.loads(first)["session"]["patient"]["code"] == "A-7"


def test_one_changed_byte_of_a_trace_changes_the_input_digest(folder, tmp_path):
    copy = tmp_path / "copy"
    for file in folder.rglob("*"):
        if file.is_file():
            target = copy / file.relative_to(folder)
            target.parent.mkdir(parents=True, exist_ok=True)
            target.write_bytes(file.read_bytes())
    trace = next(copy.rglob("*.csv"))
    before = slowphase.read_session(copy).input_digest
    trace.write_bytes(trace.read_bytes()[:-1] + b" \n")
    assert before == slowphase.read_session(folder).input_digest
    assert slowphase.read_session(copy).input_digest != before


def test_a_folder_that_is_not_there_is_an_input_error_with_its_problems(tmp_path):
    with pytest.raises(slowphase.InputError) as caught:
        slowphase.read_session(tmp_path / "nowhere")
    assert caught.value.problems
    assert isinstance(caught.value, slowphase.SlowphaseError)
