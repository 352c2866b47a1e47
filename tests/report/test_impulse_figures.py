"""Pictures of head impulses: what is drawn, said in words, and where the sides stand."""

import json
import re
from dataclasses import replace
from datetime import date

import pytest
from made_impulses import Made, measured, recording_of, series, trial_of

from slowphase.analysis.document import document_schema, events_document, to_document
from slowphase.analysis.run import analyze
from slowphase.measures.measure import Measure
from slowphase.reading.function import function_points
from slowphase.recording.session import Patient, Session
from slowphase.recording.trial import Trial
from slowphase.report.function_panel import ends_of
from slowphase.report.impulse_figure import impulse_figure, left_first
from slowphase.report.impulse_group_figure import impulse_group_figure, limits
from slowphase.report.kind_brief import BRIEF, brief
from slowphase.report.overview_figure import overview_figure
from slowphase.report.page import render_page

GIVEN = tuple(
    replace(one, saccades=((0.11, 3.0), (0.25, 2.5)) if one.side > 0 else ())
    for one in series(12, gains=(0.5, 0.95), seed=7)
)


@pytest.fixture(scope="module")
def result():
    return measured(recording_of(Made((*GIVEN[:-1], replace(GIVEN[-1], bounce=0.6)))))


@pytest.fixture(scope="module")
def analysis():
    typed = Trial(id="elsewhere", kind="values", stimulus={"test": "impulse",
                  "gain_right_anterior": 0.4, "gain_left_anterior": 0.8})  # fmt: skip
    trials = (trial_of(recording_of(Made(GIVEN))), typed)
    return analyze(Session(Patient("x", 50.0), date(2026, 3, 2), trials, {}, {}))


def test_the_left_panel_is_that_of_the_left_ear():
    assert left_first("lateral") == ("left lateral", "right lateral")
    assert left_first("RALP") == ("left posterior", "right anterior")
    assert left_first("LARP") == ("left anterior", "right posterior")


def test_the_picture_says_in_words_how_many_were_accepted(result):
    svg = impulse_figure(result)
    label = re.search(r'aria-label="([^"]*)"', svg)[1]
    assert "right and left eye" in label
    assert label.count("accepted") == 2
    assert re.search(r"[56] accepted, 1 refused", label)
    for letter in ("L", "R"):
        assert re.search(rf">\s*{letter} +(left|right) lateral", svg)


def test_the_same_impulses_give_the_same_picture(result):
    assert impulse_figure(result) == impulse_figure(result)


def test_without_impulses_there_is_no_picture(result):
    assert impulse_figure(replace(result, evidence=None)) is None
    blank = replace(result.evidence.own, impulses=())
    assert impulse_figure(replace(result, evidence=replace(result.evidence, own=blank))) is None


def test_the_page_shows_impulses_by_side_with_cautions_and_what_was_not_examined(analysis):
    page = render_page(analysis)
    assert "Head impulses together" in page
    assert "Head impulses turn the neck sharply" in page
    assert "Gain of head impulses by canal: left lateral 0.9" in page
    assert "not examined" in page
    assert "early saccades, latency, R lateral" in page
    assert "refused impulses faint" in page


def test_every_impulse_stands_in_the_side_file_with_its_reasons(result, analysis):
    trials = events_document(replace(analysis, trials=(result,)))["trials"]
    (entry,) = json.loads(json.dumps(trials, allow_nan=False))
    assert (entry["plane"], entry["eyes"]) == ("lateral", ["right", "left"])
    assert [one["refused"] for one in entry["impulses"]] == [[]] * 11 + [["impulse_bounced"]]
    right = next(one for one in entry["impulses"] if one["canal"] == "right lateral")
    assert right["gain"] == pytest.approx(0.5, abs=0.03)
    assert [s["early"] for s in right["saccades"] if s["corrects"]] == [True, False]


def test_the_document_of_impulses_follows_the_schema(analysis):
    import jsonschema

    document = to_document(analysis)
    jsonschema.validate(document, document_schema())
    (group,) = document["groups"]
    assert group["id"] == "impulse"
    assert group["trials"] == ["made", "elsewhere"]


def test_the_overview_shows_impulses_by_side_and_no_longer_says_that_there_are_none(analysis):
    import invented_analysis

    chair = invented_analysis.invented_analysis()
    assert "Impulses: not in this session" in overview_figure(chair)
    trials = (*chair.trials, *analysis.trials)
    both = replace(chair, function=function_points(trials, analysis.groups))
    svg = overview_figure(both)
    assert re.search(r"Impulses: (right 0\.[45]\d, left 0\.9\d|left 0\.9\d, right 0\.[45]\d)", svg)
    assert "Calorics: not in this session" in svg
    assert "impulses: not in this session" not in svg
    assert "calorics: not in this session" in svg


def test_the_terminal_names_gains_and_counts_and_leaves_the_rest_to_the_page(analysis):
    impulses, typed = analysis.trials
    assert {m.name for m in brief(impulses)} == set(BRIEF["impulse"])
    assert brief(typed) == list(typed.measures)


def test_no_gain_is_outside_the_axis_of_the_group():
    low = Measure("i/left lateral/gain", "gain", -0.2, -0.3, -0.1, "1", of="left lateral")
    high = replace(low, value=1.28, low=1.2, high=1.4, of="right lateral")
    assert limits([replace(low, value=0.9, low=None, high=None)]) == (0.0, 1.2)
    bottom, top = limits([low, high])
    assert bottom < -0.3
    assert top > 1.4


def test_gains_above_the_usual_axis_and_wrong_way_ones_leave_a_mark():
    keys = {"gain_right_lateral": 1.28, "gain_left_lateral": -0.15}
    typed = Trial(id="elsewhere", kind="values", stimulus={"test": "impulse", **keys})
    found = analyze(Session(Patient("x", 50.0), date(2026, 3, 2), (typed,), {}, {}))
    ends = []

    def seen(axes, side, known, analysis, limits):
        ends.append(limits)

    svg = impulse_group_figure(found.groups[0], found)
    assert "right lateral 1.28" in svg
    assert "left lateral -0.15" in svg
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("slowphase.report.impulse_group_figure._draw_side", seen)
        impulse_group_figure(found.groups[0], found)
    assert all(low < -0.15 and high > 1.28 for low, high in ends)
    assert len(ends) == 2
    low, high = ends_of(found.function)
    assert low < min(p.share for p in found.function) < 0.0
    assert high > max(p.share for p in found.function)


def test_the_table_has_a_row_for_every_measure_of_a_group(analysis):
    table = analysis.to_polars()
    assert table["id"].to_list() == [m.id for m in analysis.measures()]
    own = table.filter(table["id"] == "impulse/lateral/asymmetry").row(0, named=True)
    assert (own["kind"], own["trial"]) == ("impulse", "~".join(analysis.groups[0].trials))
