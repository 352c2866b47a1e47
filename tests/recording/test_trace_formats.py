"""However a trace was exported, the same samples come out."""

import sys
from collections.abc import Callable
from subprocess import run

import numpy as np
import polars as pl
import pytest
from numpy.testing import assert_allclose
from session_folder import COLUMNS, SessionFolder, as_csv, sinusoid_trace

from slowphase.recording.read import read_session
from slowphase.recording.readers import blocks
from slowphase.recording.trial import Recording

TRACE = sinusoid_trace()
PLAIN = as_csv(TRACE)
HEADER, _, SAMPLES = PLAIN.partition("\n")


def read_one(folder: SessionFolder, content: str | bytes, *, file: str = "one.csv") -> Recording:
    """The only trial of a folder, read without a problem."""
    folder.add_sinusoid("one", content=content, file=file)
    session = read_session(folder.write())
    assert session.problems == ()
    recording = session.trials[0].recording
    assert recording is not None
    return recording


def assert_is_the_trace(recording: Recording) -> None:
    assert_allclose(recording.time_s, TRACE["t"], atol=1e-4)
    assert_allclose(recording.head_velocity_deg_s, TRACE["chair"], atol=1e-4)
    for role, name in (("eye_h_right", "Rx"), ("eye_v_left", "Ly")):
        assert_allclose(recording.channels[role], TRACE[name], atol=1e-4)
    assert recording.sampling_hz == pytest.approx(100.0, rel=1e-6)


def wide(text: str) -> str:
    """Columns aligned with spaces."""
    return "\n".join("".join(f"{c:>12}" for c in line.split(",")) for line in text.splitlines())


FORMATS: dict[str, str | bytes] = {
    "comma": PLAIN,
    "semicolon": as_csv(TRACE, delimiter=";"),
    "semicolon and decimal comma": as_csv(TRACE, delimiter=";", decimal=","),
    "tab": as_csv(TRACE, delimiter="\t"),
    "tab and decimal comma": as_csv(TRACE, delimiter="\t", decimal=","),
    "bar": as_csv(TRACE, delimiter="|"),
    "single spaces": as_csv(TRACE, delimiter=" "),
    "spaces and decimal comma": as_csv(TRACE, delimiter=" ", decimal=","),
    "aligned with spaces": wide(PLAIN),
    "comma and space": PLAIN.replace(",", ", "),
    "quoted values": "\n".join(
        ",".join(f'"{cell}"' for cell in line.split(",")) for line in PLAIN.splitlines()
    ),
    "quoted decimal commas between commas": "\n".join(
        ",".join('"' + cell.replace(".", ",") + '"' for cell in line.split(","))
        for line in PLAIN.splitlines()
    ),
    "UTF-8 with mark": b"\xef\xbb\xbf" + PLAIN.encode(),
    "UTF-16 little-endian": b"\xff\xfe" + PLAIN.encode("utf-16-le"),
    "UTF-16 big-endian": b"\xfe\xff" + PLAIN.encode("utf-16-be"),
    "UTF-16 without mark": PLAIN.encode("utf-16-le"),
    "Latin-1 words above": ("Prüfer: Ärztin Ø\n" + PLAIN).encode("latin-1"),
    "carriage returns and line feeds": PLAIN.replace("\n", "\r\n"),
    "carriage returns only": PLAIN.replace("\n", "\r"),
    "no line end at the end": PLAIN.rstrip("\n"),
    "thousands of blank lines at the end": PLAIN + "\n" * 5000,
    "thousands of empty rows at the end": PLAIN + ",,,,,\n" * 5000,
    "blank lines between": HEADER + "\n\n" + SAMPLES.replace("\n1", "\n\n1"),
    "comments above": "# exported\n# rate: 100 Hz, 6 channels\n\n" + PLAIN,
    "key and value lines above": "Device,7\nRate,100\nOperator,Miller\n\nData\n" + PLAIN,
    "many lines above": "note,x\n" * 300 + PLAIN,
    "a units row": HEADER + "\ns,deg/s,deg,deg,deg,deg\n" + SAMPLES,
    "a units row in brackets": HEADER + "\n[s],[deg/s],[deg],[deg],[deg],[deg]\n" + SAMPLES,
    "units in the header": "t [s],chair (deg/s),Rx [deg],Ry [deg],Lx [deg],Ly [deg]\n" + SAMPLES,
    "quotes and spaces in the header": '" t ", "chair" ,"Rx","Ry" ,Lx ,"Ly"\n' + SAMPLES,
    "words below": PLAIN + "End of recording\n",
    "comments between and below": PLAIN.replace("\n1", "\n# pause\n1") + "# end\n",
    "an end-of-file mark": PLAIN + "\x1a",
    "a delimiter at the end of each row": PLAIN.replace("\n", ",\n"),
    "a line that names the delimiter": "sep=,\n" + PLAIN,
    "a commented header": "# " + PLAIN,
    "more columns than are used": "\n".join(
        line + (",extra,word" if n == 0 else ",1.5,abc")
        for n, line in enumerate(PLAIN.splitlines())
    ),
}


