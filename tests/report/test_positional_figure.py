"""The picture of one position."""

from dataclasses import replace
from datetime import date

from slowphase.analysis.run import analyze
from slowphase.cli.simulated_session import session_from
from slowphase.physiology.person import Person
from slowphase.physiology.positional import Positional
from slowphase.physiology.protocol import positional
from slowphase.physiology.recorder import Equipment
from slowphase.physiology.simulate import simulate
from slowphase.recording.session import Patient
from slowphase.report.page import render_page
from slowphase.report.positional_figure import positional_figure


def test_the_picture_shows_every_plane_and_the_page_its_cautions():
    plans = positional("right"), positional("right", rising=True)
    trials = simulate(Person(positional=Positional(right=1.0)), plans, Equipment(), seed=1)
    session = session_from(trials, Patient("invented", 50.0, "unknown"), date(2026, 1, 15))
    found = analyze(session)
    svg = positional_figure(found.trials[0])
    for plane in ("vertical", "torsional", "horizontal"):
        assert f">{plane}<" in svg
    assert "right, head hanging" in svg
    assert svg == positional_figure(found.trials[0])
    page = render_page(found)
    assert "Before any positioning ask for the neck" in page
    assert "On sitting up the nystagmus turns to the other side." in page
    assert positional_figure(replace(found.trials[0], evidence=None)) is None
