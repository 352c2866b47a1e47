from dataclasses import replace

import numpy as np
import pytest
from labelled_saccades import labelled
from made_targets import RATE_HZ, following, peak_of, recorded
from made_traces import measured, result_of, trial
from outside_data import outside
from scipy.optimize import curve_fit
from scipy.signal import savgol_filter
from scipy.stats import sem, t

from slowphase.cli.simulated_session import session_from
from slowphase.eye.track import track
from slowphase.measures.interval import Maker
from slowphase.measures.saccade.answers import (
    Answer,
    Jump,
    blur_s,
    peak_speed,
    velocity_of,
)
from slowphase.measures.saccade.measures import of_way
from slowphase.measures.saccade.sequence import main_sequence
from slowphase.measures.saccade.settings import SaccadeSettings
from slowphase.physiology.person import Person
from slowphase.physiology.protocol import targets
from slowphase.physiology.recorder import Equipment
from slowphase.physiology.saccade import MainSequence
from slowphase.physiology.simulate import simulate
from slowphase.physiology.target_saccade import TargetSaccades
from slowphase.recording.session import Patient

# --- the project's own simulator ---------------------------------------------------------------


def simulated(seed, person=None, **equipment):
    made = simulate(person or Person(), [targets("saccade")], Equipment(**equipment), seed=seed)
    return session_from(made, Patient("T"), None).trials[0], made[0].truth


@pytest.mark.parametrize("sampling_hz", [120.0, 250.0, 500.0])
def test_each_answer_is_found_within_8_ms_of_the_simulated_saccade(sampling_hz):
    late = []
    for seed in range(6):
        one, truth = simulated(seed, sampling_hz=sampling_hz)
        saccades = truth.quick_phases
        for answer in result_of(one).evidence.own.answers:
            if answer.verdict == "answered":
                same = np.sign(saccades.amplitude_deg) == np.sign(answer.amplitude_deg)
                large = np.abs(saccades.amplitude_deg) > 0.5 * abs(answer.amplitude_deg)
                near = saccades.onset_s[same & large] - answer.onset_s
                late.append(1000.0 * near[np.argmin(np.abs(near))])
    assert len(late) > 60
    assert np.quantile(np.abs(late), 0.97) < 8.0
    assert abs(np.median(late)) < 2.5


def test_medians_of_simulated_saccades_come_back():
    person = Person(saccades=TargetSaccades(latency_s=0.3, accuracy=0.8))
    for seed in range(4):
        one, truth = simulated(seed, person)
        found = measured(one)
        assert found["latency"].value == pytest.approx(1000 * truth.measures["latency"], abs=15)
        assert found["accuracy"].value == pytest.approx(truth.measures["accuracy"], abs=3.0)
        true = truth.measures["peak_velocity"]
        assert found["peak_velocity"].value == pytest.approx(true, rel=0.12)


def test_intervals_cover_the_person_behind_the_simulated_saccades():
    person = Person(saccades=TargetSaccades(latency_s=0.25, accuracy=0.9))
    hits = {"latency": [], "accuracy": [], "peak_velocity": []}
    for seed in range(16):
        found = measured(simulated(seed, person)[0])
        peak = 520.0 * (1 - np.exp(-10.0 / 6.0))
        for name, true in (("latency", 250.0), ("accuracy", 90.0), ("peak_velocity", peak)):
            hits[name].append(found[name].low <= true <= found[name].high)
    assert {name: np.mean(hit) >= 0.85 for name, hit in hits.items()} == dict.fromkeys(hits, True)


def test_slow_saccades_are_slow_and_as_accurate():
    slow = Person(saccades=TargetSaccades(sequence=MainSequence(peak_deg_s=250.0)))
    found, usual = measured(simulated(2, slow)[0]), measured(simulated(2)[0])
    ratio = found["peak_velocity"].value / usual["peak_velocity"].value
    assert ratio == pytest.approx(250 / 520, rel=0.1)
    assert found["accuracy"].value == pytest.approx(usual["accuracy"].value, abs=4.0)


# --- an eye made for the tests alone -----------------------------------------------------------

PLACES = [10, -5, 15, 0, -20, -5, 10, -10, 5, 20, 0, -12, 3, -15]


def made(seed=0, *, slow_left=1.0, plane="h", **options):
    """A trial, and the latencies (s) of the jumps; the left eye may be a slower one."""
    rng = np.random.default_rng(seed)
    time_s, target, eye, latencies = following(PLACES, 1.6, rng=rng, **options)
    noise = rng.normal(0.0, 0.05, (3, time_s.size))
    left = eye if slow_left == 1.0 else dragged(eye, slow_left)
    other = "v" if plane == "h" else "h"
    channels = {
        f"eye_{plane}_right": eye + noise[0],
        f"eye_{plane}_left": left + noise[1],
        f"eye_{other}_right": noise[2],
        f"target_{plane}": target,
    }
    return trial("saccade", recorded(time_s, channels), vision="light"), latencies