@pytest.mark.parametrize("form", FORMATS)
def test_every_way_of_writing_a_trace_gives_the_same_samples(
    folder: SessionFolder, form: str
) -> None:
    assert_is_the_trace(read_one(folder, FORMATS[form]))


@pytest.mark.parametrize("form", FORMATS)
@pytest.mark.parametrize("block_bytes", [777, 20_000])
def test_reading_block_by_block_changes_nothing(
    folder: SessionFolder, form: str, block_bytes: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(blocks, "BLOCK_BYTES", block_bytes)
    assert_is_the_trace(read_one(folder, FORMATS[form]))


def test_lines_are_counted_through_blocks(
    folder: SessionFolder, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(blocks, "BLOCK_BYTES", 777)
    lines = ("# above\n\n" + PLAIN.replace("\n1", "\n\n1")).splitlines()
    wrong = next(n for n in range(2000, 2010) if lines[n])
    lines[wrong] = lines[wrong].replace(",", ",oops", 2)
    folder.add_sinusoid("typed", content="\r\n".join(lines) + "\r\n")
    folder.add_sinusoid("sound")
    problems = read_session(folder.write()).problems
    assert {(p.code, p.line) for p in problems} == {("text_in_number_column", wrong + 1)}


@pytest.mark.parametrize("file", ["a.tsv", "a.txt", "a.csv", "no_suffix"])
def test_the_suffix_does_not_decide_the_delimiter(folder: SessionFolder, file: str) -> None:
    assert_is_the_trace(read_one(folder, as_csv(TRACE, delimiter="\t"), file=file))


def test_parquet_is_read(folder: SessionFolder) -> None:
    pl.DataFrame(TRACE).write_parquet(folder.path / "one.parquet")
    content = (folder.path / "one.parquet").read_bytes()
    assert_is_the_trace(read_one(folder, content, file="one.parquet"))


def test_parquet_cut_short_is_a_problem(folder: SessionFolder) -> None:
    pl.DataFrame(TRACE).write_parquet(folder.path / "one.parquet")
    content = (folder.path / "one.parquet").read_bytes()
    folder.add_sinusoid("cut", content=content[: len(content) // 2], file="cut.parquet")
    folder.add_sinusoid("sound")
    session = read_session(folder.write())
    assert [problem.code for problem in session.problems] == ["unreadable_file"]


def test_columns_by_number_serve_a_file_without_a_header(folder: SessionFolder) -> None:
    for number, name in enumerate(TRACE, start=1):
        folder.columns = folder.columns.replace(f'"{name}"', str(number))
    assert_is_the_trace(read_one(folder, SAMPLES))


def test_a_time_of_day_is_a_clock(folder: SessionFolder) -> None:
    def stamp(seconds: float) -> str:
        return f"12:01:{seconds:06.3f}" if seconds < 60 else "12:02:00.000"

    lines = [
        ",".join((stamp(float(line.split(",")[0])), *line.split(",")[1:]))
        for line in SAMPLES.splitlines()
    ]
    assert_is_the_trace(read_one(folder, "\n".join((HEADER, *lines)) + "\n"))


@pytest.mark.parametrize(
    "mark", ["", "NaN", "nan", "NA", "n/a", "-", "--", "null", "inf", "-Inf", "#N/A", "."]
)
def test_a_missing_mark_is_a_lost_sample(folder: SessionFolder, mark: str) -> None:
    lines = PLAIN.splitlines()
    for row in range(1001, 1050):
        cells = lines[row].split(",")
        lines[row] = ",".join((*cells[:2], mark, mark, *cells[4:]))
    recording = read_one(folder, "\n".join(lines) + "\n")
    lost = np.flatnonzero(np.isnan(recording.channels["eye_h_right"]))
    assert lost.tolist() == list(range(1000, 1049))
    assert not np.isnan(recording.channels["eye_h_left"]).any()


def test_missing_trailing_columns_are_lost_samples(folder: SessionFolder) -> None:
    lines = PLAIN.splitlines()
    lines[11:41] = [line.rsplit(",", 2)[0] for line in lines[11:41]]
    recording = read_one(folder, "\n".join(lines) + "\n")
    assert np.flatnonzero(np.isnan(recording.channels["eye_h_left"])).tolist() == list(
        range(10, 40)
    )


def test_missing_columns_to_the_end_of_the_file_are_lost_samples(folder: SessionFolder) -> None:
    lines = PLAIN.splitlines()
    lines[1501:] = [",".join(line.split(",")[:2]) for line in lines[1501:]]
    recording = read_one(folder, "\n".join(lines) + "\n")
    assert np.isfinite(recording.channels["eye_h_right"]).sum() == 1500


def test_a_header_in_the_middle_is_one_problem(folder: SessionFolder) -> None:
    lines = PLAIN.splitlines()
    folder.add_sinusoid("one", content="\n".join((*lines[:500], lines[0], *lines[500:])) + "\n")
    folder.add_sinusoid("sound")
    problems = read_session(folder.write()).problems
    assert [(p.code, p.line, p.found) for p in problems] == [("text_in_number_column", 501, "t")]


def test_a_far_out_number_mark_is_a_lost_sample(folder: SessionFolder) -> None:
    trace = {name: values.copy() for name, values in TRACE.items()}
    trace["Rx"][100:120] = -9999
    recording = read_one(folder, as_csv(trace))
    assert np.isnan(recording.channels["eye_h_right"]).sum() == 20


def test_a_number_that_the_eye_may_reach_is_no_mark(folder: SessionFolder) -> None:
    trace = {name: values.copy() for name, values in TRACE.items()}
    trace["Rx"] = trace["Rx"] * 1000  # raw counts around 30,000
    trace["Rx"][100:120] = 9999
    raw, scaled = '"Rx", unit = "deg"', '"Rx", unit = "deg", scale = 0.001'
    folder.columns = folder.columns.replace(raw, scaled)
    assert not np.isnan(read_one(folder, as_csv(trace)).channels["eye_h_right"]).any()


def test_zero_zero_far_from_the_eye_is_a_lost_sample(folder: SessionFolder) -> None:
    trace = {name: values.copy() for name, values in TRACE.items()}
    trace["Rx"] += 400.0
    trace["Ry"] += 300.0
    trace["Rx"][100:120] = trace["Ry"][100:120] = 0.0
    assert np.isnan(read_one(folder, as_csv(trace)).channels["eye_h_right"]).sum() == 20


def test_an_eye_that_passes_through_zero_keeps_its_samples(folder: SessionFolder) -> None:
    trace = {name: np.round(values, 0) + 0.0 for name, values in TRACE.items()} | {
        "t": TRACE["t"],
        "chair": TRACE["chair"],
    }
    assert not np.isnan(read_one(folder, as_csv(trace)).channels["eye_h_right"]).any()


@pytest.mark.parametrize(
    ("unit", "factor"), [("deg", 1.0), ("rad", 180 / np.pi), ("arcmin", 1 / 60)]
)
def test_angles_become_degrees(folder: SessionFolder, unit: str, factor: float) -> None:
    folder.columns = COLUMNS.replace('"Rx", unit = "deg"', f'"Rx", unit = "{unit}"')
    trace = {**TRACE, "Rx": TRACE["Rx"] / factor}
    recording = read_one(folder, as_csv(trace, digits=8))
    assert_allclose(recording.channels["eye_h_right"], TRACE["Rx"], atol=1e-4)


@pytest.mark.parametrize(("unit", "factor"), [("rad/s", 180 / np.pi), ("rpm", 6.0)])
def test_head_velocities_become_deg_s(folder: SessionFolder, unit: str, factor: float) -> None:
    folder.columns = COLUMNS.replace('"deg/s"', f'"{unit}"')
    trace = {**TRACE, "chair": TRACE["chair"] / factor}
    recording = read_one(folder, as_csv(trace, digits=8))
    assert_allclose(recording.head_velocity_deg_s, TRACE["chair"], atol=1e-4)


def test_positive_left_and_down_turn_the_sign(folder: SessionFolder) -> None:
    folder.columns = COLUMNS.replace('"Rx", unit = "deg"', '"Rx", unit = "deg", positive = "left"')
    folder.columns = folder.columns.replace(
        '"Ry", unit = "deg"', '"Ry", unit = "deg", positive = "down"'
    )
    recording = read_one(folder, PLAIN)
    assert_allclose(recording.channels["eye_h_right"], -TRACE["Rx"], atol=1e-4)
    assert_allclose(recording.channels["eye_v_right"], -TRACE["Ry"], atol=1e-4)


def test_scale_and_offset_come_before_the_sign(folder: SessionFolder) -> None:
    entry = '"Rx", unit = "deg", scale = 2, offset = 1, positive = "left"'
    folder.columns = COLUMNS.replace('"Rx", unit = "deg"', entry)
    recording = read_one(folder, PLAIN)
    assert_allclose(recording.channels["eye_h_right"], -(2 * TRACE["Rx"] + 1), atol=1e-3)


def test_a_unit_in_the_file_that_contradicts_the_map_is_a_problem(folder: SessionFolder) -> None:
    folder.add_sinusoid("one", content=PLAIN.replace("Rx", "Rx [rad]"))
    session = read_session(folder.write())
    assert [(p.code, p.key, p.found) for p in session.problems] == [
        ("unit_contradicts", "eye_h_right", "rad")
    ]
    recording = session.trials[0].recording
    assert recording is not None
    assert "eye_h_right" not in recording.channels


def test_one_eye_without_vertical_channel_is_ordinary(folder: SessionFolder) -> None:
    folder.columns = "\n".join(COLUMNS.splitlines()[:4]) + "\n"
    trace = {name: TRACE[name] for name in ("t", "chair", "Rx")}
    assert set(read_one(folder, as_csv(trace)).channels) == {"eye_h_right"}


def test_marker_and_pupil_pass_as_they_are(folder: SessionFolder) -> None:
    folder.columns += 'pupil_left = { name = "pl" }\nmarker = { name = "m" }\n'
    lines = PLAIN.splitlines()
    marked = [lines[0] + ",pl,m"]
    marked += [f"{line},3.25,{'go' if n < 10 else ''}" for n, line in enumerate(lines[1:])]
    recording = read_one(folder, "\n".join(marked) + "\n")
    assert recording.channels["pupil_left"][0] == 3.25
    assert recording.channels["marker"][:10].tolist() == [1.0] * 10
    assert np.isnan(recording.channels["marker"][10:]).all()


def nonsense_files() -> dict[str, Callable[[], bytes]]:
    noise = np.random.default_rng(3)
    return {
        "random bytes": lambda: noise.bytes(300_000),
        "a giant line": lambda: b"1" * 600_000,
        "zero bytes": lambda: bytes(100_000),
        "prose": lambda: b"This is a letter to the referrer.\nIt has lines.\n" * 50,
        "a spreadsheet": lambda: b"PK\x03\x04" + noise.bytes(1000),
        "binary after a sound beginning": lambda: PLAIN.encode() * 8 + bytes(3_000_000),
    }


@pytest.mark.parametrize("name", nonsense_files())
def test_nonsense_is_refused_and_the_sound_trial_read(folder: SessionFolder, name: str) -> None:
    folder.add_sinusoid("nonsense", content=nonsense_files()[name]())
    folder.add_sinusoid("sound")
    session = read_session(folder.write())
    assert [problem.code for problem in session.problems] == ["not_a_trace"]
    assert session.trials[1].recording is not None


def test_a_large_sparse_file_is_refused_in_bounded_memory(folder: SessionFolder) -> None:
    folder.add_sinusoid("huge", content=PLAIN)
    with (folder.path / "trials/huge.csv").open("r+b") as stream:
        stream.truncate(1000 * 2**20)  # sparse, and below the limit of size
    folder.add_sinusoid("sound")
    # Not getrusage: after fork and exec it still tells the peak of the tests' own process.
    code = (
        "import sys, threading, psutil; from slowphase.recording.read import read_session\n"
        "own, seen, done = psutil.Process(), [], threading.Event()\n"
        "def watch():\n"
        "    while not done.wait(0.005): seen.append(own.memory_info().rss)\n"
        "watching = threading.Thread(target=watch); watching.start()\n"
        "session = read_session(sys.argv[1]); done.set(); watching.join()\n"
        "print(session.problems[0].code, max(seen) < 500 * 2**20)"
    )
    result = run(
        [sys.executable, "-c", code, str(folder.write())],
        capture_output=True,
        text=True,
        check=True,
    )
    assert result.stdout.split() == ["not_a_trace", "True"]


def test_two_gigabytes_are_refused_by_their_size(folder: SessionFolder) -> None:
    folder.add_sinusoid("huge", content=PLAIN)
    with (folder.path / "trials/huge.csv").open("r+b") as stream:
        stream.truncate(2 * 2**30)  # sparse: takes no room on the disk
    folder.add_sinusoid("sound")
    session = read_session(folder.write())
    assert [problem.code for problem in session.problems] == ["file_too_large"]
    assert session.problems[0].found == f"{2**31} bytes"
