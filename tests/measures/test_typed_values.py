"""Values measured elsewhere: evoked potentials, audiogram, handicap."""

import pytest

from slowphase.eye.settings import EyeSettings
from slowphase.measures.kinds import measure_trial
from slowphase.measures.settings import MeasureSettings
from slowphase.measures.values import TESTS
from slowphase.recording.keys import value_tables
from slowphase.recording.trial import Trial


def typed(test, **values):
    trial = Trial("typed", "values", stimulus={"test": test, **values})
    result = measure_trial(trial, EyeSettings(), MeasureSettings())
    return {measure.id.removeprefix("typed/"): measure for measure in result.measures}


def test_every_test_that_may_be_typed_has_keys_and_a_reader():
    assert set(TESTS) == set(value_tables())


def test_the_asymmetry_is_that_of_the_trade_with_the_sign_of_the_larger_side():
    """(larger − smaller)/(larger + smaller)·100, REFERENCES section 6 (formula, well known)."""
    found = typed("evoked_potential", response="cervical", right_amplitude=60, left_amplitude=120)
    assert found["asymmetry"].value == pytest.approx(-100 / 3)
    assert found["right/amplitude"].value == 60
    assert found["right/amplitude"].unit == "uV"
    assert found["right/amplitude"].definition == "cervical"
    assert "measured_elsewhere" in found["asymmetry"].why
    mirrored = typed(
        "evoked_potential", response="cervical", right_amplitude=120, left_amplitude=60
    )
    assert mirrored["asymmetry"].value == -found["asymmetry"].value


@pytest.mark.parametrize("absence", [{"right_absent": True}, {"right_amplitude": 0}])
def test_a_side_without_a_response_has_no_amplitude_and_makes_the_asymmetry_whole(absence):
    found = typed("evoked_potential", response="ocular", left_amplitude=9.5, **absence)
    assert found["right/amplitude"].value is None
    assert "response_absent" in found["right/amplitude"].why
    assert found["asymmetry"].value == -100
    assert found["asymmetry"].grade == "caution"


def test_no_asymmetry_is_made_of_two_absent_sides_or_of_one_that_was_not_given():
    both = typed("evoked_potential", response="ocular", right_absent=True, left_absent=True)
    assert both["asymmetry"].value is None
    assert "response_absent" in both["asymmetry"].why
    one = typed("evoked_potential", response="ocular", left_amplitude=8)
    assert one["asymmetry"].value is None
    assert "not_given" in one["asymmetry"].why


def test_latencies_and_thresholds_stand_by_side():
    found = typed(
        "evoked_potential", response="cervical", right_p1_ms=13.2, left_n1_ms=23.1,
        right_threshold_db=85, right_amplitude=80, left_amplitude=80,
    )  # fmt: skip
    assert found["right/latency_p1"].value == 13.2
    assert found["left/latency_n1"].unit == "ms"
    assert found["right/threshold"].value == 85
    assert found["asymmetry"].value == 0


def test_averages_of_an_audiogram_need_every_tone():
    """Means by hand: (10 + 20 + 30 + 60)/4 and (5 + 10 + 20)/3."""
    found = typed(
        "audiogram",
        right_air_db={"250": 5, "500": 10, "1000": 20, "2000": 30, "4000": 60},
        left_air_db={"500": 10, "1000": 10, "2000": 10, "4000": "no response"},
        left_bone_db={"500": 0},
    )
    assert found["right ear/pure_tone_average"].value == 30
    assert found["right ear/low_tone_average"].value == pytest.approx(35 / 3)
    assert "not_heard" in found["left ear/pure_tone_average"].why
    assert "not_given" in found["left ear/low_tone_average"].why
    assert found["pure_tone_average_difference"].value is None
    assert found["left ear/threshold_air_4000_hz"].value is None
    assert found["left ear/threshold_bone_500_hz"].value == 0


def test_the_difference_of_the_ears_is_right_less_left():
    right = {"500": 40, "1000": 40, "2000": 50, "4000": 50}
    left = {"500": 10, "1000": 10, "2000": 20, "4000": 20}
    found = typed("audiogram", right_air_db=right, left_air_db=left)
    assert found["pure_tone_average_difference"].value == 30
    assert "low_tone_average_difference" not in found


def test_a_score_is_also_a_share_of_its_scale():
    found = typed("handicap", scale="dizziness handicap", score=46, score_max=100, physical=12)
    assert found["score_share"].value == 46
    assert found["score_physical"].value == 12
    assert found["score"].definition == "dizziness handicap"


def test_a_score_beyond_its_scale_is_no_value():
    found = typed("handicap", scale="s", score=146, score_max=100)
    assert found["score"].value is None
    assert "beyond_its_scale" in found["score_share"].why


def test_values_of_no_named_test_are_shown_and_not_measured():
    trial = Trial("typed", "values", stimulus={"anything": 3})
    assert measure_trial(trial, EyeSettings(), MeasureSettings()).measures == ()


def test_an_amplitude_in_an_unknown_unit_is_not_shown_in_another_and_the_ratio_is():
    found = typed(
        "evoked_potential", response="cervical", amplitude_unit="mV", right_amplitude=0.08,
        left_amplitude=0.04,
    )  # fmt: skip
    for side in ("right", "left"):
        assert found[f"{side}/amplitude"].value is None
        assert "unit_not_known" in found[f"{side}/amplitude"].why
    assert found["asymmetry"].value == pytest.approx(100 / 3)


def test_an_amplitude_of_a_side_that_is_absent_contradicts_itself():
    found = typed(
        "evoked_potential", response="cervical", right_amplitude=84, right_absent=True,
        left_amplitude=80,
    )  # fmt: skip
    for name in ("right/amplitude", "asymmetry"):
        assert found[name].value is None
        assert "typed_contradiction" in found[name].why
    assert found["left/amplitude"].value == 80


def test_an_interval_that_does_not_hold_its_gain_is_dropped_and_said():
    found = typed("impulse", gain_right_lateral=0.9, gain_interval_right_lateral=[1.2, 1.4])
    gain = found["right lateral/gain"]
    assert (gain.value, gain.low, gain.high, gain.grade) == (0.9, None, None, "caution")
    assert "interval_misses_value" in gain.why
    sound = typed("impulse", gain_right_lateral=0.9, gain_interval_right_lateral=[0.8, 1.0])
    assert "interval_misses_value" not in sound["right lateral/gain"].why


def test_parts_of_a_handicap_are_within_its_scale_and_its_whole():
    found = typed("handicap", scale="a", score=60, score_max=100, physical=300, emotional=80,
                  functional=20)  # fmt: skip
    assert (found["score_physical"].value, found["score_emotional"].value) == (None, None)
    assert "beyond_its_scale" in found["score_physical"].why
    assert "typed_contradiction" in found["score_emotional"].why
    assert found["score_functional"].value == 20


def test_a_handicap_without_its_largest_score_says_that_it_was_not_given():
    found = typed("handicap", scale="a", score=60)
    assert found["score"].value is None
    assert "not_given" in found["score"].why
    assert "beyond_its_scale" not in found["score"].why
    assert typed("handicap", score=60, score_max=100)["score"].definition == "not_stated"
