"""The main sequence: peak velocity against amplitude, V·(1 − exp(−A/c))."""

from dataclasses import dataclass

import numpy as np

from slowphase.eye.noise import robust_sd
from slowphase.eye.robust_line import bisquare
from slowphase.foundation.arrays import FloatArray
from slowphase.measures.interval import Estimate, proportional, t_quantile
from slowphase.measures.saccade.settings import SaccadeSettings

ROUNDS = 50  # most iterations
STILL = 1e-10  # a step under this ends the fit
SPREAD_MIN = 0.02  # least relative scatter of peaks that is believed


@dataclass(frozen=True, slots=True)
class MainSequence:
    """log V and log c with their covariance, shape (2, 2), and the degrees of freedom."""

    parameters: FloatArray
    covariance: FloatArray
    degrees: float

    def speed(self, amplitude_deg: FloatArray) -> FloatArray:
        """Peak speed (deg/s) of saccades of these sizes."""
        return np.exp(log_speed(self.parameters, np.abs(amplitude_deg)))

    def at(self, amplitude_deg: float) -> Estimate:
        """Peak speed (deg/s) of a saccade of this size, with its interval."""
        size = np.array([amplitude_deg])
        slope = gradient(self.parameters, size)[0]
        error = float(np.sqrt(slope @ self.covariance @ slope))
        value = float(np.exp(log_speed(self.parameters, size))[0])
        return proportional(value, error, t_quantile(self.degrees))


def log_speed(parameters: FloatArray, size_deg: FloatArray) -> FloatArray:
    """Logarithm of V·(1 − exp(−A/c))."""
    return np.asarray(parameters[0] + np.log(-np.expm1(-size_deg / np.exp(parameters[1]))))


def gradient(parameters: FloatArray, size_deg: FloatArray) -> FloatArray:
    """Derivatives of ``log_speed`` by log V and log c, shape (k, 2)."""
    share = size_deg / np.exp(parameters[1])
    return np.column_stack([np.ones(size_deg.size), -share / np.expm1(share)])


def main_sequence(
    size_deg: FloatArray, peak_deg_s: FloatArray, settings: SaccadeSettings
) -> MainSequence | None:
    """Bisquare fit of log peak on size, c held by its prior; None with too few saccades.

    Sizes and peaks are positive, shape (k,). Relative errors of peaks are taken as alike.
    """
    enough = size_deg >= settings.sequence_min_deg
    size, peak = size_deg[enough], peak_deg_s[enough]
    if size.size < settings.answers_min:
        return None
    target, prior = np.log(peak), float(np.log(settings.scale_deg))
    start = float(np.median(target - log_speed(np.array([0.0, prior]), size)))
    parameters, information = np.array([start, prior]), np.eye(2)
    for _ in range(ROUNDS):
        slope, left = gradient(parameters, size), target - log_speed(parameters, size)
        weight = _weights(left, settings)
        spread = max(
            float(np.sqrt(np.sum(weight * left**2) / max(weight.sum() - 1, 1))), SPREAD_MIN
        )
        bend = np.diag([0.0, settings.scale_log_sd**-2])
        information = (slope.T * weight) @ slope / spread**2 + bend
        pull = slope.T @ (weight * left) / spread**2 + bend @ np.array([0.0, prior - parameters[1]])
        step = np.linalg.solve(information, pull)
        parameters = parameters + step
        if np.abs(step).max() < STILL:
            break
    covariance = np.asarray(np.linalg.inv(information), dtype=float)
    return MainSequence(parameters, covariance, float(size.size - 1))


def _weights(left: FloatArray, settings: SaccadeSettings) -> FloatArray:
    scale = max(robust_sd(left), settings.outlier_spread_min)
    return bisquare(left / (settings.outlier_sd * scale))
