"""Calorics, gaze and positions from a simulated folder to the document, against its truth."""

import json
from dataclasses import replace

import jsonschema
import pytest

from slowphase.analysis.document import document_schema
from slowphase.analysis.run import analyze
from slowphase.cli.simulated_folder import TRUTH, simulate_into
from slowphase.measures.known_words import unknown_words
from slowphase.recording.read import read_session
from slowphase.recording.trial import Trial

SCENARIO = """
about = "right caloric loss, leaky gaze, loose particles on the right"
seed = 4
[person]
right_caloric = 0.3
[person.positional]
right = 0.8
[person.spontaneous]
bias_deg_s = 3.0
[person.oculomotor]
gaze_leak_per_s = 0.08
[protocol]
trials = "full"
frequencies_hz = [0.64]
[[trial]]
id = "p"
kind = "positional"
position = "right, head hanging"
duration_s = 40
[[trial]]
id = "p-up"
kind = "positional"
from_position = "right, head hanging"
sits_up_from = "p"
duration_s = 40
"""
KINDS = ("caloric", "gaze", "positional")


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    place = tmp_path_factory.mktemp("battery")
    (place / "s.toml").write_text(SCENARIO, encoding="utf-8")
    return simulate_into(str(place / "s.toml"), place / "out", lambda *_: None)


@pytest.fixture(scope="module")
def found(folder):
    session = read_session(folder)
    assert session.problems == ()
    kept: tuple[Trial, ...] = tuple(trial for trial in session.trials if trial.kind in KINDS)
    return analyze(replace(session, trials=kept))


@pytest.fixture(scope="module")
def truth(folder):
    document = json.loads((folder / TRUTH).read_text(encoding="utf-8"))
    return document["session"], {trial["id"]: trial["measures"] for trial in document["trials"]}


def test_every_measure_of_a_whole_battery_may_be_named_in_a_reference_set(found):
    # else `reference build` would write sets of its own sessions that cannot be read again
    rows = [{"kind": part.kind, "name": measure.name, "unit": measure.unit}
            for part in found.parts() for measure in part.measures]  # fmt: skip
    assert len(rows) > 30
    assert [row for row in rows if list(unknown_words(row, name_key="name"))] == []


def test_the_document_is_valid(found):
    document = found.to_document()
    jsonschema.validate(document, document_schema())
    assert {group["id"] for group in document["groups"]} == set(KINDS)


def test_weakness_and_preponderance_are_those_of_the_truth(found, truth):
    values = {measure.id: measure for measure in found.measures()}
    for name in ("unilateral_weakness", "directional_preponderance"):
        measure = values[f"caloric/{name}"]
        assert measure.value == pytest.approx(truth[0][name], abs=2.0)
        assert measure.low <= truth[0][name] <= measure.high


def test_gaze_and_positions_are_those_of_the_truth(found, truth):
    values = {measure.id: measure for measure in found.measures()}
    for trial in ("gaze-right-dark", "gaze-left-dark"):
        true = truth[1][trial]["horizontal/velocity"]
        assert values[f"{trial}/horizontal/velocity"].value == pytest.approx(true, abs=0.6)
    assert values["gaze/dark/gaze_dependence"].value == pytest.approx(-0.08, abs=0.02)
    for plane in ("vertical", "torsional"):
        true = truth[1]["p"][f"{plane}/peak"]
        assert values[f"p/{plane}/peak"].value == pytest.approx(true, abs=2.0)
    assert values["positional/p/reversal"].value == pytest.approx(50.0, abs=12.0)
