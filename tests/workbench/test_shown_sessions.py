"""What is shown of a session: the same as on the command line, and every trace to the sample."""

import json
from pathlib import Path

import numpy as np
import pytest
from served import is_error, opened

from slowphase.analysis.run import analyze
from slowphase.recording.read import read_session
from slowphase.workbench.shapes.about import AboutAnswer
from slowphase.workbench.shapes.patients import PatientEntry
from slowphase.workbench.shapes.sessions import SessionAnswer
from slowphase.workbench.shapes.trials import FoldedAnswer, ImpulsesAnswer, TrialAnswer
from tests.cli.command_line import start

NAMES = ("chair", "raw", "odd", "battery")


@pytest.mark.parametrize("name", NAMES)
def test_the_document_is_that_of_the_command_line_bit_for_bit(looked_at, folders, name):
    page, ids = looked_at
    text = page.get(f"sessions/{ids[name]}").text
    printed = start("analyze", folders[name], "--json").stdout
    assert json.loads(text)["document"] == json.loads(printed)
    assert page.session(ids[name])["document"]["trials"]


@pytest.mark.parametrize("name", NAMES)
def test_every_answer_has_the_shape_that_is_described(looked_at, name):
    page, ids = looked_at
    answer = page.session(ids[name])
    SessionAnswer.model_validate(answer)
    for trial in answer["document"]["trials"]:
        path = f"sessions/{ids[name]}/trials/{trial['id']}"
        TrialAnswer.model_validate(page.get(path).json())
        FoldedAnswer.model_validate(page.get(f"{path}/folded").json())
        ImpulsesAnswer.model_validate(page.get(f"{path}/impulses").json())
    AboutAnswer.model_validate(page.get("about").json())
    for patient in page.get("patients").json():
        PatientEntry.model_validate(patient)


def test_a_list_of_patients_tells_how_good_their_sessions_are(looked_at):
    page, ids = looked_at
    found = {s["id"]: s for p in page.get("patients").json() for s in p["sessions"]}
    chair = found[ids["chair"]]
    measures = [m for t in page.session(ids["chair"])["document"]["trials"] for m in t["measures"]]
    assert chair["grade_counts"]["sound"] >= sum(m["grade"] == "sound" for m in measures) > 0
    assert (chair["edits"], chair["signed_version"], chair["draft"]) == (0, None, False)
    assert [p["code"] for p in page.get("patients", find="odd").json()] == ["ODD-1"]


def test_statements_have_keys_and_the_reading_a_digest(looked_at):
    page, ids = looked_at
    answer = page.session(ids["chair"])
    codes = [statement["code"] for statement in answer["document"]["statements"]]
    assert [key.partition(":")[0] for key in answer["statement_keys"]] == codes
    assert len(set(answer["statement_keys"])) == len(codes)
    assert len(answer["reading_digest"]) == 64


def channels_of(page, path):
    told = page.get(path).json()
    names = [channel["id"] for channel in told["channels"]]
    data = page.get(f"{path}/window", channels=",".join(names), columns=8192).content
    return told, *opened(data)


def test_raw_eyes_come_sample_by_sample(looked_at, folders):
    page, ids = looked_at
    recording = next(
        t.recording for t in read_session(folders["chair"]).trials if t.id == "sin-0.16"
    )
    told, _, _ = channels_of(page, f"sessions/{ids['chair']}/trials/sin-0.16")
    path = f"sessions/{ids['chair']}/trials/sin-0.16/window"
    asked = {"channels": "eye_h_right,head", "start_s": 10, "stop_s": 12, "columns": 5000}
    header, channels = opened(page.get(path, **asked).content)
    first = round((header["start_s"] - told["start_s"]) / told["step_s"])
    inside = slice(first, first + header["columns"])
    assert header["exact"]
    assert header["start_s"] == pytest.approx(recording.time_s[first], abs=0.5 * told["step_s"])
    wanted = {"eye_h_right": recording.channels["eye_h_right"],
              "head": recording.head_velocity_deg_s}  # fmt: skip
    for name, values in wanted.items():
        assert np.array_equal(channels[name][0], values[inside].astype(np.float32), equal_nan=True)


