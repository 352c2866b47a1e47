"""The response of a reflex to the chair's measured motion, where the pieces of slow phase are."""

from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from slowphase.eye.slowphase import Pieces, integrate
from slowphase.foundation.arrays import FloatArray
from slowphase.foundation.median import quantile
from slowphase.measures.noise_model import noise_prior
from slowphase.measures.regression import Data
from slowphase.measures.settings import MeasureSettings
from slowphase.physiology.storage import effective
from slowphase.physiology.transfer import filtered, leaky_integral, residues

REMEMBERED = 60  # responses kept: more than one round of a fit asks for
NUDGE = 1e-6  # of a logarithm or a latency (s): small for any curve, large beside rounding


@dataclass(frozen=True)
class Motion:
    """Chair velocity on an even grid: ``time_s`` and ``velocity_deg_s`` of shape (m,).

    ``began_turning`` says that a lasting velocity from before the recording was taken away.
    """

    time_s: FloatArray
    velocity_deg_s: FloatArray
    began_turning: bool = False

    @property
    def rate_hz(self) -> float:
        """Grid points per second."""
        return 1.0 / float(self.time_s[1] - self.time_s[0])

    @cached_property
    def peak_deg_s(self) -> float:
        """Largest lasting speed of the chair."""
        return max(quantile(np.abs(self.velocity_deg_s), 0.98), 1e-6)

    def response(self, decay_s: float, adaptation_s: float) -> FloatArray:
        """Head velocity filtered by s²·T·Ta / ((1+sT)(1+sTa)), from rest, shape (m,)."""
        return filtered(effective(decay_s, adaptation_s), self.velocity_deg_s, self.rate_hz)

    def with_velocity(self, velocity_deg_s: FloatArray) -> "Motion":
        """The same grid with another velocity."""
        return Motion(self.time_s, velocity_deg_s, self.began_turning)


@dataclass(frozen=True, slots=True)
class Drive:
    """Responses to one motion at given times, remembered while a fit varies other parameters.

    ``nodes_s`` has shape (p, q): q times whose mean stands for observation p.
    """

    motion: Motion
    nodes_s: FloatArray
    _known: dict[tuple[float, ...], FloatArray] = field(default_factory=dict)

    def __call__(self, decay_s: float, adaptation_s: float, lead_s: float = 0.0) -> FloatArray:
        """Filtered head velocity ``lead_s`` ahead of the nodes, shape (p, q)."""
        return self._once((decay_s, adaptation_s, lead_s), self._at_nodes)

    def half(
        self, way: float, log_decay: float, log_adaptation: float, lead_s: float
    ) -> FloatArray:
        """The half wave of one direction (``way`` 1.0 right, -1.0 left), never below 0, (p, q)."""
        decay_s, adaptation_s = float(np.exp(log_decay)), float(np.exp(log_adaptation))
        return np.maximum(way * self(decay_s, adaptation_s, lead_s), 0.0)

    def half_derivatives(self, way: float, at: tuple[float, float, float]) -> list[FloatArray]:
        """Derivatives of `half` with respect to each of its three arguments, shape (p, q) each."""
        base, (decay, adaptation, lead) = self.half(way, *at), at
        moved = (
            (decay + NUDGE, adaptation, lead),
            (decay, adaptation + NUDGE, lead),
            (decay, adaptation, lead + NUDGE),
        )
        return [(self.half(way, *place) - base) / NUDGE for place in moved]

    def _at_nodes(self, decay_s: float, adaptation_s: float, lead_s: float) -> FloatArray:
        poles, weights = residues(effective(decay_s, adaptation_s))
        response = self.motion.velocity_deg_s + sum(
            weight * self._once((-pole,), self._leaky)
            for pole, weight in zip(poles.tolist(), weights.tolist(), strict=True)
        )
        at = np.interp(self.nodes_s.ravel() + lead_s, self.motion.time_s, response)
        return at.reshape(self.nodes_s.shape)

    def _leaky(self, rate_per_s: float) -> FloatArray:
        return leaky_integral(rate_per_s, self.motion.velocity_deg_s, self.motion.rate_hz)

    def _once(self, key: tuple[float, ...], make: Callable[..., FloatArray]) -> FloatArray:
        if key not in self._known:
            if len(self._known) >= REMEMBERED:
                self._known.clear()
            self._known[key] = make(*key)
        return self._known[key]


def averaged(values: FloatArray) -> FloatArray:
    """Mean over the nodes of each observation, (p, q) in, (p,) out: by columns, which are few."""
    first, *others = values.T
    return np.asarray(sum(others, first) / values.shape[1]) if others else np.asarray(first)


def resample_motion(time_s: FloatArray, velocity_deg_s: FloatArray, rate_hz: float) -> Motion:
    """Chair velocity averaged over the cells of an even grid; lost samples are bridged.

    Averaging goes through the integral, so that no displacement is lost and noise is.
    """
    known, velocity = np.isfinite(velocity_deg_s), velocity_deg_s
    if not known.all():
        velocity = np.interp(time_s, time_s[known], velocity_deg_s[known])
    position = integrate(velocity, time_s)
    count = max(2, int(np.ceil((time_s[-1] - time_s[0]) * rate_hz)))
    edges = np.linspace(time_s[0], time_s[-1], count + 1)
    mean = np.diff(np.interp(edges, time_s, position)) / np.diff(edges)
    return Motion((edges[:-1] + edges[1:]) / 2, mean)


def data_of(pieces: Pieces, settings: MeasureSettings) -> Data:
    """The pieces as observations, each with full weight."""
    return Data(
        pieces.time_s,
        pieces.velocity_deg_s,
        pieces.noise_deg_s,
        np.ones(len(pieces)),
        settings.outlier_sd,
        noise_prior(settings),
    )
