"""What a fit needs of a model: predictions for parameters, and how they change with them."""

from collections.abc import Callable
from typing import Protocol, runtime_checkable

import numpy as np

from slowphase.foundation.arrays import FloatArray

Model = Callable[[FloatArray], FloatArray]


@runtime_checkable
class Differentiable(Protocol):
    """A model that knows its derivatives."""

    def __call__(self, parameters: FloatArray) -> FloatArray:
        """Predictions (p,) for parameters (k,)."""

    def jacobian(self, parameters: FloatArray) -> FloatArray:
        """Derivatives of the predictions, shape (p, k)."""


def jacobian_of(model: Model, parameters: FloatArray, predicted: FloatArray) -> FloatArray:
    """The model's derivatives, shape (p, k): its own, or else by forward differences.

    ``predicted`` is the model at ``parameters``.
    """
    if hasattr(model, "jacobian") and isinstance(model, Differentiable):
        return model.jacobian(parameters)
    columns = []
    for index, value in enumerate(parameters):
        shifted = parameters.copy()
        # Away from 0, so that a mirrored recording has mirrored derivatives.
        shifted[index] += float(np.copysign(1e-6 * max(abs(value), 1e-2), value))
        columns.append((model(shifted) - predicted) / (shifted[index] - value))
    return np.column_stack(columns)
