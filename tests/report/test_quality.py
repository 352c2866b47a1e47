"""The quality of a trial and what the trials do not agree in, as a reader meets them."""

import io
from dataclasses import replace

import pytest
from rich.console import Console

from slowphase.measures.result import Quality
from slowphase.reading.coherence import Incoherence
from slowphase.report.labels import incoherence_text, quality_text
from slowphase.report.page import render_page
from slowphase.report.terminal import terminal_view

LAG = Incoherence("clock_lag", -32.4, -38.0, -26.8, "ms", 15.0, ("sin-0.16", "sin-0.64"))
GOOD = Quality(
    91.0,
    "sound",
    noise_deg=0.05,
    smallest_quick_phase_deg=0.42,
    quick_phases_per_s=2.13,
    quick_phase_speed=1.03,
    eye_gain_difference=-0.012,
    roving_deg_s=0.0,
    strength_change=0.0,
)


def shown(analysis):
    console = Console(width=80, record=True, color_system=None, file=io.StringIO())
    console.print(terminal_view(analysis))
    return console.export_text()


def test_the_numbers_of_quality_stand_in_one_line():
    text = quality_text(GOOD)
    assert text == (
        "noise 0.05 deg, quick phases seen from 0.4 deg, 2.1 of them a second, "
        "their speed 1.03 of the main sequence, gain of the eyes apart by -1.2%"
    )


def test_what_was_not_found_is_not_told():
    assert quality_text(Quality(90.0, "sound")) == ""
    assert "roving at 3.2 deg/s" in quality_text(replace(GOOD, roving_deg_s=3.2))
    assert "strength jumps by -15%" in quality_text(replace(GOOD, strength_change=-0.151))


def test_a_finding_is_told_with_its_number_its_limit_and_whom_it_concerns():
    text = incoherence_text(LAG)
    assert "clocks do not agree" in text
    assert "\u221232" in text
    assert "15" in text
    assert text.endswith("concerns sin-0.16, sin-0.64.")


@pytest.mark.parametrize("show", [render_page, shown])
def test_page_and_terminal_say_where_the_trials_do_not_agree_only_if_they_do_not(analysis, show):
    heading = "Where the trials do not agree"
    assert heading not in show(analysis)
    assert heading in show(replace(analysis, incoherences=(LAG,)))


def test_the_page_shows_the_numbers_of_quality_above_the_trial(analysis):
    first, *others = analysis.trials
    page = render_page(replace(analysis, trials=(replace(first, quality=GOOD), *others)))
    assert "noise 0.05 deg, quick phases seen from 0.4 deg" in page
