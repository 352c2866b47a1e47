"""One irrigation: against simulated truth, against an independent generator, and bad input."""

from dataclasses import replace

import numpy as np
import pytest
from irrigations import irrigation, response_curve, strongest
from made_traces import by_name, measured, result_of

from slowphase.cli.simulated_session import session_from
from slowphase.measures.caloric_curve import bend_basis, cardinal_spline
from slowphase.measures.kinds import measure_groups
from slowphase.measures.settings import MeasureSettings
from slowphase.physiology.caloric import Caloric
from slowphase.physiology.person import Person
from slowphase.physiology.protocol import caloric
from slowphase.physiology.recorder import Equipment
from slowphase.physiology.simulate import simulate
from slowphase.physiology.spontaneous import Spontaneous
from slowphase.recording.session import Patient

PLANS = tuple(caloric(ear, warm) for warm in (44.0, 30.0) for ear in ("right", "left"))


def bar(true):
    """The bar of a caloric peak: 3 % or 0.5 deg/s."""
    return max(0.03 * abs(true), 0.5)


def simulated(seed, *, plans=PLANS, equipment=None, **person):
    """Each simulated irrigation as a trial with its truth."""
    trials = simulate(Person(**person), plans, equipment or Equipment(), seed=seed)
    session = session_from(trials, Patient("invented", 50.0, "unknown"), None)
    return list(zip(session.trials, (trial.truth.measures for trial in trials), strict=True))


@pytest.fixture(scope="module")
def many():
    """Irrigations of 16 simulated people: measures, truth, spontaneous nystagmus, and groups."""
    rng = np.random.default_rng(4)
    rows = []
    for seed in range(16):
        ears = Caloric(
            right=rng.uniform(0.15, 1.0),
            left=rng.uniform(0.15, 1.0),
            peak_deg_s=rng.uniform(15.0, 50.0),
            suppression=rng.uniform(0.2, 0.8),
        )
        bias = float(rng.normal(0.0, 4.0))
        equipment = Equipment(sampling_hz=(60.0, 120.0, 250.0)[seed % 3])
        trials = simulated(
            seed, equipment=equipment, caloric=ears, spontaneous=Spontaneous(bias_deg_s=bias)
        )
        results = tuple(result_of(trial) for trial, _ in trials)
        rows.append((results, [truth for _, truth in trials], bias))
    return rows


def each(many, name, truth):
    """Measured and true values of every irrigation that has the measure."""
    for results, truths, bias in many:
        for result, true in zip(results, truths, strict=True):
            found = by_name(result)[name]
            if found.value is not None:
                yield found, truth(true, bias)


def test_simulated_peaks_come_back_within_3_percent_or_half_a_degree_per_second(many):
    pairs = list(each(many, "peak_without_nystagmus", lambda true, _: true["response"]))
    errors = [abs(found.value - true) / bar(true) for found, true in pairs]
    assert len(pairs) == 64
    assert np.mean(np.array(errors) <= 1.0) >= 0.95
    assert max(errors) < 2.0


def test_raw_peaks_hold_the_spontaneous_nystagmus(many):
    pairs = list(each(many, "peak", lambda true, bias: true["response"] + bias))
    assert np.mean([abs(found.value - true) <= bar(true) for found, true in pairs]) >= 0.95


@pytest.mark.parametrize(
    ("name", "truth"),
    [
        ("peak_without_nystagmus", lambda true, bias: true["response"]),
        ("spontaneous", lambda true, bias: bias),
        ("fixation_index", lambda true, bias: true["fixation_index"]),
    ],
)
def test_95_percent_intervals_cover_the_simulated_truth(many, name, truth):
    inside = [found.low <= true <= found.high for found, true in each(many, name, truth)]
    assert len(inside) >= 50
    assert np.mean(inside) >= 0.88  # 0.95 less two standard errors of a share of 50


def test_simulated_fixation_indices_come_back(many):
    pairs = list(each(many, "fixation_index", lambda true, _: true["fixation_index"]))
    errors = [abs(found.value - true) for found, true in pairs]
    assert np.median(errors) < 0.03
    assert np.percentile(errors, 90) < 0.08


