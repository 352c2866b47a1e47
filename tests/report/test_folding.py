"""Folding a sinusoid's cycles by the phase of the chair."""

import numpy as np
import pytest

from slowphase.report.folding import cycle_phase, folded_medians


def test_the_chairs_velocity_starts_a_cycle_and_its_peak_is_a_quarter_later(analysis):
    trial = next(t for t in analysis.trials if t.id == "sin-0.04")
    phase = cycle_phase(trial)
    head = trial.evidence.head_velocity_deg_s
    folded = folded_medians(phase, head, 36)
    assert folded[9] == pytest.approx(60.0, abs=1.0)
    assert folded[27] == pytest.approx(-60.0, abs=1.0)


def test_an_empty_part_of_the_cycle_is_a_gap():
    phase = np.array([5.0, 15.0, 355.0])
    folded = folded_medians(phase, np.array([1.0, 2.0, 3.0]), 36)
    assert list(folded[[0, 1, 35]]) == [1.0, 2.0, 3.0]
    assert np.isnan(folded[2:35]).all()


def test_only_sinusoids_are_folded(analysis):
    assert all(cycle_phase(t) is None for t in analysis.trials if t.kind == "step")
