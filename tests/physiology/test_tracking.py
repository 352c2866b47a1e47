from dataclasses import replace

import numpy as np
import pytest

from slowphase.physiology.blink import Blinking
from slowphase.physiology.person import Person
from slowphase.physiology.tracking import BadTracking
from tests.physiology.hard_trial import CLEAN, changes, recorded

TRACKING = BadTracking(per_min=6.0, lasting_s=8.0, noise_times=12.0, spikes_per_s=0.0)
BLINKING = Person(blinking=Blinking(per_min=30.0))


def test_bad_tracking_multiplies_the_noise_of_one_eye_only_while_it_lasts():
    equipment = replace(CLEAN, noise_deg=0.05, bad_tracking=TRACKING)
    trial, true = recorded(equipment), recorded().traces.channels
    bad = trial.truth.bad
    noise = trial.traces.channels["eye_h_left"] - true["eye_h_left"]
    assert np.std(noise[bad["left"]]) == pytest.approx(0.6, rel=0.1)
    assert np.std(noise[~bad["left"]]) == pytest.approx(0.05, rel=0.1)
    assert not bad["right"].any()
    other = trial.traces.channels["eye_h_right"] - true["eye_h_right"]
    assert np.std(other) == pytest.approx(0.05, rel=0.1)


def test_spikes_are_single_samples_within_the_bad_spells():
    spiking = replace(TRACKING, spikes_per_s=4.0, spike_deg=8.0)
    equipment = replace(CLEAN, bad_tracking=spiking)
    spikes = changes(equipment)["eye_h_left"] != 0.0
    bad = recorded(equipment).truth.bad["left"]
    expected = 4.0 * bad.sum() / CLEAN.sampling_hz
    assert spikes.sum() == pytest.approx(expected, abs=4 * np.sqrt(expected))
    assert bad[spikes].all()
    assert (spikes[1:] & spikes[:-1]).sum() < 0.1 * spikes.sum()


def test_a_tracker_that_keeps_what_it_lost_stores_dives_instead_of_gaps():
    losing = replace(CLEAN, losses_per_min=6.0)
    gaps = recorded(losing, person=BLINKING)
    kept = recorded(replace(losing, keeps_lost=True), person=BLINKING)
    for role, trace in kept.traces.channels.items():
        lost = np.isnan(gaps.traces.channels[role])
        assert lost.any()
        np.testing.assert_array_equal(trace[~lost], gaps.traces.channels[role][~lost])
        assert np.isfinite(trace).all()
        np.testing.assert_array_equal(kept.truth.bad[role.split("_")[2]], lost)
    lost = np.isnan(gaps.traces.channels["eye_v_right"])
    dive = kept.traces.channels["eye_v_right"][lost] - np.interp(
        kept.traces.time_s[lost],
        kept.traces.time_s[~lost],
        kept.traces.channels["eye_v_right"][~lost],
    )
    assert np.mean(dive) < -5.0


def test_what_a_tracker_reports_as_lost_is_not_called_bad():
    trial = recorded(replace(CLEAN, losses_per_min=20.0), person=BLINKING)
    assert not any(mask.any() for mask in trial.truth.bad.values())
