"""Settings of the tests beside the chair: one class for each, in the folder of its test."""

from dataclasses import dataclass, field

from slowphase.eye.calibration_settings import CalibrationSettings
from slowphase.measures.fixating.settings import FixatingSettings
from slowphase.measures.optokinetic.settings import OptokineticSettings
from slowphase.measures.pursuit_settings import PursuitSettings
from slowphase.measures.saccade.settings import SaccadeSettings


@dataclass(frozen=True, slots=True)
class BatterySettings:
    """One field for each test that has settings of its own."""

    calibration: CalibrationSettings = field(default_factory=CalibrationSettings)
    pursuit: PursuitSettings = field(default_factory=PursuitSettings)
    saccade: SaccadeSettings = field(default_factory=SaccadeSettings)
    optokinetic: OptokineticSettings = field(default_factory=OptokineticSettings)
    fixating: FixatingSettings = field(default_factory=FixatingSettings)
