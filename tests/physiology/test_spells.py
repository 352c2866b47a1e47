from itertools import pairwise

import numpy as np
import pytest

from slowphase.physiology.spells import Spell, draw_spells, ramp, spell_mask, spell_shape

TIME_S = np.arange(60_000) / 100.0


def test_spells_come_about_as_often_and_last_about_as_long_as_asked():
    spells = draw_spells(2.0, 4.0, 6000.0, np.random.default_rng(1))
    lengths = [spell.stop_s - spell.start_s for spell in spells]
    assert np.mean(lengths) == pytest.approx(4.0, rel=0.05)
    assert 140 < len(spells) <= 230


def test_spells_never_overlap():
    spells = draw_spells(40.0, 4.0, 600.0, np.random.default_rng(2))
    assert all(one.stop_s < two.start_s for one, two in pairwise(spells))


def test_the_shape_is_one_inside_zero_outside_and_soft_between():
    spells = (Spell(10.0, 16.0), Spell(30.0, 33.0))
    shape, mask = spell_shape(spells, 1.0, TIME_S), spell_mask(spells, TIME_S)
    assert np.all(shape[~mask] == 0.0)
    assert np.all(shape[(TIME_S > 11.0) & (TIME_S < 15.0)] == 1.0)
    assert np.abs(np.diff(shape)).max() < 0.02


def test_a_ramp_without_length_is_a_jump():
    jump = ramp(np.array([0.9, 1.0, 1.1]), 1.0, 0.0)
    np.testing.assert_array_equal(jump, [0.0, 1.0, 1.0])
