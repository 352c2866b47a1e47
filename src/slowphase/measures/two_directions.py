"""A reflex with two exciting directions, and what the fit of one trial hands to the session's.

    v = b - g_R f([u_R]+) + g_L f([u_L]-) - k gaze,   f(u) = u - c u³ / peak²

u_R and u_L are the chair's motion filtered by s²·T·Ta/((1+sT)(1+sTa)) with the decay of each
direction, ``lead`` seconds ahead. Every moving trial is a case of it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from slowphase.foundation.arrays import FloatArray
from slowphase.measures.generalised import Drift
from slowphase.measures.reflex import Drive, averaged

if TYPE_CHECKING:
    from slowphase.eye.slowphase import Pieces
    from slowphase.measures.step import Change

BIAS, GAZE, BEND, RIGHT, LEFT, DECAY_R, DECAY_L, ADAPT, LEAD_R, LEAD_L = range(10)
SIZE = 10  # number of parameters
DIRECTIONS = (  # way of the chair, and where gain, decay and lead stand
    (1.0, RIGHT, DECAY_R, LEAD_R),
    (-1.0, LEFT, DECAY_L, LEAD_L),
)


@dataclass(frozen=True, slots=True)
class TwoDirections:
    """Slow-phase velocity at the nodes of ``drive``, averaged over each row of nodes, shape (p,).

    Parameters in the order of this module's constants: bias (deg/s), gaze slope (1/s), bend, gains,
    logarithms of both decays and of adaptation (s), leads (s). ``gaze_deg`` (p,) is eye position.
    Without a ``drive`` nothing moves.
    """

    drive: Drive | None
    gaze_deg: FloatArray

    def __call__(self, parameters: FloatArray) -> FloatArray:
        """Predictions (p,)."""
        total = parameters[BIAS] - parameters[GAZE] * self.gaze_deg
        return np.asarray(total + self.moved(parameters), dtype=float)

    def moved(self, parameters: FloatArray) -> FloatArray:
        """The part that the chair causes, shape (p,)."""
        total = np.zeros(self.gaze_deg.shape)
        if self.drive is None:
            return total
        for way, gain, decay, lead in DIRECTIONS:
            half = self.drive.half(way, *parameters[[decay, ADAPT, lead]].tolist())
            share = half / self.drive.motion.peak_deg_s
            bent = half * (1.0 - parameters[BEND] * share**2)
            total = total - way * parameters[gain] * averaged(bent)
        return total

    def jacobian(self, parameters: FloatArray) -> FloatArray:
        """Derivatives with respect to the ten parameters, shape (p, 10)."""
        columns = np.zeros((self.gaze_deg.size, SIZE))
        columns[:, BIAS], columns[:, GAZE] = 1.0, -self.gaze_deg
        if self.drive is None:
            return columns
        bend = parameters[BEND]
        for way, gain, decay, lead in DIRECTIONS:
            at = tuple(parameters[[decay, ADAPT, lead]].tolist())
            half = self.drive.half(way, *at)
            share = half / self.drive.motion.peak_deg_s
            columns[:, gain] = -way * averaged(half * (1.0 - bend * share**2))
            strength = -way * parameters[gain]
            columns[:, BEND] -= strength * averaged(half * share**2)
            steepness = strength * (1.0 - 3.0 * bend * share**2)
            slopes = self.drive.half_derivatives(way, at)
            for index, slope in zip((decay, ADAPT, lead), slopes, strict=True):
                columns[:, index] += averaged(steepness * slope)
        return columns


@dataclass(frozen=True, slots=True)
class Carried:
    """The slow phase of one trial as its own fit left it: what the session's fit starts from.

    ``told`` (p,) is the inverse variance that each piece is worth (0 for outliers and lapses),
    ``drift`` what is alike between pieces. ``own`` (10,) are the trial's own parameters in the
    order of this module's constants, ``degrees`` the degrees of freedom of its noise.
    ``gaze_known`` says that straight ahead is known, ``responds`` that the response stands out of
    the noise. Only a sinusoid has ``frequency_hz`` and ``peak_deg_s``, its measured peak (0 for
    others), and only a spin has ``changes``; ``seconds`` is the length of the recording.
    """

    trial: str
    kind: str
    vision: str
    frequency_hz: float | None
    peak_deg_s: float
    seconds: float
    drive: Drive | None
    pieces: Pieces
    changes: tuple[Change, ...]
    told: FloatArray
    drift: Drift
    own: FloatArray
    degrees: float
    gaze_known: bool
    responds: bool

    @property
    def model(self) -> TwoDirections:
        """The model of this trial's slow phase."""
        return TwoDirections(self.drive, self.pieces.gaze_deg)
