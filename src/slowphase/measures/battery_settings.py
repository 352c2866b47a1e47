"""Settings of the tests beside the chair: one class for each, in the folder of its test."""

from dataclasses import dataclass, field

from slowphase.measures.check_settings import CheckSettings
from slowphase.measures.impulse.settings import ImpulseSettings


@dataclass(frozen=True, slots=True)
class BatterySettings:
    """One field for each test that has settings of its own."""

    check: CheckSettings = field(default_factory=CheckSettings)
    impulse: ImpulseSettings = field(default_factory=ImpulseSettings)
