"""Edits applied: what each changes in the numbers, and that the recording stays as it came."""

import numpy as np
import pytest

import slowphase
from slowphase.analysis.desk import Desk
from slowphase.edits import Edits, apply
from slowphase.eye.trace import UNUSED_REASONS
from tests.edits.session import SIGNED, made_session

NOW = {"by": "R. Doe", "at": "2026-03-02T14:06:00+01:00"}


@pytest.fixture(scope="module")
def session():
    return made_session()


@pytest.fixture(scope="module")
def desk(session):
    return Desk(session)


def edit(kind, trial="sin-0.1", edits=None, **values):
    return (edits or Edits()).with_edit(kind, trial, **values, **SIGNED)


def value(analysis, id_):
    return next(m for m in analysis.measures() if m.id == id_)


def test_without_edits_the_desk_says_what_the_analysis_says(session, desk):
    assert desk.analyze(Edits()).to_json() == slowphase.analyze(session).to_json()


EDITS = {
    "exclude": edit("exclude", start_s=10.0, stop_s=18.0),
    "quick_phase": edit("quick_phase", "rest", start_s=5.0, stop_s=5.1),
    "no_quick_phase": edit("no_quick_phase", "rest", at_s=4.0),
    "eye": edit("eye", eye="left"),
    "calibration": edit("calibration", None, eye="both", plane="horizontal", gain=1.2),
    "stimulus": edit("stimulus", key="peak_velocity_deg_s", value=58.0),
    "set_aside": edit("set_aside"),
}


@pytest.mark.parametrize("kind", EDITS)
def test_one_more_edit_at_the_desk_gives_the_analysis_of_the_whole_bit_for_bit(session, desk, kind):
    at_the_desk = desk.analyze(EDITS[kind])
    assert at_the_desk.problems == ()
    assert at_the_desk.to_json() == slowphase.analyze(session, edits=EDITS[kind]).to_json()


def test_edits_in_any_order_of_trying_give_the_same(session):
    desk = Desk(session)
    both = edit("set_aside", "rest", edits=EDITS["exclude"])
    for tried in (both, Edits(), EDITS["exclude"], both.undo(**NOW), both):
        assert desk.analyze(tried).to_json() == slowphase.analyze(session, edits=tried).to_json()


def test_only_the_edited_trial_is_measured_anew(session):
    desk, heard = Desk(session), []
    desk.analyze(Edits())
    desk.analyze(EDITS["exclude"], progress=heard.append)
    assert heard == ["sin-0.1"]
    heard.clear()
    desk.analyze(EDITS["exclude"].undo(**NOW), progress=heard.append)
    assert heard == []


def test_the_recording_stays_as_it_came(session):
    before = session.trials[0].recording.channels["eye_h_right"].copy()
    for edits in EDITS.values():
        apply(session, edits)
    assert np.array_equal(before, session.trials[0].recording.channels["eye_h_right"])


def test_what_no_edit_touches_is_the_same_object(session):
    assert apply(session, EDITS["exclude"]).trials[1] is session.trials[1]


def test_excluded_samples_are_not_used_and_say_so(desk):
    trial = desk.analyze(EDITS["exclude"]).trials[0]
    trace = trial.evidence.horizontal
    inside = (trace.time_s >= 10.0) & (trace.time_s < 18.0)
    assert np.all(trace.use[inside] == UNUSED_REASONS.index("excluded"))
    assert not np.any(trace.use[~inside] == UNUSED_REASONS.index("excluded"))
    assert "edited_by_hand" in trial.measures[0].why


def test_what_is_excluded_no_longer_decides(session):
    # a stretch in which the eye was still: without it the gain is that of the rest, 0.6
    from dataclasses import replace

    first = session.trials[0]
    eye = {n: c.copy() for n, c in first.recording.channels.items()}
    for channel in eye.values():
        channel[2500:5000] = channel[2500]
    spoilt = replace(first, recording=replace(first.recording, channels=eye))
    bad = replace(session, trials=(spoilt, session.trials[1]))
    edits = edit("exclude", start_s=9.9, stop_s=20.1)
    mended = value(slowphase.analyze(bad, edits=edits), "sin-0.1/gain")
    assert mended.value == pytest.approx(0.6, abs=0.01)


def test_a_refused_quick_phase_is_gone_and_an_added_one_is_there(desk):
    found = desk.analyze(Edits()).trials[1].evidence.horizontal.quick_phases
    middle = float((found.onset_s[3] + found.offset_s[3]) / 2)
    less = desk.analyze(edit("no_quick_phase", "rest", at_s=middle)).trials[1]
    left = less.evidence.horizontal.quick_phases
    assert len(left) == len(found) - 1
    assert not np.any((left.onset_s <= middle) & (middle <= left.offset_s))
    start = float(found.offset_s[3]) + 0.2
    more = desk.analyze(edit("quick_phase", "rest", start_s=start, stop_s=start + 0.04)).trials[1]
    there = more.evidence.horizontal.quick_phases
    assert len(there) == len(found) + 1
    assert np.any(np.abs(there.onset_s - start) < 0.01)


def test_a_calibration_scales_the_gain(desk):
    before, after = desk.analyze(Edits()), desk.analyze(EDITS["calibration"])
    ratio = value(after, "sin-0.1/gain").value / value(before, "sin-0.1/gain").value
    assert ratio == pytest.approx(1.2, rel=0.003)
    assert "calibrated_by_hand" in value(after, "sin-0.1/gain").why


def test_a_trial_set_aside_keeps_its_place_with_the_reason(desk):
    trial = desk.analyze(EDITS["set_aside"]).trials[0]
    assert (trial.id, trial.outcome, trial.reason) == ("sin-0.1", "set aside", "talked")
    assert all(m.value is None and m.why == ("set_aside",) for m in trial.measures)


@pytest.mark.parametrize(
    ("edits", "words"),
    [
        (edit("set_aside", "sin-9"), "there is no such trial"),
        (edit("exclude", start_s=100.0, stop_s=120.0), "outside the recording"),
        (edit("stimulus", key="colour", value=1), "is no key of a sinusoid"),
        (edit("stimulus", key="frequency_hz", value="fast"), "frequency_hz is"),
        (edit("stimulus", key="frequency_hz", value=0.4), "a head moving at 0.1 Hz"),
        (edit("calibration", eye="left", plane="vertical", gain=1.1), "no vertical channel"),
    ],
)
def test_an_edit_that_does_not_fit_is_left_out_and_named(session, edits, words):
    changed = apply(session, edits)
    (problem,) = changed.problems
    assert problem.code == "edit_does_not_fit"
    assert words in problem.message
    assert changed.trials == session.trials


def test_the_document_holds_the_log(desk):
    edits = EDITS["exclude"].undo(**NOW)
    told = desk.analyze(edits).to_document()
    assert [(e["kind"], e["holds"]) for e in told["edits"]] == [
        ("exclude", False),
        ("take_back", False),
    ]
    assert told["software"]["edits_digest"] == Edits().digest()
