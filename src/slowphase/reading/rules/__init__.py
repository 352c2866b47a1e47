"""The rules of the reading, one module for each finding, in the order in which they are read."""

from slowphase.reading.rule import Rule
from slowphase.reading.rules.calibration import CALIBRATION
from slowphase.reading.rules.caloric import CALORIC
from slowphase.reading.rules.caloric_fixation import CALORIC_FIXATION
from slowphase.reading.rules.caloric_preponderance import CALORIC_PREPONDERANCE
from slowphase.reading.rules.evoked_potential import EVOKED_POTENTIAL
from slowphase.reading.rules.gaze import GAZE
from slowphase.reading.rules.impulse import IMPULSE
from slowphase.reading.rules.impulse_vertical import IMPULSE_VERTICAL
from slowphase.reading.rules.optokinetic import AFTER_NYSTAGMUS, OPTOKINETIC_SIDES
from slowphase.reading.rules.positional import POSITIONAL
from slowphase.reading.rules.pursuit import PURSUIT_GAIN, PURSUIT_SIDES
from slowphase.reading.rules.rebound import REBOUND
from slowphase.reading.rules.response import RESPONSE
from slowphase.reading.rules.saccade import SACCADE_ACCURACY, SACCADE_LATENCY
from slowphase.reading.rules.saccade_speed import SACCADE_EYES, SACCADE_WAYS
from slowphase.reading.rules.sides import SIDES
from slowphase.reading.rules.spontaneous import SPONTANEOUS
from slowphase.reading.rules.square_waves import SQUARE_WAVES
from slowphase.reading.rules.suppression import SUPPRESSION, SUPPRESSION_WHOLE
from slowphase.reading.rules.time_constant import TIME_CONSTANTS
from slowphase.reading.rules.vertical import VERTICAL
from slowphase.reading.rules.waveform import WAVEFORM
from slowphase.reading.rules.without_loss import WITHOUT_LOSS

RULES: tuple[Rule, ...] = (
    WAVEFORM,
    SPONTANEOUS,
    VERTICAL,
    WITHOUT_LOSS,
    GAZE,
    REBOUND,
    SQUARE_WAVES,
    POSITIONAL,
    RESPONSE,
    SIDES,
    *TIME_CONSTANTS,
    SUPPRESSION,
    SUPPRESSION_WHOLE,
    CALORIC,
    CALORIC_PREPONDERANCE,
    CALORIC_FIXATION,
    IMPULSE,
    IMPULSE_VERTICAL,
    PURSUIT_GAIN,
    PURSUIT_SIDES,
    SACCADE_LATENCY,
    SACCADE_ACCURACY,
    SACCADE_WAYS,
    SACCADE_EYES,
    OPTOKINETIC_SIDES,
    AFTER_NYSTAGMUS,
    EVOKED_POTENTIAL,
    CALIBRATION,
)