def test_slow_phase_is_shown_only_where_it_is_used(looked_at):
    page, ids = looked_at
    told, header, channels = channels_of(page, f"sessions/{ids['chair']}/trials/step-right")
    _, high, missing = channels["slow"]
    middles = header["start_s"] + header["step_s"] * (np.arange(header["columns"]) + 0.5)
    usable = np.ones(header["columns"], bool)
    for run in told["unused"]:
        if run["plane"] == "horizontal":
            usable &= (middles < run["start_s"] - 0.02) | (middles > run["stop_s"] + 0.02)
    assert np.isfinite(high[usable]).mean() > 0.98
    assert missing.any()
    assert {run["reason"] for run in told["unused"]} >= {"quick_phase"}


def test_channels_say_what_they_are_and_where_they_lie(looked_at):
    page, ids = looked_at
    told, _, channels = channels_of(page, f"sessions/{ids['chair']}/trials/sin-0.16")
    by_id = {channel["id"]: channel for channel in told["channels"]}
    assert by_id["eye_h_right"]["side"] == "right"
    assert by_id["fit"]["panel"] == by_id["head"]["panel"] == by_id["slow"]["panel"] == "velocity"
    assert {"position", "median"} <= set(by_id)
    for id_, channel in by_id.items():
        known = channels[id_][1][np.isfinite(channels[id_][1])]
        inside = (known >= channel["low"] - 1e-3) & (known <= channel["high"] + 1e-3)
        assert channel["low"] <= channel["high"]
        assert inside.mean() > 0.9, id_


def test_cycles_of_a_sinusoid_are_laid_over_one_another(looked_at):
    page, ids = looked_at
    path = f"sessions/{ids['chair']}/trials/sin-0.16"
    told = page.get(path).json()
    lengths = [cycle["stop_s"] - cycle["start_s"] for cycle in told["cycles"]]
    assert told["cycle_s"] == pytest.approx(1 / 0.16)
    assert lengths == pytest.approx([1 / 0.16] * len(lengths))
    assert len(lengths) >= 14
    heads = []
    for cycle in told["cycles"]:
        asked = {"start_s": cycle["start_s"], "stop_s": cycle["stop_s"], "columns": 400}
        _, channels = opened(page.get(f"{path}/window", channels="head", **asked).content)
        heads.append(channels["head"][1][:300])
    assert np.ptp(np.array(heads), axis=0).max() < 5.0
    assert abs(heads[0][0]) < 3.0
    assert heads[0][40] > 10.0


def test_the_folded_cycle_has_quartiles_a_fit_and_the_chair(looked_at):
    page, ids = looked_at
    told = page.get(f"sessions/{ids['chair']}/trials/sin-0.16/folded").json()
    assert len(told["phase_deg"]) == 72
    rows = zip(told["low_deg_s"], told["middle_deg_s"], told["high_deg_s"], strict=True)
    assert all(low <= middle <= high for low, middle, high in rows)
    assert max(told["head_deg_s"]) == pytest.approx(60.0, rel=0.03)
    assert None not in told["fit_deg_s"]
    assert page.get(f"sessions/{ids['chair']}/trials/step-right/folded").json()["phase_deg"] == []


def test_changes_of_a_step_name_the_side_that_they_excite(looked_at):
    page, ids = looked_at
    for side, other in (("right", "left"), ("left", "right")):
        told = page.get(f"sessions/{ids['chair']}/trials/step-{side}").json()
        assert [(c["of"], c["exciting"]) for c in told["changes"]] == [
            ("per", side),
            ("post", other),
        ]
        assert told["changes_s"] == [c["at_s"] for c in told["changes"]]
        assert told["cycles"] == []


