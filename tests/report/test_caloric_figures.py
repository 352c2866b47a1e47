"""Pictures of calorics: what they hold, in words and marks, and that they are always the same."""

from dataclasses import replace
from datetime import date

import pytest
from irrigations import irrigation

from slowphase.analysis.run import analyze
from slowphase.analysis.settings import Settings
from slowphase.recording.session import Patient, Session
from slowphase.recording.trial import Trial
from slowphase.report.caloric_figure import caloric_figure, calorics_figure
from slowphase.report.page import render_page
from slowphase.report.terminal import terminal_view


def session(*trials):
    return Session(Patient("invented", 50.0, "unknown"), date(2026, 1, 15), trials)


@pytest.fixture(scope="module")
def found():
    """The two warm irrigations, recorded, and the cool ones, typed."""
    right, _ = irrigation(-12.0, spontaneous_deg_s=2.0, fixation=(80.0, 90.0))
    left, _ = irrigation(24.0, spontaneous_deg_s=2.0, ear="left", seed=1)
    values = {"test": "caloric", "right_cool": 10.0, "left_cool": 22.0}
    typed = Trial("typed", "values", stimulus=values)
    return analyze(session(right, left, typed))


def test_the_picture_of_an_irrigation_says_ear_temperature_and_peak(found):
    svg = caloric_figure(found.trials[0])
    assert 'role="img"' in svg
    assert "R ear, warm, 44 °C, water" in svg
    for row in ("irrigation", "fixation", "quick phases R", "strongest 10 s"):
        assert row in svg
    assert svg == caloric_figure(found.trials[0])


def test_the_picture_names_warm_and_cool_by_the_body_temperature_that_the_measures_took():
    one, _ = irrigation(12.0, temperature_c=40.0)
    settings = Settings()
    own = replace(settings.measures.battery.caloric, body_c=43.0)
    battery = replace(settings.measures.battery, caloric=own)
    feverish = replace(settings, measures=replace(settings.measures, battery=battery))
    assert "R ear, warm, 40 °C" in caloric_figure(analyze(session(one)).trials[0])
    found = analyze(session(one), settings=feverish).trials[0]
    assert "R ear, cool, 40 °C" in caloric_figure(found)


def test_the_picture_of_all_tells_ears_by_letter_and_recorded_ones_alone(found):
    svg = calorics_figure(found.groups[0], found)
    assert svg.index("L ear") < svg.rindex("R ear")
    assert svg.count("warm 44 °C") == 2
    assert "cool" not in svg
    assert "nan" not in svg


def test_typed_calorics_alone_have_no_picture():
    values = dict.fromkeys(("right_warm", "right_cool", "left_warm", "left_cool"), 20.0)
    typed = Trial("typed", "values", stimulus={"test": "caloric", **values})
    analysis = analyze(session(typed))
    assert calorics_figure(analysis.groups[0], analysis) is None
    assert "Calorics together" in render_page(analysis)


def test_an_irrigation_that_shows_nothing_has_no_picture(found):
    assert caloric_figure(replace(found.trials[0], evidence=None)) is None


def test_page_and_terminal_show_the_group_with_its_cautions(found):
    import io

    from rich.console import Console

    page = render_page(found)
    assert "No water where the drum is perforated" in page
    assert "strongest ten seconds" in page
    stream = io.StringIO()
    Console(file=stream, width=80).print(terminal_view(found))
    assert "unilateral weakness (R weaker negative)" in stream.getvalue()
