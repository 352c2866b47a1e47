"""The command `course`, on sessions of typed values: quick to analyse, real folders."""

import json

import jsonschema
import pytest
from command_line import start

from slowphase.cli.demo_courses import COURSES, demo_retest_text, visits
from slowphase.cli.demo_sessions import demo_table
from slowphase.course.document import course_schema
from slowphase.course.retest_file import parse_retest

SESSION = """
schema = 1
[patient]
code = "{code}"
[session]
date = {day}
[[trial]]
id = "typed"
kind = "values"
test = "impulse"
gain_right_lateral = {gain}
gain_left_lateral = 0.95
"""
RETEST = """
[retest]
source = "own"
mark = "local"
[[measure]]
level = "trial"
kind = "values"
name = "gain"
unit = "1"
of = "right lateral"
definition = "not_stated"
test = "impulse"
n = 40
sem = 0.05
"""


def folder(tmp_path, name, day, gain=0.9, code="K-1"):
    made = tmp_path / name
    made.mkdir()
    (made / "session.toml").write_text(SESSION.format(day=day, gain=gain, code=code), "utf-8")
    return made


@pytest.fixture
def folders(tmp_path):
    return [folder(tmp_path, "b", "2026-03-02", 0.5), folder(tmp_path, "a", "2026-01-02", 0.9)]


def test_the_document_is_printed_and_follows_its_schema(folders):
    done = start("course", *folders, "--json")
    document = json.loads(done.stdout)
    jsonschema.validate(document, course_schema(), cls=jsonschema.Draft202012Validator)
    assert [s["date"] for s in document["sessions"]] == ["2026-01-02", "2026-03-02"]
    changes = document["comparisons"][0]["changes"]
    assert next(c["value"] for c in changes if c["key"]["of"] == "right lateral") == -0.4


def test_summary_page_and_events_are_written(folders, tmp_path):
    events, page = tmp_path / "events.toml", tmp_path / "out" / "course.html"
    events.write_text('[[event]]\ndate = 2026-02-01\nlabel = "dose one"\nkind = "dose"\n', "utf-8")
    done = start("course", *folders, "--events", events, "--report", page, "-o", tmp_path / "t.txt")
    assert done.exit_code == 0
    assert "dose one" in page.read_text("utf-8")
    assert "cannot tell" in (tmp_path / "t.txt").read_text("utf-8")


def test_different_patients_are_refused_with_exit_code_two(tmp_path):
    two = [folder(tmp_path, "a", "2026-01-02"), folder(tmp_path, "b", "2026-03-02", code="K-2")]
    done = start("course", *two)
    assert done.exit_code == 2
    assert "different_patients" in done.stderr
    allowed = start("course", *two, "--different-patients")
    assert allowed.exit_code == 1
    assert "different patients" in allowed.stdout


def test_a_wrong_retest_file_names_its_line(folders, tmp_path):
    (tmp_path / "r.toml").write_text(RETEST.replace("sem = 0.05", "sem = 0"), "utf-8")
    done = start("course", *folders, "--retest", tmp_path / "r.toml")
    assert done.exit_code == 2
    assert "r.toml, line 14" in done.stderr


def test_retests_are_built_from_pairs_and_used(tmp_path, folders):
    pairs = []
    for number in range(12):
        gain = 0.8 + 0.01 * number
        for day, change in (("2026-01-02", 0.0), ("2026-01-09", 0.01 * (-1) ** number)):
            name = f"p{number}-{day}"
            pairs.append(folder(tmp_path, name, day, round(gain + change, 3), f"S{number}"))
    file = tmp_path / "retest.toml"
    done = start("course", "--build-retest", *pairs, "-o", file, "--source", "Dr X, 2026")
    assert done.exit_code == 0
    assert "12 pairs of sessions" in done.stdout
    assert "Dr X, 2026" in file.read_text("utf-8")
    judged = start("course", *folders, "--retest", file)
    assert "real change" in judged.stdout


def test_building_retests_needs_a_place_and_enough_pairs(folders, tmp_path):
    assert "-o retest.toml" in start("course", "--build-retest", *folders).stderr
    done = start("course", "--build-retest", *folders, "-o", tmp_path / "r.toml")
    assert "too_few_pairs" in done.stderr
    assert not (tmp_path / "r.toml").exists()


@pytest.mark.parametrize("name", COURSES)
def test_the_demo_courses_are_plainly_invented_and_in_order(name):
    table = demo_table(name)
    days = [visit["session"]["date"] for visit in visits(table)]
    assert days == sorted(days)
    assert len(days) >= 3
    assert table["patient"]["code"].startswith("DEMO-")
    assert "invented" in table["session"]["indication"]


def test_the_retests_of_the_demo_are_plainly_invented():
    retest = parse_retest(demo_retest_text(), "retest.toml")
    assert "invented" in retest.source
    assert "not for patients" in retest.source
    assert retest.n_pairs == 40
