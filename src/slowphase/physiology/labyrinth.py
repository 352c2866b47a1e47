"""Two labyrinths: gain, decay and non-linearity by exciting direction.

    v = b − g_R·n([u_R]⁺) + g_L·n([u_L]⁻)

u_R and u_L are head velocity filtered with the dynamics of each exciting direction, [u]⁺ and [u]⁻
their parts above and below zero (both ≥ 0), and n the identity unless a dead zone, a saturation
or an inhibitory cut-off is set. Head velocity is positive to the right, and the slow phase goes
the other way.
"""

from dataclasses import dataclass, field

import numpy as np

from slowphase.foundation.arrays import FloatArray
from slowphase.physiology.storage import Dynamics, reflex_filter
from slowphase.physiology.transfer import filtered

GAIN = 0.65  # 0.5–0.77 over 0.01–0.32 Hz, dark, alerted: Möller et al. about 1990, abstract read
LATENCY_S = 0.008  # from memory, unverified: 7–10 ms
KNEE = 4.0  # how sharply saturation sets in; chosen, no source


@dataclass(frozen=True, slots=True)
class Direction:
    """The reflex when one side is excited.

    ``gain`` is the ratio of eye to head velocity for fast, small motion. ``saturation_deg_s``
    bounds the filtered head velocity that the side can follow (linear below about 100 deg/s: read
    in an abstract, citation not kept); ``dead_zone_deg_s`` is the filtered velocity below which
    nothing answers. ``inhibited_share`` of the gain comes from inhibiting the other side, which
    goes no further once ``cutoff_deg_s`` silences it.
    """

    gain: float = GAIN
    dynamics: Dynamics = field(default_factory=Dynamics)
    saturation_deg_s: float | None = None
    dead_zone_deg_s: float = 0.0
    inhibited_share: float = 0.0
    cutoff_deg_s: float | None = None


@dataclass(frozen=True, slots=True)
class Reflex:
    """Both exciting directions and the latency."""

    right: Direction = field(default_factory=Direction)
    left: Direction = field(default_factory=Direction)
    latency_s: float = LATENCY_S


def _softly_capped(drive: FloatArray, limit: float | None) -> FloatArray:
    if limit is None:
        return drive
    return np.asarray(drive / (1.0 + (drive / limit) ** KNEE) ** (1.0 / KNEE))


def half_response(direction: Direction, drive_deg_s: FloatArray) -> FloatArray:
    """Slow-phase speed (≥ 0) that a filtered head velocity in the exciting direction causes."""
    drive = np.maximum(drive_deg_s - direction.dead_zone_deg_s, 0.0)
    drive = _softly_capped(drive, direction.saturation_deg_s)
    inhibited = _softly_capped(drive, direction.cutoff_deg_s)
    share = direction.inhibited_share
    return direction.gain * ((1.0 - share) * drive + share * inhibited)


def combined(reflex: Reflex, drive_right: FloatArray, drive_left: FloatArray) -> FloatArray:
    """Slow-phase velocity without bias from both filtered head velocities (signed)."""
    return half_response(reflex.left, -drive_left) - half_response(reflex.right, drive_right)


def delayed(signal: FloatArray, latency_s: float, sampling_hz: float) -> FloatArray:
    """The signal ``latency_s`` later, linear between samples, at its first value before."""
    index = np.arange(signal.size, dtype=float)
    return np.interp(index - latency_s * sampling_hz, index, signal)


def reflex_velocity(
    reflex: Reflex, head_velocity_deg_s: FloatArray, sampling_hz: float
) -> FloatArray:
    """Slow-phase velocity in deg/s without bias, from rest; (n,) in, (n,) out."""
    drives = [
        filtered(reflex_filter(side.dynamics), head_velocity_deg_s, sampling_hz)
        for side in (reflex.right, reflex.left)
    ]
    return delayed(combined(reflex, *drives), reflex.latency_s, sampling_hz)
