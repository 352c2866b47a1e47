"""Spells: stretches of a trial in which something lasts, with soft or hard edges."""

from dataclasses import dataclass

import numpy as np

from slowphase.foundation.arrays import BoolArray, FloatArray


@dataclass(frozen=True, slots=True)
class Spell:
    """From ``start_s`` to ``stop_s``."""

    start_s: float
    stop_s: float


def draw_spells(
    per_min: float, lasting_s: float, length_s: float, rng: np.random.Generator
) -> tuple[Spell, ...]:
    """Spells at random times, each 0.5 to 1.5 times ``lasting_s``; overlapping ones are dropped."""
    starts = np.sort(rng.uniform(0.0, length_s, rng.poisson(per_min * length_s / 60.0)))
    spells: list[Spell] = []
    for start_s in starts:
        stop_s = float(start_s + lasting_s * rng.uniform(0.5, 1.5))
        if not spells or start_s > spells[-1].stop_s:
            spells.append(Spell(float(start_s), stop_s))
    return tuple(spells)


def ramp(time_s: FloatArray, start_s: float, lasting_s: float) -> FloatArray:
    """From 0 to 1 along half a cosine, shape (n,); a jump where ``lasting_s`` is 0."""
    if lasting_s <= 0.0:
        return np.asarray(time_s >= start_s, dtype=float)
    fraction = np.clip((time_s - start_s) / lasting_s, 0.0, 1.0)
    return np.asarray(0.5 - 0.5 * np.cos(np.pi * fraction))


def spell_shape(spells: tuple[Spell, ...], edge_s: float, time_s: FloatArray) -> FloatArray:
    """1 within the spells and 0 outside, with edges of ``edge_s`` inside them, shape (n,)."""
    shape = np.zeros(time_s.shape)
    for spell in spells:
        rise = ramp(time_s, spell.start_s, edge_s)
        shape += rise * (1.0 - ramp(time_s, spell.stop_s - edge_s, edge_s))
    return shape


def spell_mask(spells: tuple[Spell, ...], time_s: FloatArray) -> BoolArray:
    """Where a spell is going on, shape (n,)."""
    mask = np.zeros(time_s.shape, dtype=bool)
    for spell in spells:
        mask |= (time_s >= spell.start_s) & (time_s <= spell.stop_s)
    return mask
