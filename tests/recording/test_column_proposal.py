import os
from pathlib import Path

import numpy as np
import pytest
from session_folder import HEAD, as_csv, sinusoid_trace, step_trace

from slowphase.foundation.errors import InputError
from slowphase.recording.column_names import NameGuess, guess_from_name
from slowphase.recording.propose import ColumnProposal, ProposedColumn, propose_columns
from slowphase.recording.read import read_session

TRACE = sinusoid_trace()


def propose(tmp_path: Path, content: str) -> ColumnProposal:
    file = tmp_path / "one.csv"
    file.write_text(content, encoding="utf-8")
    return propose_columns(file)


def by_role(proposal: ColumnProposal) -> dict[str, ProposedColumn]:
    return {column.role: column for column in proposal.columns}


def test_plain_names_give_every_role(tmp_path: Path) -> None:
    found = by_role(propose(tmp_path, as_csv(TRACE)))
    assert {role: column.name for role, column in found.items()} == {
        "time": "t",
        "head_velocity": "chair",
        "eye_h_right": "Rx",
        "eye_v_right": "Ry",
        "eye_h_left": "Lx",
        "eye_v_left": "Ly",
    }
    assert not found["time"].check
    assert not found["eye_h_right"].check
    assert found["eye_h_right"].unit == "deg"


@pytest.mark.parametrize(("factor", "unit"), [(1.0, "s"), (1e3, "ms"), (1e6, "us")])
def test_the_unit_of_time_follows_from_the_rate(tmp_path: Path, factor: float, unit: str) -> None:
    trace = {**TRACE, "t": TRACE["t"] * factor}
    assert by_role(propose(tmp_path, as_csv(trace)))["time"].unit == unit


def test_a_row_number_is_no_clock(tmp_path: Path) -> None:
    trace = {"sample": np.arange(2500.0), **TRACE}
    assert by_role(propose(tmp_path, as_csv(trace)))["time"].name == "t"
    del trace["t"]
    proposal = propose(tmp_path, as_csv(trace))
    assert "time" not in by_role(proposal)
    assert "sampling_hz" in proposal.to_toml()


def test_eyes_that_move_with_the_head_mark_the_sign_for_a_check(tmp_path: Path) -> None:
    found = by_role(propose(tmp_path, as_csv({**TRACE, "chair": -TRACE["chair"]})))
    assert found["head_velocity"].positive == "left"
    for role in ("head_velocity", "eye_h_right", "eye_h_left"):
        assert found[role].check
        assert any("with" in reason for reason in found[role].reasons)


def test_one_mirrored_eye_is_marked_and_the_other_is_not(tmp_path: Path) -> None:
    found = by_role(propose(tmp_path, as_csv({**TRACE, "Lx": -TRACE["Lx"]})))
    assert found["eye_h_left"].check
    assert not found["eye_h_right"].check
    assert found["head_velocity"].positive is None


def test_quick_phases_do_not_hide_the_sign(tmp_path: Path) -> None:
    trace = step_trace()
    velocity = -60 * np.exp(-np.clip(trace["t"] - 2, 0, None) / 12) * (trace["t"] > 2)
    velocity += 60 * np.exp(-np.clip(trace["t"] - 23, 0, None) / 12) * (trace["t"] > 23)
    position = np.cumsum(velocity) / 100.0
    beating = position - 8.0 * np.round(position / 8.0)  # a quick phase every 8 deg
    found = by_role(propose(tmp_path, as_csv({**trace, "Rx": beating, "Lx": -beating})))
    assert not found["eye_h_right"].check
    assert found["eye_h_left"].check


def test_radians_pixels_and_volts_are_never_sure(tmp_path: Path) -> None:
    for scale, offset in ((np.pi / 180, 0.0), (10.0, 400.0), (0.02, 1.0)):
        trace = {**TRACE, "Rx": TRACE["Rx"] * scale + offset}
        assert by_role(propose(tmp_path, as_csv(trace)))["eye_h_right"].check


def test_a_unit_in_the_header_is_believed(tmp_path: Path) -> None:
    trace = {
        "t": TRACE["t"],
        "chair (rad/s)": TRACE["chair"] / 57.3,
        "Rx [rad]": TRACE["Rx"] / 57.3,
    }
    found = by_role(propose(tmp_path, as_csv(trace, digits=6)))
    assert found["head_velocity"].unit == "rad/s"
    assert found["eye_h_right"].unit == "rad"
    assert not found["eye_h_right"].check


def test_a_file_without_header_is_named_by_number_and_never_sure_of_the_chair(
    tmp_path: Path,
) -> None:
    found = by_role(propose(tmp_path, as_csv(TRACE, header=False)))
    assert found["time"].name == 1
    assert found["head_velocity"].name == 2
    assert found["head_velocity"].check


def test_the_table_can_be_pasted_into_a_session(tmp_path: Path) -> None:
    (tmp_path / "one.csv").write_text(as_csv(TRACE))
    table = propose_columns(tmp_path / "one.csv").to_toml()
    trial = '[[trial]]\nid = "a"\nkind = "other"\nfile = "one.csv"\n'
    (tmp_path / "session.toml").write_text(HEAD + table + trial, encoding="utf-8")
    session = read_session(tmp_path)
    assert session.problems == ()
    assert session.trials[0].recording is not None
    assert set(session.trials[0].recording.channels) == {
        "eye_h_right",
        "eye_h_left",
        "eye_v_right",
        "eye_v_left",
    }


def test_nonsense_raises(tmp_path: Path) -> None:
    with pytest.raises(InputError):
        propose(tmp_path, "Dear colleague,\nthank you for the referral.\n")


@pytest.mark.parametrize(
    ("name", "guess"),
    [
        ("Rx", NameGuess("eye", "right", "h")),
        ("LV", NameGuess("eye", "left", "v")),
        ("eye_h_left", NameGuess("eye", "left", "h")),
        ("RightEyeVert [deg]", NameGuess("eye", "right", "v")),
        ("Left Horizontal (deg)", NameGuess("eye", "left", "h")),
        ("Chair Velocity", NameGuess("head", motion="velocity")),
        ("time (ms)", NameGuess("time")),
        ("Timestamp", NameGuess("time")),
        ("pupil_r", NameGuess("pupil", "right")),
        ("trigger", NameGuess("marker")),
        ("humidity", NameGuess("")),
    ],
)
def test_names_tell_eye_and_axis(name: str, guess: NameGuess) -> None:
    assert guess_from_name(name) == guess


def test_a_unit_that_is_not_known_is_never_sure(tmp_path: Path) -> None:
    trace = {
        "time (100ns)": TRACE["t"] * 1e7,
        "chair [turns/s]": TRACE["chair"],
        "Rx (mm)": TRACE["Rx"],
    }
    for column in propose(tmp_path, as_csv(trace)).columns:
        assert column.check
        assert any("no unit known" in reason for reason in column.reasons)


def test_a_real_export_of_another_job_gives_nothing_that_is_sure_and_wrong() -> None:
    # A head-mounted display's log, public: one clock counts 100 ns, the positions are no angles.
    place = Path(os.environ.get("SLOWPHASE_DATA", Path(__file__).parents[3] / "shared/data"))
    file = place / "active_head_turns/TESTNA01_2D_Fist3.csv"
    if not file.exists():
        pytest.skip(f"no outside data: {file.name} is not in SLOWPHASE_DATA")
    sure = {column.role: column for column in propose_columns(file).columns if not column.check}
    assert set(sure) == {"time", "pupil_right", "pupil_left"}
    assert (sure["time"].name, sure["time"].unit) == ("time_stamp(ms)", "ms")
