"""No call overwrites what it reads, a recording or a signed version, nor one output by another."""

import shutil

import pytest
from command_line import BY, start

REFUSED = [
    ("analyze", "s", "--pdf", "s/trials/1.csv"),
    ("analyze", "s", "--report", "s/session.toml"),
    ("analyze", "s/session.toml", "--events", "s/trials/../session.toml"),
    ("analyze", "s", "--json", "-o", "link.toml"),
    ("analyze", "s", "--pdf", "s/readings/v1.html"),
    ("analyze", "s", "--pdf", "s/readings/new.pdf"),
    ("signed", "s", "--pdf", "s/readings/v1.json"),
    ("analyze", "s", "--edits", "ed.json", "-o", "ed.json"),
    ("analyze", "s", "--references", ".", "-o", "healthy.toml"),
    ("analyze", "s", "--clinic", "clinic.toml", "--pdf", "logo.png"),
    ("analyze", "s", "--report", "a.html", "--pdf", "a.html"),
    ("sign", "s", *BY, "--remark", "@ed.json", "--pdf", "ed.json"),
    ("check", "s", "--keep", "s/trials/1.csv"),
    ("course", "s", "--report", "s/session.toml"),
    ("reference", "build", "healthy.csv", "-o", "healthy.toml"),
    ("reference", "build", ".", "-o", "s/session.toml"),
]


@pytest.fixture
def place(made, tmp_path, monkeypatch):
    shutil.copytree(made, tmp_path / "s")
    trace = next((tmp_path / "s" / "trials").glob("*.csv"))
    text = (tmp_path / "s" / "session.toml").read_text(encoding="utf-8")
    (tmp_path / "s" / "session.toml").write_text(text.replace(trace.name, "1.csv"), "utf-8")
    trace.rename(trace.with_name("1.csv"))
    (tmp_path / "link.toml").symlink_to(tmp_path / "s" / "session.toml")
    (tmp_path / "s" / "readings").mkdir()
    for name in ("ed.json", "healthy.csv", "healthy.toml", "logo.png", "s/readings/v1.html"):
        (tmp_path / name).write_text("kept", encoding="utf-8")
    (tmp_path / "clinic.toml").write_text('name = "x"\nlogo = "logo.png"', encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def contents(place):
    return {file: file.read_bytes() for file in place.rglob("*") if file.is_file()}


@pytest.mark.parametrize("words", REFUSED)
def test_is_refused_by_name_and_nothing_is_touched(place, words):
    before = contents(place)
    found = start(*words)
    assert found.exit_code == 2
    assert found.stderr.strip().endswith(("name another file", "name two files"))
    assert len(found.stderr.splitlines()) == 1
    assert contents(place) == before


def test_a_session_that_cannot_be_read_loses_nothing_to_the_document_of_its_failure(place):
    (place / "s" / "session.toml").write_text("schema = [", encoding="utf-8")
    before = contents(place)
    assert start("analyze", "s", "--json", "-o", "s/trials/1.csv").exit_code == 2
    assert contents(place) == before


def test_reports_in_the_session_folder_are_made_and_made_again(place):
    shutil.rmtree(place / "s" / "readings")
    for _ in range(2):
        assert start("analyze", "s", "-o", "s/found.txt").exit_code == 0
    assert (place / "s" / "found.txt").stat().st_size > 0
