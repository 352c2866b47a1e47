"""The command line: what it prints, what it writes, and its exit codes."""

import json
import os
import subprocess
import sys
from dataclasses import replace

import invented_analysis
import jsonschema
import pytest
from command_line import start

import slowphase
from slowphase.analysis.document import document_schema
from slowphase.foundation.errors import InputError
from slowphase.foundation.problem import Problem
from slowphase.foundation.reasons import reasons

PROBLEMS = [
    Problem("no_session_file", "nowhere/session.toml: no such file.", file="session.toml"),
    Problem("unknown_column", "There is no column Rx.", key="columns.eye_h_right"),
]


@pytest.fixture(scope="module")
def analysis():
    return invented_analysis.invented_analysis()


@pytest.fixture
def run(monkeypatch, analysis):
    """Run the command line on an invented analysis instead of a folder."""

    def run_on(*words, result=analysis):
        def read_session(path, *, progress=None):
            progress("trials/a.csv")
            if isinstance(result, BaseException):
                raise result
            return path

        def analyze(session, *, progress=None):
            progress("a")
            return result

        monkeypatch.setattr(slowphase, "read_session", read_session, raising=False)
        monkeypatch.setattr(slowphase, "analyze", analyze, raising=False)
        return start(*words)

    return run_on


def test_sound_input_ends_with_0_and_partly_usable_input_with_1(run, analysis):
    assert run("analyze", "folder").exit_code == 1
    assert run("analyze", "folder", result=replace(analysis, problems=())).exit_code == 0


def test_the_summary_is_plain_text_when_it_is_not_a_terminal(run):
    printed = run("analyze", "folder").stdout
    assert "K-0417" in printed
    assert "\x1b" not in printed
    assert max(map(len, printed.splitlines())) <= 80


def test_json_prints_the_document_and_nothing_else(run, analysis):
    found = run("analyze", "folder", "--json")
    assert json.loads(found.stdout) == analysis.to_document()
    assert found.exit_code == 1


def test_unusable_input_ends_with_2_and_one_line_for_each_problem(run):
    found = run("analyze", "folder", result=InputError(PROBLEMS))
    assert found.exit_code == 2
    assert found.stdout == ""
    assert found.stderr.splitlines() == [
        "no_session_file: nowhere/session.toml: no such file.",
        "unknown_column: There is no column Rx.",
    ]


def test_unusable_input_still_gives_a_valid_document_with_json(run):
    found = run("analyze", "folder", "--json", result=InputError(PROBLEMS))
    document = json.loads(found.stdout)
    jsonschema.validate(document, document_schema(), cls=jsonschema.Draft202012Validator)
    assert found.exit_code == 2
    assert [problem["code"] for problem in document["problems"]] == [p.code for p in PROBLEMS]
    assert document["trials"] == []


def test_report_events_and_output_are_written_where_asked(run, tmp_path):
    page, events, text = (tmp_path / "new" / name for name in ("a.html", "e.json", "a.txt"))
    found = run("analyze", "x", "--report", page, "--events", events, "--output", text)
    assert found.stdout == ""
    assert page.read_text(encoding="utf-8").startswith("<!doctype html>")
    assert json.loads(events.read_text(encoding="utf-8"))["trials"]
    assert "K-0417" in text.read_text(encoding="utf-8")


def test_a_report_that_cannot_be_written_is_one_clear_line(run, tmp_path):
    found = run("analyze", "x", "--report", tmp_path)
    assert found.exit_code == 2
    assert len(found.stderr.splitlines()) == 1
    assert str(tmp_path) in found.stderr


def test_stopping_it_ends_with_130(run):
    assert run("analyze", "x", result=KeyboardInterrupt()).exit_code == 130


def test_a_wrong_call_ends_with_2(run):
    assert run("analyze").exit_code == 2
    assert run("analyse", "folder").exit_code == 2


def test_every_reason_is_explained(run):
    printed = run("reasons").stdout
    assert all(code in printed and reason.text in printed for code, reason in reasons().items())


def test_every_reference_says_how_it_is_known(run):
    printed = run("references").stdout
    assert "0.38 ± 0.12" in printed
    assert "(from memory, unverified)" in printed
    assert "not compared: " in printed


def test_the_version_is_shown(run):
    assert run("--version").stdout == f"slowphase {slowphase.__version__}\n"


def test_help_imports_nothing_heavy():
    code = (
        "import sys, contextlib, io\n"
        "from slowphase.cli.app import main\n"
        "with contextlib.suppress(SystemExit), contextlib.redirect_stdout(io.StringIO()):\n"
        "    main(['--help'])\n"
        "heavy = {'numpy', 'scipy', 'matplotlib', 'polars', 'jinja2', 'rich', 'jsonschema',\n"
        "         'sqlalchemy', 'alembic', 'argon2', 'fastapi'}\n"
        "print(sorted(heavy & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_output_is_utf_8_whatever_the_locale():
    done = subprocess.run(
        [sys.executable, "-m", "slowphase", "references"],
        capture_output=True,
        check=True,
        env={**os.environ, "PYTHONIOENCODING": "latin-1", "PYTHONUTF8": "0"},
    )
    assert "20–29 y" in done.stdout.decode("utf-8")


@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="needs a device that is always full")
def test_output_that_cannot_be_written_is_one_line_and_no_traceback():
    with open("/dev/full", "w", encoding="utf-8") as full:
        done = subprocess.run(
            [sys.executable, "-m", "slowphase", "references"],
            stdout=full,
            stderr=subprocess.PIPE,
            check=False,
        )
    assert done.returncode == 2
    assert done.stderr.decode().strip() == "the output cannot be written: No space left on device"


def test_a_reader_that_stops_reading_is_no_error_message():
    done = subprocess.Popen(
        [sys.executable, "-m", "slowphase", "references"],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    )
    with done:
        done.stdout.close()
        assert done.stderr.read() == b""
    assert done.returncode == 1


def test_a_closed_output_is_no_traceback():
    code = "import os, sys; os.close(1); os.execv(sys.executable, [sys.executable, *sys.argv[1:]])"
    done = subprocess.run(
        [sys.executable, "-c", code, "-m", "slowphase", "references"],
        stderr=subprocess.PIPE,
        check=False,
    )
    assert done.returncode == 0
    assert done.stderr == b""
