"""Function across frequency: shares of one yardstick, and where its two ends part ways."""

from dataclasses import replace

import control
import numpy as np
import pytest

import slowphase
from slowphase.cli.simulated_session import session_from
from slowphase.measures.measure import Measure
from slowphase.measures.result import GroupResult
from slowphase.physiology.scenario import run, scenario_from
from slowphase.reading.function import FunctionPoint, Healthy, function_points, model_gain
from slowphase.reading.parting_ways import parting_ways
from slowphase.recording.session import Patient

HEALTHY = Healthy(1.0, "chosen for this test", "practice")


def point(test, frequency_hz, share, *, side=None, half=0.02):
    return FunctionPoint(
        test=test, frequency_hz=frequency_hz, side=side, exciting=False, measure=test,
        value=share, unit="1", share=share, low=share - half, high=share + half,
        healthy=HEALTHY, grade="sound",
    )  # fmt: skip


def group(kind, name, unit, **by_of):
    measures = tuple(
        Measure(f"{kind}/{of}/{name}", name, value, value - 1e-3, value + 1e-3, unit, of=of)
        for of, value in by_of.items()
    )
    return GroupResult(kind, kind, ("a", "b"), measures)


@pytest.fixture(scope="module")
def analysis():
    """A healthy reflex of gain 0.6, 20 s and adaptation of 175 s, without nystagmus."""
    side = {"gain": 0.6, "dynamics": {"decay_s": 20.0, "adaptation_s": 175.0}}
    person = {"reflex": {"right": side, "left": side}}
    trials = run(scenario_from({"seed": 3, "person": person}))
    return slowphase.analyze(session_from(trials, Patient(code="X"), None))


@pytest.mark.parametrize("frequency", [0.01, 0.04, 0.64])
def test_the_lowest_healthy_gain_is_that_of_the_model_by_python_control(frequency):
    """0.20 (Su et al. 2000: 0.53 − 1.96·0.17) times |s²·T·Ta/((1+sT)(1+sTa))|, T 13.3, Ta 175 s."""
    s = control.tf("s")
    transfer = s**2 * 13.3 * 175 / ((1 + 13.3 * s) * (1 + 175 * s))
    expected = 0.20 * abs(transfer(2j * np.pi * frequency))
    assert model_gain(frequency).lowest == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize("frequency", [0.01, 0.64])
def test_the_healthy_range_ends_at_the_model_s_upper_ends_by_python_control(frequency):
    """0.87 (0.53 + 1.96·0.17) with T 25.9 s, and 0.62 with 20 s in the middle; Ta 175 s."""
    s = control.tf("s")
    known = model_gain(frequency)
    for found, gain, decay in ((known.highest, 0.87, 25.9), (known.middle, 0.62, 20.0)):
        transfer = s**2 * decay * 175 / ((1 + decay * s) * (1 + 175 * s))
        assert found == pytest.approx(gain * abs(transfer(2j * np.pi * frequency)), rel=1e-9)


def test_the_healthy_stand_in_the_middle_of_their_range_and_calorics_have_none(analysis):
    for p in analysis.function:
        middle, highest = p.healthy_share
        assert 1.0 < middle < highest
        assert p.share == pytest.approx(middle, rel=0.12)
    (ear,) = function_points((), (group("caloric", "total", "deg/s", **{"right ear": 50.0}),))
    assert ear.healthy_share is None


def test_every_dark_sinusoid_and_step_response_has_its_points(analysis):
    tests = [p.test for p in analysis.function]
    assert tests.count("sinusoid") == 7 * 3
    assert tests.count("step") == 4
    assert [p.frequency_hz for p in analysis.function] == sorted(
        p.frequency_hz for p in analysis.function
    )


def test_a_share_is_the_value_over_the_lowest_and_so_is_its_interval(analysis):
    measures = {m.id: m for m in analysis.measures()}
    for p in analysis.function:
        measure = measures[p.measure]
        assert p.share == measure.value / p.healthy.lowest
        assert p.low == measure.low / p.healthy.lowest
        assert p.high == measure.high / p.healthy.lowest


def test_chair_values_by_side_are_only_those_of_an_exciting_direction(analysis):
    for p in analysis.function:
        assert p.exciting == (p.side is not None)


def test_calorics_by_ear_and_impulses_by_side_stand_at_the_ends_of_the_axis(analysis):
    caloric = group("caloric", "total", "deg/s", **{"right ear": 10.0, "left ear": 50.0})
    gains = group("impulse", "gain", "1", **{"right lateral": 0.4, "left lateral": 1.0,
                                             "right anterior": 0.9})  # fmt: skip
    impulses = replace(analysis.trials[0], id="hit", kind="impulse", measures=gains.measures)
    groups = (caloric, GroupResult("impulse", "impulse", ("hit",)))
    found = function_points((*analysis.trials, impulses), groups)
    ends = {(p.test, p.side): p for p in (*found[:2], *found[-2:])}
    assert ends["caloric", "right"].share == pytest.approx(10 / 25)
    assert ends["caloric", "left"].share == pytest.approx(2.0)
    assert ends["impulse", "right"].share == pytest.approx(0.5)
    assert ends["impulse", "left"].share == pytest.approx(1.25)
    assert not any(p.exciting for p in ends.values())
    assert sum(p.test == "impulse" for p in found) == 2


