"""The rules of the reading, one module for each finding, in the order in which they are read."""

from slowphase.reading.rule import Rule
from slowphase.reading.rules.caloric import CALORIC
from slowphase.reading.rules.gaze import GAZE
from slowphase.reading.rules.impulse import IMPULSE
from slowphase.reading.rules.response import RESPONSE
from slowphase.reading.rules.sides import SIDES
from slowphase.reading.rules.spontaneous import SPONTANEOUS
from slowphase.reading.rules.suppression import SUPPRESSION, SUPPRESSION_WHOLE
from slowphase.reading.rules.time_constant import TIME_CONSTANTS
from slowphase.reading.rules.vertical import VERTICAL

RULES: tuple[Rule, ...] = (
    SPONTANEOUS,
    VERTICAL,
    GAZE,
    RESPONSE,
    SIDES,
    *TIME_CONSTANTS,
    SUPPRESSION,
    SUPPRESSION_WHOLE,
    CALORIC,
    IMPULSE,
)
