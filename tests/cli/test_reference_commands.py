"""`slowphase reference`: list, build, verify, from tables and from folders of sessions."""

import tomllib

import numpy as np
import pytest
from command_line import start

COLUMNS = """
[columns."sin-0.02/gain"]
measure = "gain"
kind = "sinusoid"
unit = "1"
vision = "dark"
definition = "steady_state"
frequency_hz = 0.02
peak_velocity_deg_s = 60
"""
HEADER = "person,age_years,sex,date,sin-0.02/gain"


def table(folder, count=30, header=HEADER, rows=None, columns=COLUMNS):
    rng = np.random.default_rng(1)
    made = [
        f"H{i:02d},{25 + i},{'female' if i % 2 else 'male'},2026-01-{1 + i % 28:02d},{g:.4f}"
        for i, g in enumerate(rng.normal(0.47, 0.16, count))
    ]
    (folder / "healthy.csv").write_text("\n".join([header, *(rows or made)]) + "\n", "utf-8")
    (folder / "healthy.toml").write_text(columns, encoding="utf-8")
    return folder / "healthy.csv"


def test_a_table_becomes_a_set_that_the_analysis_can_use(tmp_path):
    own = tmp_path / "own.toml"
    page = tmp_path / "own.html"
    done = start("reference", "build", table(tmp_path), "-o", own, "--page", page)
    assert done.exit_code == 0
    assert "robust method" in done.stdout
    made = tomllib.loads(own.read_text("utf-8"))
    assert (made["set"]["id"], made["set"]["mark"]) == ("own", "local")
    assert made["entry"][0]["groups"][0]["n"] == 30
    assert "<svg" in page.read_text("utf-8")
    listed = start("reference", "list", "--references", own)
    assert "own: sinusoid gain" in listed.stdout
    assert "(2.5–97.5 %)" in listed.stdout


def test_the_environment_names_the_clinic_s_sets_too(tmp_path, monkeypatch):
    own = tmp_path / "own.toml"
    start("reference", "build", table(tmp_path), "-o", own)
    monkeypatch.setenv("SLOWPHASE_REFERENCES", str(own))
    assert "own: sinusoid gain" in start("references").stdout


def test_a_shipped_set_is_verified_with_a_table(tmp_path):
    done = start("reference", "verify", "su-2000", table(tmp_path))
    assert "of 20 outside: accepted" in done.stdout
    assert "not judged: fewer than 20 people" in done.stdout  # its other frequencies
    assert "from memory" in done.stdout


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ({"header": HEADER.replace("person", "name")}, "no such column"),
        ({"header": HEADER + ",extra", "rows": ["H1,40,male,2026-01-01,0.5,1"]}, "nothing says"),
        ({"rows": ["H1,forty,male,2026-01-01,0.5"]}, 'line 2, key "age_years"'),
        ({"rows": ["H1,40,m,2026-01-01,0.5"]}, "one of female"),
        ({"rows": ["H1,40,male,yesterday,0.5"]}, "a day such as"),
        ({"columns": COLUMNS.replace("kind", "sort")}, "kind is missing"),
        ({"columns": COLUMNS.replace("0.02\npeak", '"x"\npeak')}, "frequency_hz"),
        (
            {"columns": COLUMNS + '[columns.other]\nmeasure="gain"\nkind="step"\nunit="1"\n'},
            "no such",
        ),
        ({"columns": COLUMNS.replace('"gain"', '"gayn"')}, 'did you mean "gain"?'),
        ({"columns": COLUMNS.replace('"1"', '"bananas"')}, 'no measure has unit "bananas"'),
        ({"columns": COLUMNS.replace("0.02\npeak", "-0.02\npeak")}, "a number above 0"),
        ({"columns": COLUMNS + "[notes]\n"}, '"notes" is not known'),
        ({"columns": "x ="}, "not valid TOML"),
        ({"columns": "columns = 5"}, 'a table [columns."NAME"]'),
        ({"columns": "[[columns]]\nx = 1"}, 'a table [columns."NAME"]'),
        ({"rows": ["H1,-4,male,2026-01-01,0.5"]}, "an age from 0 to 130"),
        ({"rows": ["H1,40,male"]}, "line 2: found 3 cells; expected 5"),
        ({"rows": ["H1,40,male,,0.5", "h 1,40,male,,0.6"]}, '"h 1" is "H1" of line 2 but for case'),
        ({"rows": ["H1,40,male,,"]}, "nothing was written"),
    ],
)
def test_a_wrong_table_is_refused_with_the_place(tmp_path, words, told):
    done = start("reference", "build", table(tmp_path, **words), "-o", tmp_path / "own.toml")
    assert done.exit_code == 2
    assert told in done.stderr
    assert not (tmp_path / "own.toml").exists()


def test_one_bad_cell_is_named_alone(tmp_path):
    rows = [f"H{i},{20 + i},male,,0.5{i}" for i in range(30)]
    rows[3] = "H3,23,male,,n/a"
    done = start("reference", "build", table(tmp_path, rows=rows), "-o", tmp_path / "own.toml")
    assert done.stderr.count('found "n/a"') == done.stderr.count("line ") == 1
    assert 'healthy.csv, line 5, key "sin-0.02/gain"' in done.stderr


@pytest.mark.parametrize("years", ["nan", "-4", "0", "49.5", "x", "400"])
def test_an_age_split_that_is_no_age_is_refused(tmp_path, years):
    own = tmp_path / "own.toml"
    done = start("reference", "build", table(tmp_path), "-o", own, f"--age-split={years}")
    assert done.exit_code == 2
    assert "expected whole years" in done.stderr
    assert not own.exists()


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("reference", "verify", "nobody-1999", "x.csv"), "there is no set"),
        (("reference", "build", "nowhere", "-o", "own.toml"), "no session folder"),
        (("reference", "list", "--references", "nowhere"), "no reference set is there"),
    ],
)
def test_a_wrong_call_is_one_clear_line(tmp_path, monkeypatch, words, told):
    monkeypatch.chdir(tmp_path)
    done = start(*words)
    assert done.exit_code == 2
    assert told in done.stderr
    assert "Traceback" not in done.stderr


def test_folders_of_sessions_are_measured_and_a_bad_one_is_named(tmp_path):
    start("simulate", "healthy-young", "-o", tmp_path / "group" / "a")
    bad = tmp_path / "group" / "b"
    bad.mkdir()
    (bad / "session.toml").write_text("schema = 9\n", encoding="utf-8")
    done = start("reference", "build", tmp_path / "group", "-o", tmp_path / "own.toml")
    assert done.exit_code == 1
    assert "unknown_schema" in done.stderr
    made = tomllib.loads((tmp_path / "own.toml").read_text("utf-8"))
    gains = [e for e in made["entry"] if e["measure"] == "gain" and e["kind"] == "sinusoid"]
    assert len({e["frequency_hz"] for e in gains}) > 3
    assert all("fewer than 20" in e["not_placed"] for e in gains)
