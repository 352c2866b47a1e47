"""Simulated truth comes back: from the simulator, and from impulses that it does not make."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from made_impulses import Made, measured, own, recording_of, series, table, true_gain

from slowphase.cli.simulated_session import session_from
from slowphase.eye.settings import EyeSettings
from slowphase.measures.kinds import measure_trial
from slowphase.measures.settings import MeasureSettings
from slowphase.physiology.protocol import impulse
from slowphase.physiology.recorder import Equipment
from slowphase.physiology.scenario import person_from
from slowphase.physiology.simulate import simulate
from slowphase.recording.session import Patient

PEOPLE = {
    "healthy": {},
    "acute": {"right": 0.0},
    "compensated": {"right": 0.0, "compensated": 1.0},
    "both sides": {"right": 0.15, "left": 0.15},
    "partial": {"left": 0.5, "compensated": 0.6},
}
SEEDS = (10, 11, 12)
WITHIN_S = 0.02  # a saccade is found if its onset is this near
LEAST_DEG = 0.62  # true saccades counted: those below the limit of 0.5 deg may pass for noise


@cache
def _simulated(name, seed, hz=250.0):
    plan = replace(impulse(), impulses=20)
    made = simulate(person_from(PEOPLE[name]), (plan,), Equipment(sampling_hz=hz), seed=seed)
    (trial,) = session_from(made, Patient("x"), None).trials
    return made[0].truth, measure_trial(trial, EyeSettings(), MeasureSettings())


def _nearest(times, when):
    return int(np.argmin(np.abs(np.asarray(times) - when)))


def _true_gains(truth, found):
    return [truth.events["gain"][_nearest(truth.events["onset_s"], one.onset_s)] for one in found]


@pytest.mark.parametrize("hz", [250.0, 500.0])
@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("name", PEOPLE)
def test_the_gain_of_a_canal_is_within_two_hundredths_of_the_simulator_s(name, seed, hz):
    truth, result = _simulated(name, seed, hz)
    for canal in ("right lateral", "left lateral"):
        used = [one for one in own(result).of(canal) if one.accepted]
        assert len(used) >= 7
        gain = table(result)[canal, "gain"]
        assert gain.value == pytest.approx(np.median(_true_gains(truth, used)), abs=0.02)
        assert gain.low < gain.value < gain.high


def test_single_impulses_without_a_saccade_are_within_a_hundredth():
    errors = []
    for seed in SEEDS:
        truth, result = _simulated("healthy", seed)
        used = [one for one in own(result).impulses if one.accepted and not one.response.fast.any()]
        errors += list(np.array([one.gain for one in used]) - _true_gains(truth, used))
    assert len(errors) > 15
    assert np.max(np.abs(errors)) < 0.012


def _compared_saccades(truth, one):
    """Onset errors of true corrective saccades that were found, how many were not, and how many
    were found that are none."""
    index = _nearest(truth.events["onset_s"], one.onset_s)
    onset_s, side = truth.events["onset_s"][index], truth.events["side"][index]
    quick = truth.quick_phases
    since = np.asarray(quick.onset_s) - onset_s
    size = -side * np.asarray(quick.amplitude_deg)
    true = since[(since > 0.065) & (since < 0.46) & (size > LEAST_DEG)]
    real = since[(since > 0.03) & (since < 0.55) & (size > 0.3)]
    found = np.array([s.onset_s + one.onset_s - onset_s for s in one.correcting])
    errors = [found[_nearest(found, t)] - t if found.size else np.inf for t in true]
    hits = [error for error in errors if abs(error) < WITHIN_S]
    false = sum(not np.any(np.abs(real - t) < WITHIN_S) for t in found)
    return hits, len(true) - len(hits), false


def test_corrective_saccades_of_the_simulator_are_found_where_and_when_they_are():
    hits, missed, false = [], 0, 0
    for name in PEOPLE:
        for seed in SEEDS:
            truth, result = _simulated(name, seed)
            for one in own(result).impulses:
                if one.accepted and one.watched:
                    more = _compared_saccades(truth, one)
                    hits, missed, false = hits + more[0], missed + more[1], false + more[2]
    assert len(hits) > 300
    assert len(hits) / (len(hits) + missed) >= 0.97
    assert len(hits) / (len(hits) + false) >= 0.97
    assert np.quantile(np.abs(hits), 0.95) < 0.008
    assert abs(np.median(hits)) < 0.003


# From here on: impulses that the simulator does not make, see made_impulses.


@pytest.mark.parametrize("rate_hz", [100.0, 220.0, 1000.0])
@pytest.mark.parametrize("gains", [(0.95, 0.3), (0.6, 1.05), (0.1, 0.0)])
def test_gains_of_other_impulses_are_within_two_hundredths(gains, rate_hz):
    result = measured(recording_of(Made(series(gains=gains, seed=3), rate_hz=rate_hz)))
    for canal, gain in zip(("right lateral", "left lateral"), gains, strict=True):
        for name in ("gain", "gain_regression"):
            assert table(result)[canal, name].value == pytest.approx(gain, abs=0.02)
        assert table(result)[canal, "impulses"].value == 10


@pytest.mark.parametrize("early", [False, True])
def test_a_response_that_saturates_has_the_gain_of_its_area(early):
    given = [replace(one, gain=0.8, limit_deg_s=70.0, saccades=((0.1, 5.0),) if early else ())
             for one in series(seed=12)]  # fmt: skip
    result = measured(recording_of(Made(tuple(given))))
    found = own(result).impulses
    errors = [one.gain - true_gain(true) for one, true in zip(found, given, strict=True)]
    assert abs(np.median(errors)) < 0.01
    assert np.quantile(np.abs(errors), 0.9) < (0.03 if early else 0.015)


def _with_saccades(seed, gain, early_share):
    """Saccades that mend what a gain leaves open: some early, then one late."""
    rng = np.random.default_rng([seed, 3])
    given = []
    for one in series(gains=(gain, gain), seed=seed):
        left = (1.0 - gain) * one.turn_deg
        made = []
        if rng.random() < early_share:
            size = rng.uniform(0.4, 0.7) * left
            made.append((float(rng.uniform(0.085, 0.125)), float(size)))
            left -= size
        made.append((float(rng.uniform(0.21, 0.30)), float(0.9 * left)))
        given.append(replace(one, saccades=tuple(made)))
    return tuple(given)


@pytest.mark.parametrize("rate_hz", [220.0, 500.0])
@pytest.mark.parametrize("gain", [0.3, 0.5, 0.7])
def test_saccades_of_other_impulses_are_found_and_taken_out(gain, rate_hz):
    found, missed, extra, late = [], 0, 0, []
    for seed in (5, 6):
        given = _with_saccades(seed, gain, 0.6)
        result = measured(recording_of(Made(given, rate_hz=rate_hz, seed=seed)))
        for canal in ("right lateral", "left lateral"):
            assert table(result)[canal, "gain"].value == pytest.approx(gain, abs=0.02)
        for one, true in zip(own(result).impulses, given, strict=True):
            times = np.array([one.onset_s + s.onset_s - true.onset_s for s in one.correcting])
            wanted = np.array([latency for latency, _ in true.saccades])
            near = [times[_nearest(times, t)] - t for t in wanted]
            found += [error for error in near if abs(error) < WITHIN_S]
            missed += sum(abs(error) >= WITHIN_S for error in near)
            extra += max(len(times) - len(wanted), 0)
            late += [s.amplitude_deg - size for s, (_, size) in
                     zip(one.correcting[-1:], true.saccades[-1:], strict=True)]  # fmt: skip
    assert len(found) / (len(found) + missed) >= 0.97
    assert len(found) / (len(found) + extra) >= 0.97
    assert np.quantile(np.abs(found), 0.95) < 0.008
    assert np.median(np.abs(late)) < 0.3


def test_shares_latencies_and_sizes_of_other_impulses_come_back():
    given = [replace(one, saccades=((0.10, 4.0), (0.24, 3.0)) if one.side > 0 else ((0.25, 2.0),))
             for one in series(gains=(0.55, 0.85), seed=8)]  # fmt: skip
    found = table(measured(recording_of(Made(tuple(given)))))
    right = {name: m for (of, name), m in found.items() if of == "right lateral"}
    assert right["early_saccades"].value == right["late_saccades"].value == 100.0
    assert right["early_latency"].value == pytest.approx(100.0, abs=8.0)
    assert right["late_latency"].value == pytest.approx(240.0, abs=8.0)
    assert right["early_amplitude"].value == pytest.approx(4.0, abs=0.35)
    assert right["late_amplitude"].value == pytest.approx(3.0, abs=0.2)
    assert right["early_scatter"].value < 6.0
    assert found["left lateral", "early_saccades"].value == 0.0
    assert found["left lateral", "early_latency"].why[0] == "no_such_saccade"
    assert found["left lateral", "late_amplitude"].value == pytest.approx(2.0, abs=0.2)


def test_ninety_five_in_a_hundred_intervals_hold_the_gain_of_the_patient():
    """Each impulse has a gain of its own; the interval is that of the patient's."""
    inside = spreads = 0
    for seed in range(40):
        given = series(14, gains=(0.7, 0.7), spread=0.05, seed=100 + seed)
        found = table(measured(recording_of(Made(given, seed=seed))))
        for canal in ("right lateral", "left lateral"):
            gain, spread = found[canal, "gain"], found[canal, "gain_spread"]
            inside += gain.low <= 0.7 <= gain.high
            spreads += spread.low <= 0.05 <= spread.high
    assert 0.90 <= inside / 80 <= 1.0
    assert 0.87 <= spreads / 80 <= 1.0


def test_a_gain_that_falls_with_head_speed_is_told_by_its_slope():
    def falling(one):
        peak = 1.875 * one.turn_deg / one.lasting_s  # of a minimum-jerk movement
        return replace(one, gain=0.8 - 0.2 * (peak - 200.0) / 100.0)

    given = tuple(falling(one) for one in series(24, seed=4))
    slope = table(measured(recording_of(Made(given))))["right lateral", "speed_slope"]
    assert slope.value == pytest.approx(-0.2, abs=0.03)
    assert slope.low < -0.2 < slope.high
