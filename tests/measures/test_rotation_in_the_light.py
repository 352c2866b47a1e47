"""Rotation in the light with an earth-fixed scene is a sinusoid as any other."""

import numpy as np
import pytest
from made_traces import RATE_HZ, measured, recorded, times, trial, turning


@pytest.mark.parametrize("frequency_hz", [0.02, 0.08, 0.32])
@pytest.mark.parametrize(("gain", "late_s"), [(0.98, 0.0), (0.75, 0.1)])
def test_gain_and_phase_with_an_earth_fixed_scene_are_those_of_the_eye(frequency_hz, gain, late_s):
    time_s = times(3.0 + 4.0 / frequency_hz + 2.0)
    head = turning(frequency_hz, 4.0, time_s)
    eye = -gain * np.roll(head, round(late_s * RATE_HZ))
    one = trial(
        "sinusoid",
        recorded(eye, head, time_s),
        vision="earth-fixed scene",
        frequency_hz=frequency_hz,
        peak_velocity_deg_s=60.0,
    )
    found = measured(one)
    assert found["gain"].value == pytest.approx(gain, abs=0.015)
    assert found["phase"].value == pytest.approx(-360.0 * frequency_hz * late_s, abs=1.0)
    assert found["gain"].low <= gain + 0.005
    assert found["gain"].high >= gain - 0.005
