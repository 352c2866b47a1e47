"""The unit of a column from what its header says, else from the size of its numbers."""

import numpy as np

from slowphase.foundation.arrays import FloatArray
from slowphase.recording.column_content import spread
from slowphase.recording.units import Unit


def guess_angle_unit(values: FloatArray, said: Unit | None) -> tuple[str, float, str]:
    """Unit of an eye column, how sure (0..1), and why.

    Eyes move within about ±50 deg, which is ±0.9 rad; cameras count hundreds of pixels.
    """
    if said is not None and said.quantity in ("angle", "uncalibrated"):
        return said.name, 0.95, f"the file says {said.name}"
    size, level = spread(values), abs(float(np.nanmedian(values)))
    if size < 1.2:
        return "rad", 0.3, f"spans {size:.2g}, which would be rad, volts or a still eye in deg"
    if size > 150 or level > 90:
        return "px", 0.4, f"spans {size:.3g} around {level:.3g}, too much for degrees"
    return "deg", 0.8 if size >= 4 else 0.5, f"spans {size:.3g}, as an eye does in deg"


def guess_head_unit(
    values: FloatArray, said: Unit | None, motion: str
) -> tuple[str, str, float, str]:
    """Unit of a head column, its quantity (velocity or angle), how sure (0..1), and why."""
    if said is not None and said.quantity in ("velocity", "angle"):
        return said.name, said.quantity, 0.95, f"the file says {said.name}"
    quantity = "angle" if motion == "position" else "velocity"
    sure = 0.8 if motion else 0.7
    size = spread(values)
    name = "deg/s" if quantity == "velocity" else "deg"
    if size < 12:
        return name, quantity, 0.3, f"spans {size:.2g}: too little for {name} unless it rests"
    if size > 1200 and quantity == "velocity":
        return name, quantity, 0.3, f"spans {size:.3g}: a position, or another unit"
    return name, quantity, sure, f"spans {size:.3g}, as a chair does in {name}"