def test_every_head_impulse_comes_with_its_traces_or_why_it_was_refused(looked_at, folders):
    page, ids = looked_at
    told = page.get(f"sessions/{ids['battery']}/trials/impulse-horizontal/impulses").json()
    expected = next(
        t
        for t in analyze(read_session(folders["battery"])).events_document()["trials"]
        if t["id"] == "impulse-horizontal"
    )
    assert (told["plane"], told["eyes"]) == (expected["plane"], expected["eyes"])
    assert len(told["impulses"]) == len(expected["impulses"]) >= 15
    for one, known in zip(told["impulses"], expected["impulses"], strict=True):
        assert (one["canal"], one["gain"], one["refused"]) == (
            known["canal"], known["gain"], known["refused"],
        )  # fmt: skip
        assert one["canal"].startswith(one["side"])
        assert len(one["since_s"]) == len(one["head_deg_s"]) == len(one["eye_deg_s"])
        if not one["refused"]:
            assert max(one["head_deg_s"]) == pytest.approx(one["peak_deg_s"], rel=0.1)
    assert page.get(f"sessions/{ids['battery']}/trials/impulse-horizontal").json()["impulses"] >= 15


def test_targets_and_every_kind_of_trial_can_be_drawn(looked_at):
    page, ids = looked_at
    kinds = {}
    for trial in page.session(ids["battery"])["document"]["trials"]:
        told, header, _ = channels_of(page, f"sessions/{ids['battery']}/trials/{trial['id']}")
        kinds[told["kind"]] = {channel["role"] for channel in told["channels"]}
        assert header["columns"] > 0
    assert "target" in kinds["saccade"] & kinds["pursuit"]
    assert len(kinds) == 8
    assert all({"eye", "position"} <= roles for roles in kinds.values())


def test_a_calibrated_session_is_shown_in_degrees_and_its_calibration_as_it_was(looked_at):
    page, ids = looked_at
    raw = page.get(f"sessions/{ids['raw']}/trials/calibration").json()
    own = page.get(f"sessions/{ids['raw']}/trials/sin-0.16").json()
    units = {channel["id"]: channel["unit"] for channel in raw["channels"]}
    assert units["eye_h_right"] == "px"
    assert {c["id"]: c["unit"] for c in own["channels"]}["eye_h_right"] == "deg"


def test_a_name_with_a_slash_and_more_is_found(looked_at):
    page, ids = looked_at
    told = page.get(f"sessions/{ids['odd']}/trials/a%2Fb window").json()
    assert told["id"] == "a/b window"
    data = page.get(f"sessions/{ids['odd']}/trials/a/b window/window", channels="head").content
    assert opened(data)[0]["columns"] > 0


def test_a_pause_of_the_clock_is_missing_and_nothing_else_is(looked_at):
    page, ids = looked_at
    told, header, channels = channels_of(page, f"sessions/{ids['odd']}/trials/paused")
    at = header["start_s"] + header["step_s"] * np.arange(header["columns"])
    in_pause = (at > 20.05) & (at < 23.95)
    _, high, missing = channels["head"]
    assert np.isnan(high[in_pause]).all()
    assert missing[in_pause].all()
    assert not missing[(at < 19.9) | (at > 24.1)].any()
    assert told["stop_s"] == pytest.approx(64.0, abs=0.1)
    assert told["samples"] < told["places"]


def test_a_trial_that_was_not_done_is_there_without_lines(looked_at):
    page, ids = looked_at
    told = page.get(f"sessions/{ids['odd']}/trials/refused").json()
    assert (told["channels"], told["samples"], told["outcome"]) == ([], 0, "not done")
    answer = page.get(f"sessions/{ids['odd']}/trials/refused/window", channels="head")
    assert is_error(answer, 404, "not_found")