def test_simulated_weakness_comes_back_within_2_points_where_the_total_is_40(many):
    errors, inside = [], []
    for results, truths, _ in many:
        values = [abs(true["response"]) for true in truths]
        right, left = values[0] + values[2], values[1] + values[3]
        if right + left < 40.0:
            continue
        (group,) = measure_groups(results, MeasureSettings())
        found = {m.name: m for m in group.measures}["unilateral_weakness"]
        true = 100.0 * (right - left) / (right + left)
        errors.append(abs(found.value - true))
        inside.append(found.low <= true <= found.high)
    assert len(errors) >= 10
    assert max(errors) < 2.0
    assert np.mean(inside) >= 0.8


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize(("peak", "level"), [(-40.0, 0.0), (18.0, -6.0), (-7.0, 5.0), (25.0, 3.0)])
def test_an_independent_generator_s_peaks_come_back(seed, peak, level):
    trial, alone = irrigation(
        peak, spontaneous_deg_s=level, fixation=(80.0, 92.0), left=0.4, seed=seed
    )
    found, true = measured(trial), strongest(alone)
    assert found["peak_without_nystagmus"].value == pytest.approx(true, abs=1.6 * bar(true))
    assert found["peak"].value == pytest.approx(true + level, abs=1.3 * bar(true))
    assert found["spontaneous"].value == pytest.approx(level, abs=0.7)
    assert found["peak_time"].value == pytest.approx(55.0, abs=8.0 if abs(peak) > 10 else 20.0)
    if abs(peak + level) > 10.0:
        assert found["fixation_index"].value == pytest.approx(0.4, abs=0.06)


def test_the_independent_generator_s_peaks_meet_the_bar_as_a_rule_and_intervals_cover():
    errors, inside = [], []
    for seed in range(30):
        peak = float(np.random.default_rng(seed).uniform(-45.0, 45.0))
        trial, alone = irrigation(peak, spontaneous_deg_s=2.0, seed=100 + seed)
        found, true = measured(trial)["peak_without_nystagmus"], strongest(alone)
        errors.append(abs(found.value - true) / bar(true))
        inside.append(found.low <= true <= found.high)
    assert np.mean(np.array(errors) <= 1.0) >= 0.9
    assert np.mean(inside) >= 0.87


def test_the_culmination_is_the_plain_mean_of_the_strongest_ten_seconds():
    """Against a sliding mean of the noise-free curve, no model of the response."""
    trial, alone = irrigation(-30.0, seed=1, noise_deg=0.01)
    found = measured(trial)["peak"]
    assert found.value == pytest.approx(strongest(alone), abs=0.6)
    assert abs(found.value) < np.abs(alone).max() + 0.5


def test_splines_and_their_bends_agree_with_scipy():
    """scipy.interpolate.BSpline, a general-purpose library."""
    from scipy.interpolate import BSpline

    place = np.linspace(-1.0, 5.0, 301)
    known = np.nan_to_num(BSpline.basis_element(np.arange(5.0), extrapolate=False)(place))
    assert cardinal_spline(place) == pytest.approx(known, abs=1e-12)
    time = np.linspace(0.0, 70.0, 200)
    bends = np.random.default_rng(0).normal(size=10)
    factors = np.cumsum(np.cumsum(bends))
    whole = BSpline(7.0 * np.arange(14.0), factors, 3, extrapolate=False)
    inside = (time >= 21.0) & (time < 69.0)  # where all four splines of scipy's sum exist
    found = bend_basis(time / 7.0, 10) @ bends
    assert found[inside] == pytest.approx(whole(time)[inside], abs=1e-9)


def test_duration_is_the_time_to_a_tenth_of_the_culmination():
    trial, alone = irrigation(-30.0, length_s=320.0, seed=2)
    time = np.arange(alone.size) / 120.0
    after = (time > 70.0) & (np.abs(alone) <= 0.1 * abs(strongest(alone)))
    true = time[after][0] - 12.0
    found = measured(trial)["duration"]
    assert found.value == pytest.approx(true, abs=8.0)
    assert found.low <= true <= found.high


