import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from slowphase.physiology.fixation import Fixation, residual, spontaneous_residual


def test_suppression_falls_with_frequency():
    # Koenig, Dichgans, Dengler 1986, Acta Otolaryngol 102:423–431, abstract read
    left = [residual(Fixation(), frequency) for frequency in (0.04, 0.16, 0.32, 0.64, 1.28)]
    assert np.all(np.diff(left) > 0)


def test_a_healthy_person_suppresses_four_fifths_at_low_and_middle_speeds():
    # common practice, no source
    assert residual(Fixation(), 0.04) < 0.2
    assert residual(Fixation(), 0.16) < 0.2


@given(st.floats(0.0, 1.0), st.floats(0.0, 5.0))
def test_what_is_left_is_a_share(strength, frequency_hz):
    assert 0.0 <= residual(Fixation(strength=strength), frequency_hz) <= 1.0


def test_a_spontaneous_nystagmus_may_be_suppressed_less():
    assert spontaneous_residual(Fixation(strength=0.9, spontaneous=0.5)) == 0.5