@pytest.mark.parametrize(
    ("asked", "status"),
    [
        ({"channels": "head,head"}, 422),
        ({"channels": "nothing"}, 404),
        ({"channels": ""}, 404),
        ({"channels": "head", "columns": 0}, 422),
        ({"channels": "head", "columns": 9000}, 422),
        ({"channels": "head", "start_s": "nan"}, 422),
        ({"channels": "head", "start_s": 1e300}, 422),
        ({}, 422),
    ],
)
def test_a_window_that_cannot_be_has_a_clear_refusal(looked_at, asked, status):
    page, ids = looked_at
    answer = page.get(f"sessions/{ids['chair']}/trials/sin-0.16/window", **asked)
    assert is_error(answer, status)


@pytest.mark.parametrize(("start_s", "stop_s"), [(50, 40), (-100, -50), (1e8, 2e8), (5, 5)])
def test_a_window_beside_the_trial_is_empty_or_one_sample(looked_at, start_s, stop_s):
    page, ids = looked_at
    path = f"sessions/{ids['chair']}/trials/sin-0.16/window"
    answer = page.get(path, channels="head", start_s=start_s, stop_s=stop_s)
    assert opened(answer.content)[0]["columns"] <= 1


def test_a_trial_of_another_session_is_not_found(looked_at):
    page, ids = looked_at
    for path in ("sessions/{odd}/trials/step-right", "sessions/{odd}/figures/trial-step-right.svg",
                 "sessions/{odd}/trials/step-right/window?channels=head"):  # fmt: skip
        assert is_error(page.get(path.format(**ids)), 404)


@pytest.mark.parametrize("session", ["nothing", "..", "%2e%2e", "1' OR '1'='1", "x" * 300])
def test_a_session_that_is_not_there_is_not_found(looked_at, session):
    page, _ = looked_at
    assert is_error(page.get(f"sessions/{session}/edits.json"), 404)
    assert is_error(page.get(f"sessions/{session}/trials/a/window", channels="head"), 404)


def test_figures_stand_alone_with_a_title_and_a_description(looked_at):
    page, ids = looked_at
    figures = page.session(ids["chair"])["figures"]
    names = [figure["name"] for figure in figures]
    assert names[:3] == ["front", "overview", "steps"]
    for figure in figures:
        if figure["name"] in ("overview", "steps", "trial-sin-0.16"):
            answer = page.get(f"sessions/{ids['chair']}/figures/{figure['name']}.svg")
            assert answer.headers["content-type"] == "image/svg+xml"
            assert "<title>" in answer.text
            assert "<desc>" in answer.text
            assert "--ink:" in answer.text
            assert "<script" not in answer.text
            again = page.get(f"sessions/{ids['chair']}/figures/{figure['name']}.svg")
            assert again.text == answer.text
    assert is_error(page.get(f"sessions/{ids['chair']}/figures/nothing.svg"), 404)


def test_a_figure_without_anything_in_it_is_not_found(looked_at):
    page, ids = looked_at
    names = [figure["name"] for figure in page.session(ids["odd"])["figures"]]
    assert "steps" not in names
    assert is_error(page.get(f"sessions/{ids['odd']}/figures/steps.svg"), 404)


def test_the_original_files_are_named_with_their_digests(looked_at, folders):
    page, ids = looked_at
    files = page.session(ids["chair"])["files"]
    assert {file["path"] for file in files} == {
        str(path.relative_to(folders["chair"]).as_posix())
        for path in Path(folders["chair"]).rglob("*")
        if path.is_file()
    }


def test_a_session_of_which_nothing_can_be_used_tells_its_problems(store, page, folders, tmp_path):
    broken = tmp_path / "broken"
    (broken / "trials").mkdir(parents=True)
    text = (folders["raw"] / "session.toml").read_text(encoding="utf-8")
    (broken / "session.toml").write_text(text, encoding="utf-8")
    session = store.add_session(broken, by="R. Doe").id
    answer = page.session(session)
    assert answer["document"]["problems"]
    assert answer["document"]["session"] is None
    assert answer["figures"] == []
    assert is_error(page.edit(session, "set_aside", "sin-0.16"), 422)
    assert is_error(page.get(f"sessions/{session}/report.html"), 422)