def test_a_recording_that_ends_before_the_response_has_no_duration():
    found = measured(irrigation(-30.0, length_s=100.0)[0])["duration"]
    assert found.value is None
    assert found.why == ("response_outlasts",)


def mirrored(trial):
    channels = {role: -values for role, values in trial.recording.channels.items()}
    other = {"right": "left", "left": "right"}[trial.stimulus["ear"]]
    return replace(
        trial,
        stimulus={**trial.stimulus, "ear": other},
        recording=replace(trial.recording, channels=channels),
    )


def test_mirroring_swaps_the_ears_and_nothing_else():
    trial, _ = irrigation(-22.0, spontaneous_deg_s=4.0, fixation=(80.0, 90.0), seed=5)
    one, other = measured(trial), measured(mirrored(trial))
    for name in ("peak", "peak_without_nystagmus", "spontaneous"):
        assert other[name].value == pytest.approx(-one[name].value, rel=1e-6)
    for name in ("response", "fixation_index", "peak_time"):
        assert other[name].value == pytest.approx(one[name].value, rel=1e-6)


def test_scaling_the_eye_scales_the_response_and_not_the_fixation_index():
    trial, _ = irrigation(-15.0, fixation=(80.0, 92.0), seed=6)
    channels = {role: 1.5 * values for role, values in trial.recording.channels.items()}
    larger = replace(trial, recording=replace(trial.recording, channels=channels))
    one, other = measured(trial), measured(larger)
    assert other["response"].value == pytest.approx(1.5 * one["response"].value, rel=0.02)
    assert other["fixation_index"].value == pytest.approx(one["fixation_index"].value, abs=0.03)


def test_a_shorter_recording_never_invents_a_later_peak():
    trial, _ = irrigation(-30.0, length_s=50.0, seed=1)
    found = measured(trial)
    assert "culmination_at_edge" in found["peak"].why
    assert found["peak"].grade == "caution"
    assert found["peak_time"].value is None


@pytest.mark.parametrize(
    ("ear", "temperature", "sign"),
    [("right", 44.0, -1), ("right", 30.0, 1), ("left", 44.0, 1), ("left", 30.0, -1)],
)
def test_warm_beats_to_the_ear_and_cool_away_from_it(ear, temperature, sign):
    """Cold opposite, warm same: common practice, no source."""
    trial, alone = irrigation(sign * 20.0, ear=ear, temperature_c=temperature, seed=3)
    assert measured(trial)["response"].value == pytest.approx(abs(strongest(alone)), abs=1.0)


def test_a_response_the_wrong_way_is_negative_and_says_so():
    found = measured(irrigation(20.0, ear="right", temperature_c=44.0)[0])["response"]
    assert found.value < -15.0
    assert "caloric_reversed" in found.why
    assert found.grade == "caution"


def test_a_temperature_near_that_of_the_body_has_no_expected_direction():
    found = measured(irrigation(-10.0, temperature_c=37.0)[0])
    assert found["response"].value is None
    assert found["response"].why == ("temperature_neutral",)
    assert found["peak"].value < -8.0


def test_a_response_before_heat_can_have_come_is_premature():
    found = measured(irrigation(-25.0, peak_s=8.0, seed=2)[0])["response"]
    assert "caloric_premature" in found.why
    usual = measured(irrigation(-25.0, seed=2)[0])["response"]
    assert "caloric_premature" not in usual.why


def test_a_response_that_turns_within_140_s_says_so_and_one_that_fades_does_not():
    time = np.arange(round(160.0 * 120.0)) / 120.0
    first = response_curve(time, 12.0, -25.0, peak_s=35.0, order=4.0)
    turned = first + response_curve(time, 75.0, 9.0, peak_s=30.0, order=4.0)
    why = {
        shape: measured(irrigation(0.0, curve=curve, seed=4)[0])["response"].why
        for shape, curve in (("turns", turned), ("fades", first))
    }
    assert "caloric_turns_early" in why["turns"]
    assert "caloric_turns_early" not in why["fades"]


