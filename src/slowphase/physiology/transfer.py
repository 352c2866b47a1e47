"""Linear filters of the reflex, known by their zeros and poles.

    H(s) = Π(s − z) / Π(s − p) = 1 + Σ rᵢ / (s − pᵢ)

Every filter here passes fast motion unchanged (H(∞) = 1). It runs as parallel first-order
sections, each exact for head velocity that is linear between samples (first-order hold), so that
the result does not depend on the sampling rate.
"""

from dataclasses import dataclass
from math import isinf, prod

import numpy as np
from numpy.typing import NDArray

from slowphase.foundation.arrays import FloatArray

NUDGE = 1e-6  # relative distance kept between poles, so that residues stay finite


@dataclass(frozen=True, slots=True)
class Transfer:
    """Zeros and poles in 1/s, equally many; poles are real and ≤ 0."""

    zeros: tuple[float, ...]
    poles: tuple[float, ...]

    def __mul__(self, other: "Transfer") -> "Transfer":
        return Transfer(self.zeros + other.zeros, self.poles + other.poles)


def high_pass(time_constant_s: float) -> Transfer:
    """s·T / (1 + s·T); an infinite T passes everything."""
    if isinf(time_constant_s):
        return Transfer((), ())
    return Transfer((0.0,), (-1.0 / time_constant_s,))


def _distinct(poles: tuple[float, ...]) -> list[float]:
    spread: list[float] = []
    for pole in poles:
        apart = pole
        while any(abs(other - apart) <= NUDGE / 2 * abs(apart) for other in spread):
            apart *= 1.0 + NUDGE
        spread.append(apart)
    return spread


def residues(transfer: Transfer) -> tuple[FloatArray, FloatArray]:
    """The poles pᵢ and residues rᵢ of H(s) − 1, each of shape (m,), in 1/s."""
    poles = _distinct(transfer.poles)
    weights = [
        prod(pole - zero for zero in transfer.zeros)
        / prod(pole - other for other in poles[:index] + poles[index + 1 :])
        for index, pole in enumerate(poles)
    ]
    return np.array(poles, dtype=float), np.array(weights, dtype=float)


def frequency_response(transfer: Transfer, frequency_hz: FloatArray) -> NDArray[np.complex128]:
    """H(j2πf), shape of ``frequency_hz``; |H| is the relative gain, arg H the lead."""
    s = 2j * np.pi * np.asarray(frequency_hz, dtype=float)
    response = np.ones_like(s)
    for zero, pole in zip(transfer.zeros, transfer.poles, strict=True):
        response = response * (s - zero) / (s - pole)
    return response


def step_response(transfer: Transfer, time_s: FloatArray) -> FloatArray:
    """The response to a unit step of head velocity at time 0, shape of ``time_s``."""
    time_s = np.asarray(time_s, dtype=float)
    poles, weights = residues(transfer)
    response = np.ones_like(time_s)
    for pole, weight in zip(poles, weights, strict=True):
        response += weight * (np.expm1(pole * time_s) / pole)
    return np.where(time_s >= 0, response, 0.0)


def _hold_weights(rate: float) -> tuple[float, float, float]:
    """Decay and the weights of the old and new sample over one step; ``rate`` = −p·h."""
    kept = float(np.exp(-rate))
    if rate < 1e-3:
        whole = 1 - rate / 2 + rate**2 / 6 - rate**3 / 24
        new = 0.5 - rate / 6 + rate**2 / 24 - rate**3 / 120
    else:
        whole = -float(np.expm1(-rate)) / rate
        new = (1 - whole) / rate
    return kept, whole - new, new


def leaky_integral(rate_per_s: float, signal: FloatArray, sampling_hz: float) -> FloatArray:
    """The solution of x' = signal − rate·x from rest; (n,) in, (n,) out."""
    if signal.size == 0:
        return np.zeros(0)
    step_s = 1.0 / sampling_hz
    kept, old, new = _hold_weights(rate_per_s * step_s)
    gained = step_s * new * signal
    gained[0] = 0.0
    gained[1:] += step_s * old * signal[:-1]
    return _decaying_sum(kept, gained)


def _decaying_sum(kept: float, gained: FloatArray) -> FloatArray:
    """x[i] = kept·x[i−1] + gained[i] from x[−1] = 0, shape (n,).

    Runs in blocks over which ``kept`` falls to 1e-3, as running sums of gained/kept^i: no loop
    over samples, and no need to load a signal library for one recursion.
    """
    length = int(min(gained.size, max(1.0, np.log(1e3) / max(-np.log(max(kept, 1e-300)), 1e-12))))
    count = -(-gained.size // length)
    padded = np.zeros(count * length)
    padded[: gained.size] = gained
    falling = kept ** np.arange(length)
    sums = padded.reshape(count, length)
    sums /= falling
    np.cumsum(sums, axis=1, out=sums)
    sums *= falling
    carried, over = 0.0, kept * falling
    for index in range(count):
        sums[index] += carried * over
        carried = sums[index, -1]
    return sums.ravel()[: gained.size]


def filtered(transfer: Transfer, head_velocity_deg_s: FloatArray, sampling_hz: float) -> FloatArray:
    """Head velocity after the filter, from rest before the first sample; (n,) in, (n,) out."""
    poles, weights = residues(transfer)
    output = np.array(head_velocity_deg_s, dtype=float)
    for pole, weight in zip(poles, weights, strict=True):
        output += weight * leaky_integral(-pole, head_velocity_deg_s, sampling_hz)
    return output
