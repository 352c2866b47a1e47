"""Files of retests and events: strict, every mistake with its line; what was built comes back."""

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest
from made_course import DAYS, session

from slowphase.course.events import parse_events
from slowphase.course.retest_build import LEAST_PAIRS, build_retest, paired
from slowphase.course.retest_file import parse_retest, read_retest, retest_text
from slowphase.foundation.errors import InputError

HEAD = '[retest]\nsource = "own"\nmark = "local"\n'
GAIN = '[[measure]]\nlevel = "trial"\nkind = "sinusoid"\nname = "gain"\nunit = "1"\n'


def pairs(count=12, seed=1):
    rng = np.random.default_rng(seed)
    for number in range(count):
        usual = 0.5 + 0.1 * rng.standard_normal(4)
        for day in (0, 7):
            gains = tuple(usual + 0.05 * rng.standard_normal(4))
            yield session(DAYS[0] + timedelta(day), gains, code=f"S{number}",
                          constant=15 + rng.standard_normal())  # fmt: skip


def test_what_is_built_is_what_numpy_finds_and_comes_back_from_its_file():
    built = build_retest(pairs(), source="own retests").retest
    sessions = list(pairs())
    gains = np.array([s.trials[0].measures[0].value for s in sessions]).reshape(-1, 2)
    entry = built.entries[0]
    assert entry.key.number("frequency_hz") == 0.01
    assert entry.sd_difference == pytest.approx(np.std(gains[:, 1] - gains[:, 0], ddof=1))
    assert entry.effect == pytest.approx(np.mean(gains[:, 1] - gains[:, 0]))
    assert entry.n == 12
    assert entry.measurement_error == pytest.approx(0.01 / 1.959964)
    assert entry.mdc95 == pytest.approx(1.96 * entry.sd_difference, rel=1e-4)
    assert (built.n_pairs, built.days_apart) == (12, 7.0)
    again = parse_retest(retest_text(built), "retest.toml")
    assert [e.key for e in again.entries] == [e.key for e in built.entries]
    assert again.entries[0].sd_difference == pytest.approx(entry.sd_difference, rel=1e-5)
    assert again.entries[0].icc == pytest.approx(entry.icc, rel=1e-5)
    assert np.allclose(again.correlation, built.correlation, atol=6e-4)
    assert again.settings_digest == "settings"


def test_a_measure_of_few_pairs_is_named_and_not_built():
    sessions = list(pairs())
    for at in range(6):
        sessions[at] = replace(sessions[at], trials=sessions[at].trials[:-2])
    built = build_retest(sessions, source="own")
    said = next(one for one in built.left_out if one.startswith("time constant"))
    assert "9 pairs" in said
    assert "lead, 0.01 Hz (never differs)" in built.left_out
    assert {e.key.name for e in built.retest.entries} == {"gain"}


def test_too_few_pairs_and_sessions_that_have_no_partner_are_said():
    with pytest.raises(InputError, match=f"{LEAST_PAIRS} pairs or more"):
        build_retest(pairs(5), source="own")
    found, problems = paired([*pairs(2), session(DAYS[0], code="ALONE"), session(None, code="S0")])
    assert len(found) == 2
    assert [p.code for p in problems] == ["session_not_paired", "session_not_paired"]
    assert "ALONE" in " ".join(p.message for p in problems)


@pytest.mark.parametrize(
    ("size", "sd"), [("sd_difference = 0.1", 0.1), ("sem = 0.1", 0.1414214), ("mdc95 = 0.196", 0.1)]
)
def test_a_published_size_of_any_kind_can_be_typed(size, sd):
    entry = parse_retest(f"{HEAD}{GAIN}{size}\n", "r.toml").entries[0]
    assert entry.sd_difference == pytest.approx(sd, rel=1e-4)
    assert entry.n is None


@pytest.mark.parametrize(
    "size", ["sem = 1e-300", "sem = 1e300", "mdc95 = inf", "sem = 1" + 400 * "0"]
)
def test_a_size_that_no_measure_has_is_refused(size):
    with pytest.raises(InputError, match="1e-09 to 1e") as caught:
        parse_retest(f"{HEAD}{GAIN}{size}\n", "r.toml")
    assert caught.value.problems[0].line == 9


