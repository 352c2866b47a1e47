"""A session folder in, summary, document and page out, with nothing replaced."""

import json

import jsonschema
import pytest
from command_line import start

import slowphase
from slowphase.analysis.document import document_schema
from tests.recording.session_folder import SessionFolder, as_csv, sinusoid_trace


@pytest.fixture
def folder(tmp_path):
    place = tmp_path / "session"
    place.mkdir()
    return SessionFolder(place)


def document_of(found):
    document = json.loads(found.stdout)
    jsonschema.validate(document, document_schema(), cls=jsonschema.Draft202012Validator)
    return document


def test_a_sound_folder_gives_a_valid_document_with_the_gain_that_went_in(folder):
    folder.add_sinusoid("sin-0.16")
    found = start("analyze", folder.write(), "--json")
    assert found.exit_code == 0, found.stderr
    measures = {m["id"]: m for m in document_of(found)["trials"][0]["measures"]}
    # the builder's eyes move against the chair with a gain of 0.5 and no lead
    assert measures["sin-0.16/gain"]["value"] == pytest.approx(0.5, abs=0.02)
    assert measures["sin-0.16/phase"]["value"] == pytest.approx(0.0, abs=2.0)
    assert measures["sin-0.16/gain"]["placement"] is None


def test_one_bad_file_leaves_the_sound_trials_and_ends_with_1(folder, tmp_path):
    folder.add_sinusoid("good")
    lines = as_csv(sinusoid_trace()).splitlines()
    lines[500] = lines[500].replace(lines[500].split(",")[2], "oops")
    folder.add_sinusoid("bad", content="\n".join(lines) + "\n")
    page = tmp_path / "page.html"
    found = start("analyze", folder.write(), "--json", "--report", page)
    document = document_of(found)
    assert found.exit_code == 1
    (problem,) = document["problems"]
    assert (problem["trial"], problem["line"], problem["found"]) == ("bad", 501, "oops")
    assert any(m["value"] for m in document["trials"][0]["measures"])
    assert "oops" in page.read_text(encoding="utf-8")


def test_a_folder_without_a_session_file_ends_with_2(tmp_path):
    found = start("analyze", tmp_path, "--json")
    assert found.exit_code == 2
    assert document_of(found)["trials"] == []
    assert found.stderr.count("\n") == 1


def test_the_document_is_the_same_every_time(folder):
    folder.add_sinusoid("sin-0.16")
    path = folder.write()
    texts = {slowphase.analyze(slowphase.read_session(path)).to_json() for _ in range(2)}
    assert len(texts) == 1


def test_columns_prints_a_table_to_paste(folder):
    folder.write_file("a.csv", as_csv(sinusoid_trace()))
    found = start("columns", folder.path / "a.csv")
    assert found.exit_code == 0
    assert found.stdout.startswith("[columns]")


def test_columns_of_a_missing_file_ends_with_2(tmp_path):
    found = start("columns", tmp_path / "a.csv")
    assert found.exit_code == 2
    assert found.stdout == ""
    assert "a.csv" in found.stderr
