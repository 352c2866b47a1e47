"""Which measures a recording that is not to scale makes wrong by its own share.

What is in degrees or degrees per second is to scale, and so is a gain: eye over head or target.
Ratios of two eye velocities, times, phases and counts are not.
"""

from slowphase.measures.measure import Measure

UNITS = ("deg", "deg/s", "deg/s2")  # UCUM codes
# What its unit and its name alone would tell wrongly.
EXCEPTIONS = {
    "phase": False,  # deg of a cycle, not of the eye
    "head_speed": False,  # the head's own channel
    "chair_noise": False,  # the chair's own channel
    "accuracy": True,  # % of the target's jump that the eye makes
    "velocity_ratio": True,  # of a peak velocity to what the main sequence has for its size
}
VERTICAL = ("vertical", "up", "down", "upward", "downward", "anterior", "posterior")


def to_scale(measure: Measure) -> bool:
    """Whether a wrong scale of eye position makes this measure wrong by its own share."""
    a_gain = measure.unit == "1" and measure.name.startswith("gain")
    return EXCEPTIONS.get(measure.name, measure.unit in UNITS or a_gain)


def plane_of(measure: Measure) -> str:
    """The plane of the eye movement: what is not said to be another one is horizontal."""
    words = (measure.of or "").replace("/", " ").split()
    if "torsional" in words:
        return "torsional"
    return "vertical" if any(word in VERTICAL for word in words) else "horizontal"
