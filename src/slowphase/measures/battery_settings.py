"""Settings of the tests beside the chair: one class for each, in the folder of its test."""

from dataclasses import dataclass, field

from slowphase.measures.caloric_settings import CaloricSettings
from slowphase.measures.check_settings import CheckSettings
from slowphase.measures.gaze_settings import GazeSettings
from slowphase.measures.impulse.settings import ImpulseSettings
from slowphase.measures.positional_settings import PositionalSettings


@dataclass(frozen=True, slots=True)
class BatterySettings:
    """One field for each test that has settings of its own."""

    caloric: CaloricSettings = field(default_factory=CaloricSettings)
    gaze: GazeSettings = field(default_factory=GazeSettings)
    positional: PositionalSettings = field(default_factory=PositionalSettings)
    check: CheckSettings = field(default_factory=CheckSettings)
    impulse: ImpulseSettings = field(default_factory=ImpulseSettings)