def test_an_unusable_measure_has_no_point(analysis):
    dark = next(t for t in analysis.trials if t.id == "sin-0.04")
    spoilt = replace(dark, measures=tuple(replace(m, grade="unusable") for m in dark.measures))
    assert function_points((spoilt,), ()) == ()


def test_a_side_parts_ways_when_one_end_is_surely_weak_and_the_other_surely_not():
    weak, kept = point("caloric", 0.003, 0.3, side="right"), point("impulse", 3, 1.2, side="right")
    (said,) = parting_ways((weak, kept))
    assert said.startswith("R: function is weak at low frequencies (calorics, 30 %")
    (other,) = parting_ways((replace(kept, test="caloric"), replace(weak, test="impulse")))
    assert other.startswith("R: function is kept at low frequencies")


def test_nothing_is_said_of_two_sides_or_of_ends_that_are_not_sure():
    weak, kept = point("caloric", 0.003, 0.3, side="right"), point("impulse", 3, 1.2, side="left")
    assert parting_ways((weak, kept)) == ()
    unsure = point("impulse", 3, 1.05, side="right", half=0.1)
    assert parting_ways((weak, unsure)) == ()


def test_rotation_parts_ways_only_beyond_what_published_sets_differ_by():
    slow = [point("sinusoid", f, 0.5) for f in (0.01, 0.02)]
    (said,) = parting_ways((*slow, point("sinusoid", 0.64, 1.1)))
    assert said.startswith("Rotation: the response is weak at low frequencies")
    near = [point("sinusoid", f, 0.8) for f in (0.01, 0.02)]
    assert parting_ways((*near, point("sinusoid", 0.64, 1.1))) == ()


def test_a_healthy_reflex_does_not_part_ways(analysis):
    assert analysis.to_document()["function"]["parts_ways"] == []
    assert all(p.share > 1.0 for p in analysis.function)


def test_a_side_that_is_weak_at_both_ends_is_said_to_be():
    weak = [point("caloric", 0.003, 0.1, side="right"), point("impulse", 3, 0.4, side="right")]
    (said,) = parting_ways(tuple(weak))
    assert said.startswith("R: function is weak at low frequencies")
    assert "and at high ones (impulses, 40 %" in said


def test_the_better_side_s_impulses_are_not_called_weak_beside_a_lost_one():
    """Its gain falls because the lost side no longer helps (common practice, no source)."""
    points = (
        point("caloric", 0.003, 0.1, side="right"), point("impulse", 3, 0.4, side="right"),
        point("caloric", 0.003, 2.1, side="left"), point("impulse", 3, 0.8, side="left"),
    )  # fmt: skip
    assert [said[0] for said in parting_ways(points)] == ["R"]


@pytest.mark.parametrize(("value", "ear"), [(-34.0, "R"), (34.0, "L")])
def test_a_difference_of_the_ears_is_said_even_where_both_are_above_the_lowest(value, ear):
    weakness = Measure("caloric/unilateral_weakness", "unilateral_weakness", value, value - 2,
                       value + 2, "%")  # fmt: skip
    (said,) = parting_ways((), (GroupResult("caloric", "caloric", (), (weakness,)),))
    assert said.startswith(f"Calorics: the {ear} ear answers less")
    assert "34 % (32–36)" in said
    slight = replace(weakness, value=8.0, low=5.0, high=11.0)
    assert parting_ways((), (GroupResult("caloric", "caloric", (), (slight,)),)) == ()


def test_an_end_that_is_not_sound_is_named_in_the_sentence():
    weak, kept = point("caloric", 0.003, 0.4, side="right"), point("impulse", 3, 1.2, side="right")
    (plain,) = parting_ways((weak, kept))
    assert "caution" not in plain
    (said,) = parting_ways((replace(weak, grade="caution"), kept))
    assert "with caution: calorics, " in said
    (both,) = parting_ways((replace(weak, grade="caution"), replace(kept, grade="caution")))
    assert "with caution: calorics and impulses, " in both
    slow = replace(point("sinusoid", 0.01, 0.4), grade="caution")
    (turned,) = parting_ways((slow, point("sinusoid", 0.64, 1.1)))
    assert "with caution: 0.01 Hz, " in turned


def test_the_document_tells_the_grade_of_every_point(analysis):
    points = analysis.to_document()["function"]["points"]
    assert [p["grade"] for p in points] == [p.grade for p in analysis.function]
