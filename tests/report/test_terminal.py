"""The summary on a terminal: golden text, 80 columns, no need of colour."""

import os
from dataclasses import replace
from pathlib import Path

import pytest
from rich.console import Console

from slowphase.analysis.result import NO_PATTERNS, NO_SUMMARY
from slowphase.cli.writing import summary_text
from slowphase.report.terminal import terminal_view

GOLDEN = Path(__file__).parent / "golden"
NOTHING_READ = {
    "statements": (),
    "patterns": NO_PATTERNS,
    "criteria": (),
    "summary": NO_SUMMARY,
}


@pytest.mark.parametrize("case", ["full", "empty", "bad"])
def test_the_text_is_as_it_was_approved(analysis, case):
    """Set SLOWPHASE_APPROVE=1 to write the texts anew, then read what changed."""
    shown = {
        "full": analysis,
        "empty": replace(analysis, trials=(), pairs=(), problems=(), placements={}, **NOTHING_READ),
        "bad": replace(
            analysis,
            **NOTHING_READ,
            trials=tuple(t for t in analysis.trials if t.outcome == "not done"),
            pairs=(),
            placements={},
            date=None,
            patient=replace(analysis.patient, age_years=None),
        ),
    }[case]
    file = GOLDEN / f"{case}.txt"
    text = summary_text(shown)
    if os.environ.get("SLOWPHASE_APPROVE"):
        file.write_text(text, encoding="utf-8")
    assert text == file.read_text(encoding="utf-8")


def test_no_line_is_wider_than_80_columns(analysis):
    assert max(len(line) for line in summary_text(analysis).splitlines()) <= 80


def test_nothing_is_cut_off(analysis):
    text = summary_text(analysis)
    assert "…" not in text
    assert text.count("(") == text.count(")")


def test_every_statement_problem_and_caution_is_there(analysis):
    console = Console(width=1000, color_system=None)
    with console.capture() as captured:
        console.print(terminal_view(analysis))
    text = captured.get()
    for statement in analysis.statements:
        assert statement.text in text
        assert all(caution in text for caution in statement.cautions)
    assert analysis.problems[0].message in text
    assert "not a medical device" in text
    assert "nausea" in text


def test_verdicts_can_be_told_apart_without_colour(analysis):
    lines = summary_text(analysis).splitlines()
    assert any(line.startswith("● Horizontal spontaneous") and "found" in line for line in lines)
    assert any(line.startswith("○ Suppression by") and "as expected" in line for line in lines)


def test_a_caution_is_shown_with_every_statement_that_has_it(analysis):
    text = " ".join(summary_text(analysis).split())
    for caution in {c for s in analysis.statements for c in s.cautions}:
        carriers = sum(caution in s.cautions for s in analysis.statements)
        assert text.count(" ".join(caution.split())) >= carriers


def test_an_unusable_number_carries_the_star_and_no_interval(analysis):
    pairs = tuple(
        replace(p, measures=tuple(replace(m, grade="unusable") for m in p.measures))
        for p in analysis.pairs
        if p.kind == "suppression"
    )
    text = summary_text(replace(analysis, pairs=pairs))
    line = next(row for row in text.splitlines() if "modulated part" in row and "~" in row)
    assert "90 %*" in line
    assert "88" not in line


def test_the_reference_sets_in_use_are_named(analysis):
    assert "yu-2022 (n = 18, stimulus not stated)" in summary_text(analysis)


def test_half_gains_and_asymmetry_are_in_the_table(analysis):
    text = summary_text(analysis)
    assert "half gain R" in text
    assert "0.34 (0.31–0.37)" in text  # 1.12 · 0.30 as invented


def test_only_reasons_of_numbers_that_are_shown_are_listed(analysis):
    # the invented sinusoids carry gaze_unknown on the gaze slope, which the tables do not show
    assert "gaze_unknown" not in summary_text(analysis)


def test_conditions_carry_their_units_and_an_unknown_sex_is_called_so(analysis):
    patient = replace(analysis.patient, sex="unknown")
    shown = summary_text(replace(analysis, patient=patient, conditions={"head_pitch_deg": 30.0}))
    assert "sex unknown" in shown
    assert "Head pitch 30 deg" in shown


def test_each_standing_caution_is_said_once(analysis):
    text = " ".join(summary_text(analysis).split())
    assert text.count("not a medical device") == 1
    assert text.count("harness, stop on request") == 1
