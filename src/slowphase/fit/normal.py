"""One trial compressed: what it says about the ten parameters of its reflex, near one point."""

from dataclasses import dataclass

import numpy as np

from slowphase.foundation.arrays import FloatArray
from slowphase.measures.two_directions import Carried


@dataclass(frozen=True, slots=True)
class Normal:
    """Normal equations of generalised least squares around a point.

    ``information`` (10, 10), ``gradient`` (10,) and ``squares``, the sum of squared residuals
    there, all under the trial's own noise.
    """

    information: FloatArray
    gradient: FloatArray
    squares: float


def compress(trial: Carried, local: FloatArray) -> Normal:
    """The normal equations of one trial at the parameters ``local`` (10,)."""
    model = trial.model
    columns = model.jacobian(local)
    residual = trial.pieces.velocity_deg_s - model(local)
    products = trial.drift.products(np.column_stack([columns, residual]), trial.told)
    return Normal(products[:-1, :-1], products[:-1, -1], float(products[-1, -1]))


def honest_information(trial: Carried, local: FloatArray) -> FloatArray:
    """What the trial says, without contrasts within blocks of time, shape (10, 10)."""
    return trial.drift.information(trial.model.jacobian(local), trial.told)
