from dataclasses import replace

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from slowphase.physiology.fixation import Fixation, residual, spontaneous_residual
from slowphase.physiology.protocol import sinusoid
from slowphase.physiology.scenario import person_from
from slowphase.physiology.truth import sinusoid_truth


def test_suppression_falls_with_frequency():
    # Koenig, Dichgans, Dengler 1986, Acta Otolaryngol 102:423–431, abstract read
    left = [residual(Fixation(), frequency) for frequency in (0.04, 0.16, 0.32, 0.64, 1.28)]
    assert np.all(np.diff(left) > 0)


def test_a_healthy_person_suppresses_four_fifths_at_low_and_middle_speeds():
    # common practice, no source
    assert residual(Fixation(), 0.04) < 0.2
    assert residual(Fixation(), 0.16) < 0.2


def test_suppression_falls_with_amplitude_where_pursuit_limits_it():
    # the same source: with frequency and amplitude, like pursuit
    limited = Fixation(largest_deg_s=120.0)
    left = [residual(limited, 0.1, peak) for peak in (20.0, 60.0, 120.0, 240.0)]
    assert np.all(np.diff(left) > 0)
    assert left[1] < 0.2  # 60 deg/s is still suppressed by four fifths: common practice
    assert left[3] > 0.4


def test_without_a_limit_amplitude_plays_no_part():
    assert residual(Fixation(), 0.1, 240.0) == residual(Fixation(), 0.1)
    assert Fixation().largest_deg_s is None


def test_a_person_in_short_keys_suppresses_fast_motion_less():
    person = person_from({"age_years": 30})
    plan = sinusoid(0.04, vision="head-fixed target")
    gains = [
        sinusoid_truth(person, replace(plan, peak_velocity_deg_s=peak), 0.0)["gain"]
        for peak in (60.0, 180.0)
    ]
    assert gains[1] > 2.0 * gains[0]


@given(st.floats(0.0, 1.0), st.floats(0.0, 5.0), st.floats(0.0, 500.0))
def test_what_is_left_is_a_share(strength, frequency_hz, peak_deg_s):
    fixation = Fixation(strength=strength, largest_deg_s=100.0)
    assert 0.0 <= residual(fixation, frequency_hz, peak_deg_s) <= 1.0


def test_a_spontaneous_nystagmus_may_be_suppressed_less():
    assert spontaneous_residual(Fixation(strength=0.9, spontaneous=0.5)) == 0.5
