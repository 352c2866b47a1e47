"""The picture of gaze positions."""

from datetime import date

import pytest
from gazes import looking

from slowphase.analysis.run import analyze
from slowphase.recording.session import Patient, Session
from slowphase.report.gaze_figure import gaze_figure
from slowphase.report.page import render_page


@pytest.fixture(scope="module")
def found():
    trials = (
        looking(20.0, leak=0.15, seed=1),
        looking(-20.0, leak=0.15, seed=2),
        looking(20.0, leak=0.01, seed=3, vision="light"),
        looking(-15.0, leak=0.1, plane="v", seed=4, direction="down"),
    )
    return analyze(Session(Patient("invented", 50.0, "unknown"), date(2026, 1, 15), trials))


def test_every_position_is_in_the_picture_and_its_words(found):
    svg = gaze_figure(found.groups[0], found)
    assert "horizontal right (dark)" in svg
    assert "horizontal right (light)" in svg
    assert "vertical down (dark)" in svg
    assert svg == gaze_figure(found.groups[0], found)


def test_the_page_names_the_law_and_its_caution(found):
    page = render_page(found)
    assert "gaze-evoked nystagmus" in page
    assert "the local acute pathway at once" in page
