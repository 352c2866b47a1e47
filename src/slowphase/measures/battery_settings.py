"""Settings of the tests beside the chair: one class for each, in the folder of its test."""

from dataclasses import dataclass, field

from slowphase.eye.calibration_settings import CalibrationSettings
from slowphase.measures.caloric_settings import CaloricSettings
from slowphase.measures.check_settings import CheckSettings
from slowphase.measures.eye_scale_settings import EyeScaleSettings
from slowphase.measures.fixating.settings import FixatingSettings
from slowphase.measures.gaze_settings import GazeSettings
from slowphase.measures.impulse.settings import ImpulseSettings
from slowphase.measures.optokinetic.settings import OptokineticSettings
from slowphase.measures.positional_settings import PositionalSettings
from slowphase.measures.pursuit_settings import PursuitSettings
from slowphase.measures.saccade.settings import SaccadeSettings


@dataclass(frozen=True, slots=True)
class BatterySettings:
    """One field for each test that has settings of its own."""

    caloric: CaloricSettings = field(default_factory=CaloricSettings)
    gaze: GazeSettings = field(default_factory=GazeSettings)
    positional: PositionalSettings = field(default_factory=PositionalSettings)
    check: CheckSettings = field(default_factory=CheckSettings)
    impulse: ImpulseSettings = field(default_factory=ImpulseSettings)
    calibration: CalibrationSettings = field(default_factory=CalibrationSettings)
    pursuit: PursuitSettings = field(default_factory=PursuitSettings)
    saccade: SaccadeSettings = field(default_factory=SaccadeSettings)
    optokinetic: OptokineticSettings = field(default_factory=OptokineticSettings)
    fixating: FixatingSettings = field(default_factory=FixatingSettings)
    eye_scale: EyeScaleSettings = field(default_factory=EyeScaleSettings)
