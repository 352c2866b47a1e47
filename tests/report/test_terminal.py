"""The summary on a terminal: golden text, 80 columns, no need of colour."""

import os
from dataclasses import replace
from pathlib import Path

import pytest
from rich.console import Console

from slowphase.cli.writing import summary_text
from slowphase.report.terminal import terminal_view

GOLDEN = Path(__file__).parent / "golden"


@pytest.mark.parametrize("case", ["full", "empty", "bad"])
def test_the_text_is_as_it_was_approved(analysis, case):
    """Set SLOWPHASE_APPROVE=1 to write the texts anew, then read what changed."""
    shown = {
        "full": analysis,
        "empty": replace(analysis, trials=(), pairs=(), statements=(), problems=(), placements={}),
        "bad": replace(
            analysis,
            trials=tuple(t for t in analysis.trials if t.outcome == "not done"),
            pairs=(),
            statements=(),
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
    console = Console(width=400, color_system=None)
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
    assert any(line.startswith("● Spontaneous") and "holds" in line for line in lines)
    assert any(line.startswith("○ Poor suppression") and "does not hold" in line for line in lines)