def dragged(eye, share):
    """Movements to the right spread over a longer time, those to the left as they were."""
    step = np.diff(eye, prepend=eye[0])
    width = round(0.03 * RATE_HZ / share)
    box = np.ones(width) / width
    slow = np.convolve(np.maximum(step, 0.0), box)[: eye.size]
    return eye[0] + np.cumsum(np.minimum(step, 0.0) + slow)


def test_latency_and_accuracy_of_an_eye_that_somebody_else_made_come_back():
    for seed in range(4):
        one, latencies = made(seed, share=0.9)
        found = measured(one)
        assert found["latency"].value == pytest.approx(1000 * np.median(latencies), abs=8.0)
        assert found["accuracy"].value == pytest.approx(90.0, abs=1.5)
        assert found["saccades"].value == len(PLACES)
        true = peak_of(10.0)
        assert found["peak_velocity"].value == pytest.approx(true, rel=0.06)


@pytest.mark.parametrize(("apart_ms", "rough"), [(20.0, False), (60.0, True)])
def test_few_latencies_are_rough_by_their_standard_error_and_not_by_their_interval(apart_ms, rough):
    # scipy's standard error of the mean, times that of a median over it (Kendall, from memory);
    # t of two degrees would make it twice as large and call both rough
    latencies_ms = np.array([200.0 - apart_ms, 200.0, 200.0 + apart_ms])
    jump = Jump(plane=0, time_s=1.0, until_s=2.6, from_deg=0.0, to_deg=10.0)
    onsets_s = 1.0 + latencies_ms / 1000.0
    answers = [Answer(jump, "answered", at, at + 0.05, 10.0, 9.0) for at in onsets_s]
    found = of_way(Maker("made"), None, answers, None, SaccadeSettings(), timed=True)
    error = 1.2533 * sem(latencies_ms)
    assert (error > SaccadeSettings().latency_rough_ms) == rough
    assert ("known_roughly" in found[0].why) == rough
    assert found[0].high - 200.0 == pytest.approx(t.ppf(0.975, 2) * error, rel=1e-3)


def test_vertical_saccades_are_named_by_their_own_ways():
    one, latencies = made(1, plane="v")
    found = measured(one)
    assert "rightward/latency" not in found
    own = [late for place, late in zip(np.diff([0, *PLACES]), latencies, strict=True) if place > 0]
    assert found["upward/latency"].value == pytest.approx(1000 * np.median(own), abs=8.0)


def test_an_eye_that_adducts_slowly_stands_out_to_one_side():
    found = measured(made(2, slow_left=0.5)[0])
    assert found["rightward/velocity_ratio"].value > 1.15
    assert found["rightward/velocity_ratio"].low > 1.05
    assert found["leftward/velocity_ratio"].value == pytest.approx(1.0, abs=0.05)


def test_mirroring_eye_and_target_swaps_the_directions_and_nothing_else():
    one, _ = made(3)
    flipped = {r: -c if "_h" in r else c for r, c in one.recording.channels.items()}
    straight = measured(one)
    mirrored = measured(replace(one, recording=replace(one.recording, channels=flipped)))
    for name in ("latency", "accuracy", "peak_velocity", "velocity_ratio"):
        assert mirrored[f"leftward/{name}"].value == pytest.approx(
            straight[f"rightward/{name}"].value, rel=1e-6
        )


def test_a_later_target_takes_its_delay_off_every_latency():
    one, _ = made(4)
    channels = dict(one.recording.channels)
    channels["target_h"] = np.roll(channels["target_h"], round(0.05 * RATE_HZ))
    later = replace(one, recording=replace(one.recording, channels=channels))
    shift = measured(one)["latency"].value - measured(later)["latency"].value
    assert shift == pytest.approx(50.0, abs=1e-6)


def test_keys_tell_the_jumps_where_no_channel_does():
    one, _ = made(5)
    channels = {r: c for r, c in one.recording.channels.items() if r != "target_h"}
    silent = replace(one, recording=replace(one.recording, channels=channels))
    keys = {"targets_deg": PLACES, "hold_s": 1.6, "start_at_s": 1.0}
    found = measured(replace(silent, stimulus=keys))
    assert found["latency"].value == pytest.approx(measured(one)["latency"].value, abs=3.0)
    untimed = measured(replace(silent, stimulus={"targets_deg": PLACES}))
    assert untimed["latency"].why == ("target_not_timed",)
    assert untimed["accuracy"].value == pytest.approx(95.0, abs=3.0)
    assert measured(replace(silent, stimulus={}))["accuracy"].why == ("targets_unknown",)


# --- recorded eyes -----------------------------------------------------------------------------