@pytest.mark.parametrize(
    ("text", "line", "told"),
    [
        (GAIN.replace('"trial"', '"trail"'), 5, 'did you mean "trial"?'),
        (GAIN.replace('"gain"', '"gayn"'), 7, 'did you mean "gain"?'),
        (GAIN.replace('unit = "1"', 'unit = "%"'), 8, 'expected "1"'),
        (GAIN + "frequency_hz = -0.04\n", 9, "a number above 0"),
        (GAIN + "sem = 0.5\n" + GAIN, 13, "each measure once"),
    ],
)
def test_a_row_that_can_never_be_used_is_refused(text, line, told):
    with pytest.raises(InputError) as caught:
        parse_retest(f"{HEAD}{text}sem = 0.1\n", "r.toml")
    (problem,) = caught.value.problems
    assert problem.line == line
    assert told in problem.message


def test_what_is_from_memory_never_decides():
    text = HEAD.replace("local", "memory") + GAIN + "sem = 0.1\n"
    assert parse_retest(text, "r.toml").entries[0].illustration


@pytest.mark.parametrize(
    ("text", "line", "words"),
    [
        (HEAD + GAIN, 4, "exactly one of sd_difference, sem, mdc95"),
        (HEAD + GAIN + "sem = 0.1\nmdc95 = 0.2\n", 9, "exactly one"),
        (HEAD + GAIN + "sem = -0.1\n", 9, "above 0"),
        (HEAD + GAIN + "sem = 0.1\nn = 1\n", 10, "2 or more"),
        (HEAD + GAIN + "sem = 0.1\nicc = [0.5]\n", 10, "three numbers"),
        (HEAD + GAIN + "sem = 0.1\neffekt = 1\n", 10, "effect"),
        (HEAD.replace("local", "heard") + GAIN + "sem = 0.1\n", 3, "one of local"),
        (HEAD + GAIN.replace('kind = "sinusoid"\n', "") + "sem = 0.1\n", 4, "a text"),
        (HEAD + GAIN + "sem = 0.1\n[correlation]\nrows = [[2.0]]\n", 11, "symmetric"),
        (HEAD + "measure = 3\n", None, "at least one table"),
        ("[retest]\nsource = \n", None, "no TOML"),
    ],
)
def test_a_wrong_file_of_retests_is_one_error_with_the_line(text, line, words):
    with pytest.raises(InputError, match=words) as caught:
        parse_retest(text, "r.toml")
    problems = caught.value.problems
    assert line is None or line in [p.line for p in problems]
    assert all(p.file == "r.toml" and p.code == "invalid_course_file" for p in problems)


def test_events_are_read_by_date():
    text = ('[[event]]\ndate = 2026-03-02\nlabel = "b"\n'
            '[[event]]\ndate = 2026-01-02\nlabel = "a"\nkind = "dose"\n')  # fmt: skip
    events = parse_events(text, "events.toml")
    assert [(e.date, e.label, e.kind) for e in events] == [
        (date(2026, 1, 2), "a", "dose"),
        (date(2026, 3, 2), "b", "other"),
    ]


@pytest.mark.parametrize(
    ("text", "line", "words"),
    [
        ('[[event]]\ndate = "2026-03-02"\nlabel = "b"\n', 2, "without quotes"),
        ("[[event]]\ndate = 2026-03-02\n", 1, "a text"),
        ('[[event]]\ndate = 2026-03-02\nlabel = "b"\nkind = "pill"\n', 4, "dose"),
        ("[event]\n", 1, "at least one table"),
    ],
)
def test_a_wrong_event_is_one_error_with_the_line(text, line, words):
    with pytest.raises(InputError, match=words) as caught:
        parse_events(text, "events.toml")
    assert caught.value.problems[0].line == line


def test_a_file_that_is_not_there_is_said(tmp_path):
    with pytest.raises(InputError, match="cannot be read"):
        read_retest(tmp_path / "none.toml")
    (tmp_path / "x.toml").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(InputError, match="UTF-8"):
        read_retest(tmp_path / "x.toml")
