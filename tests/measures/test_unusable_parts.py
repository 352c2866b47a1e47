"""What is made of numbers that may not be used is missing, with their reason."""

from dataclasses import replace

import pytest

from slowphase.measures.fixation import pair_fixation
from slowphase.measures.gaze_group import group_gaze
from slowphase.measures.impulse.together import group_impulses
from slowphase.measures.measure import Measure
from slowphase.measures.optokinetic.sides import group_optokinetic
from slowphase.measures.positional_group import group_positional
from slowphase.measures.recheck import group_calibration
from slowphase.measures.result import TrialResult, find, why_unusable
from slowphase.measures.settings import MeasureSettings

SETTINGS = MeasureSettings()
ODD = "waveform_not_interpretable"


def part(name, value, of=None, *, trial="t", why=(), unit="deg/s", half=0.5):
    grade = "unusable" if ODD in why else "caution" if why else "sound"
    id_ = "/".join(word for word in (trial, of, name) if word)
    return Measure(id_, name, value, value - half, value + half, unit, of=of, grade=grade, why=why)


def trial(name, kind, *measures, vision="dark", **stimulus):
    return TrialResult(name, kind, vision, stimulus, "done", None, None, measures, parts=(name,))


def only(groups, name="asymmetry", of=None):
    (found,) = [m for group in groups for m in group.measures if (m.name, m.of) == (name, of)]
    return found


def fixation(why_dark=(), why_light=()):
    dark = trial("dark", "spontaneous", part("velocity", 9.0, "horizontal", why=why_dark))
    light = trial(
        "light", "spontaneous", part("velocity", 0.5, "horizontal", why=why_light), vision="light"
    )
    return only(pair_fixation((dark, light), SETTINGS), "fixation_effect")


@pytest.mark.parametrize("where", [{"why_dark": (ODD,)}, {"why_light": (ODD,)}])
def test_an_uninterpretable_waveform_gives_no_effect_of_fixation(where):
    found = fixation(**where)
    assert found.value is None
    assert found.why == (ODD,)
    assert fixation().value == pytest.approx(100 * (1 - 0.5 / 9.0))


def test_the_effect_of_fixation_inherits_cautions_but_not_that_of_the_scale():
    assert fixation(("eyes_disagree",)).why == ("eyes_disagree",)
    assert fixation(("eyes_disagree",)).grade == "caution"
    assert fixation(("calibration_off",), ("known_roughly",)).why == ()


def scenes(*whys):
    ways = ("rightward", "leftward")
    return tuple(
        trial(way, "optokinetic", part("gain", 0.8, way, why=why, unit="1", half=0.05),
              velocity_deg_s=30.0)
        for way, why in zip(ways, whys, strict=True)
    )  # fmt: skip


def test_an_unusable_optokinetic_gain_makes_no_asymmetry():
    assert only(group_optokinetic(scenes((), (ODD,)), SETTINGS)).why == (ODD,)
    assert only(group_optokinetic(scenes((), ("eyes_disagree",)), SETTINGS)).grade == "caution"
    assert only(group_optokinetic(scenes((), ()), SETTINGS)).value == pytest.approx(0.0)


def test_a_later_usable_scene_goes_before_an_unusable_one():
    good, bad = scenes((), (ODD,))
    later = replace(scenes((), ())[1], id="again")
    (group,) = group_optokinetic((good, bad, later), SETTINGS)
    assert group.trials == ("rightward", "again")
    assert group.measures[0].value == pytest.approx(0.0)


def test_unusable_peaks_are_no_positions_and_no_reversal():
    lying = trial("lying", "positional", part("peak", 20.0, "horizontal", why=(ODD,)))
    rising = trial("rising", "positional", part("peak", -10.0, "horizontal"), sits_up_from="lying")
    found = group_positional((lying, rising), SETTINGS)
    assert only(found, "positions_beating").value == 1
    assert only(found, "reversal", "lying").why == (ODD,)
    alone = only(group_positional((lying,), SETTINGS), "positions_beating")
    assert (alone.value, alone.why) == (None, (ODD,))


def test_gaze_positions_that_may_not_be_used_are_named():
    held = [
        trial(name, "gaze", part("gaze", at, None, unit="deg"),
              part("velocity", -0.1 * at, "horizontal", why=why), gaze=name)
        for name, at, why in (("left", -20.0, ()), ("right", 20.0, (ODD,)))
    ]  # fmt: skip
    found = group_gaze(tuple(held), SETTINGS)
    assert only(found, "gaze_dependence", "dark").why == ("gaze_positions_few", ODD)


def test_an_unusable_impulse_gain_makes_no_asymmetry():
    impulses = trial(
        "i", "impulse", part("gain", 0.9, "right lateral", unit="1"),
        part("gain", 0.5, "left lateral", unit="1", why=(ODD,)),
    )  # fmt: skip
    found = only(group_impulses((impulses,), SETTINGS), "asymmetry", "lateral")
    assert (found.value, found.why) == (None, (ODD,))


def test_an_unusable_calibration_tells_no_drift():
    both = [
        trial(name, "calibration", part("offset", 1.0, "right horizontal", unit="deg"),
              part("gain", 1.0, "right horizontal", unit="1", why=why))
        for name, why in (("first", ()), ("later", (ODD,)))
    ]  # fmt: skip
    known = tuple(replace(one, evidence=object()) for one in both)
    found = only(group_calibration(known, SETTINGS), "drift", "right horizontal")
    assert (found.value, found.why) == (None, (ODD,))


def test_one_function_finds_measures():
    one = trial("t", "spontaneous", part("velocity", 1.0, "horizontal", why=(ODD,)))
    assert find(one, "velocity", "horizontal") is None
    assert find(one, "velocity", "horizontal", usable=False).value == 1.0
    assert why_unusable([one], "velocity", "horizontal") == (ODD,)
    assert find(one, "velocity") is None