@pytest.mark.parametrize("seed", range(5))
def test_an_ear_that_does_not_answer_is_near_0_and_has_no_time(seed):
    found = measured(irrigation(0.0, spontaneous_deg_s=6.0, seed=seed)[0])
    assert abs(found["response"].value) < 1.5
    assert "no_caloric_response" in found["response"].why
    assert found["peak_time"].value is None
    assert found["peak"].value == pytest.approx(6.0, abs=1.2)


def test_without_time_before_the_irrigation_the_nystagmus_stays_in_and_says_so():
    trial, alone = irrigation(-20.0, spontaneous_deg_s=-5.0, start_s=0.0, seed=1)
    found = measured(trial)
    assert found["spontaneous"].value is None
    assert found["peak_without_nystagmus"].value is None
    assert "spontaneous_unknown" in found["response"].why
    assert found["response"].value == pytest.approx(5.0 - strongest(alone), abs=1.0)


def test_without_the_time_of_the_irrigation_there_is_a_peak_and_no_time():
    trial, alone = irrigation(-20.0, irrigation_s=None)
    found = measured(trial)
    assert found["peak"].value == pytest.approx(strongest(alone), abs=1.0)
    assert "irrigation_time_unknown" in found["spontaneous"].why
    assert found["peak_time"].why == ("irrigation_time_unknown",)


def test_an_irrigation_after_the_end_of_the_recording_is_as_if_unknown():
    found = measured(irrigation(-20.0, irrigation_s=[500.0, 530.0])[0])
    assert "irrigation_time_unknown" in found["peak_time"].why


def test_fixation_before_the_culmination_is_said():
    found = measured(irrigation(-25.0, fixation=(45.0, 60.0), seed=3)[0])
    assert "fixation_too_early" in found["peak"].why
    assert "fixation_too_early" in found["fixation_index"].why


@pytest.mark.parametrize(
    ("fixation", "peak", "why"),
    [
        (None, -25.0, "no_fixation"),
        ((400.0, 410.0), -25.0, "fixation_not_seen"),
        ((80.0, 90.0), -3.0, "response_too_small"),
    ],
)
def test_a_fixation_index_that_cannot_be_had_says_why(fixation, peak, why):
    found = measured(irrigation(peak, fixation=fixation)[0])["fixation_index"]
    assert found.value is None
    assert found.why == (why,)


def test_fixation_may_be_told_by_two_keys():
    one = irrigation(-25.0, fixation=(80.0, 92.0), seed=3)[0]
    keys = {"fixation_s": None, "fixation_start_s": 80.0, "fixation_stop_s": 92.0}
    other = irrigation(-25.0, fixation=(80.0, 92.0), seed=3, **keys)[0]
    assert "fixation_s" not in other.stimulus
    assert measured(other)["fixation_index"] == measured(one)["fixation_index"]


def test_a_vertical_slow_phase_faster_than_the_horizontal_one_is_flagged():
    trial, _ = irrigation(-6.0, seed=3)
    upward, _ = irrigation(15.0, seed=8)
    up = upward.recording.channels["eye_h_right"]
    channels = {**trial.recording.channels, "eye_v_right": up}
    found = measured(replace(trial, recording=replace(trial.recording, channels=channels)))
    assert found["vertical/peak"].value == pytest.approx(15.0, abs=2.0)
    assert "vertical_response" in found["vertical/peak"].why


def test_too_little_of_an_eye_leaves_every_measure_present_and_missing():
    trial, _ = irrigation(-20.0)
    for channel in trial.recording.channels.values():
        channel[200:] = np.nan
    result = result_of(trial)
    assert {m.name for m in result.measures} >= {"peak", "response", "fixation_index"}
    assert all(m.value is None and m.why for m in result.measures)


def test_quick_lapses_before_and_after_do_not_move_the_peak():
    """Half of the response lost for 8 s: the strongest ten seconds are elsewhere."""
    time = np.arange(round(160.0 * 120.0)) / 120.0
    curve = response_curve(time, 12.0, -30.0)
    lapse = (time > 80.0) & (time < 88.0)
    trial, _ = irrigation(0.0, curve=np.where(lapse, 0.5 * curve, curve), seed=2)
    assert measured(trial)["peak"].value == pytest.approx(strongest(curve), abs=1.0)