@pytest.mark.parametrize("subject", ["S1", "S4", "S6"])
def test_peak_velocity_of_labelled_human_saccades_agrees_with_another_filter(subject):
    # Zemblys, Niehorster, Komogortsev, Holmqvist 2018 (MIT): 1000 Hz, onsets and ends by an expert.
    record, settings = labelled(subject), SaccadeSettings()
    recording, saccades = record.recording, record.saccades
    position = recording.channels["eye_h_right"]
    velocity = velocity_of(recording, "eye_h_right", settings.peak_filter_s)
    # 11 samples, second order: a filter of 2.5 ms SD, which blunts a peak by 1 to 2 %
    other = savgol_filter(np.nan_to_num(position), 11, 2, deriv=1, delta=1e-3)
    ratios = []
    for onset, offset in zip(saccades.onset_s, saccades.offset_s, strict=True):
        first, last = np.searchsorted(recording.time_s, [onset, offset])
        size = position[last] - position[first]
        answer = Answer(Jump(0, onset, offset, 0, size), "answered", onset, offset, size, size)
        ours = peak_speed(velocity, recording.time_s, answer, blur_s(recording, settings))
        if abs(size) > 3.0 and np.isfinite(ours):
            ratios.append(ours / np.abs(other[first:last]).max())
    assert len(ratios) >= 15
    assert np.median(ratios) == pytest.approx(1.0, abs=0.06)


@pytest.mark.parametrize("subject", ["S1", "S4", "S6"])
def test_onsets_of_labelled_human_saccades_agree_with_the_expert(subject):
    record = labelled(subject)
    phases = track(record.recording)[0].trace.quick_phases
    large = record.saccades.amplitude_deg > 3.0
    apart = [
        phases.onset_s[np.argmin(np.abs(phases.onset_s - onset))] - onset
        for onset in record.saccades.onset_s[large]
    ]
    close = [1000 * value for value in apart if abs(value) < 0.05]
    assert len(close) > 0.7 * large.sum()
    assert abs(np.median(close)) < 8.0


def test_the_main_sequence_agrees_with_the_curve_fit_of_scipy():
    outside("labelled_saccades")
    rng = np.random.default_rng(7)
    size = rng.uniform(3.0, 35.0, 80)
    peak = 480.0 * (1 - np.exp(-size / 9.0)) * np.exp(rng.normal(0, 0.06, size.size))
    found = main_sequence(size, peak, SaccadeSettings())
    (top, scale), covariance = curve_fit(
        lambda a, v, c: np.log(v * (1 - np.exp(-a / c))), size, np.log(peak), p0=[400, 6]
    )
    assert np.exp(found.parameters) == pytest.approx([top, scale], rel=0.02)
    errors = np.sqrt(np.diag(found.covariance)) * np.exp(found.parameters)
    assert errors == pytest.approx(np.sqrt(np.diag(covariance)), rel=0.15)


# --- bad input ---------------------------------------------------------------------------------


def test_a_patient_who_does_not_look_has_no_saccades():
    found = measured(made(6, idle=True)[0])
    assert found["latency"].why == ("no_saccades",)
    assert found["rightward/accuracy"].value is None


def test_anticipations_are_counted_and_left_out():
    one, _ = made(7, latency_s=0.21)
    channels = dict(one.recording.channels)
    jumps = 1.0 + 1.6 * np.arange(len(PLACES))
    target = channels["target_h"].copy()
    for jump in jumps[3:5]:  # these two come only after the eye has gone
        at = (one.recording.time_s >= jump) & (one.recording.time_s < jump + 0.26)
        target[at] = target[np.searchsorted(one.recording.time_s, jump) - 1]
    early = measured(
        replace(one, recording=replace(one.recording, channels=channels | {"target_h": target}))
    )
    assert early["anticipations"].value == 2
    assert "anticipations_left_out" in early["latency"].why
    assert early["latency"].value == pytest.approx(210.0, abs=25.0)


def test_a_blink_over_the_answer_is_no_missed_target():
    one, latencies = made(8)
    jump = 1.0 + 1.6 * 4
    shut = (one.recording.time_s > jump + 0.1) & (one.recording.time_s < jump + 0.45)
    channels = {
        role: np.where(shut, np.nan, trace) if role.startswith("eye") else trace
        for role, trace in one.recording.channels.items()
    }
    found = measured(replace(one, recording=replace(one.recording, channels=channels)))
    assert found["unseen"].value == 1
    assert found["missed"].value == 0
    assert found["saccades"].value == len(latencies) - 1


def test_targets_that_were_missed_are_counted_and_cautioned():
    one, _ = made(9)
    channels = dict(one.recording.channels)
    time_s, held = one.recording.time_s, channels["eye_h_right"].copy()
    rest = time_s > 12.0
    for role in ("eye_h_right", "eye_h_left"):
        held = channels[role].copy()
        held[rest] = held[np.searchsorted(time_s, 12.0)] + 0.05 * np.sin(time_s[rest])
        channels[role] = held + np.random.default_rng(1).normal(0, 0.03, held.size)
    found = measured(replace(one, recording=replace(one.recording, channels=channels)))
    assert found["missed"].value >= 4
    assert "targets_missed" in found["latency"].why
    assert found["latency"].grade == "caution"


def test_a_slow_recorder_gives_latency_and_no_peak():
    found = measured(simulated(1, sampling_hz=60.0)[0])
    assert found["peak_velocity"].why == ("sampled_too_slowly",)
    assert found["velocity_ratio"].why == ("sampled_too_slowly",)
    assert found["accuracy"].value is not None
