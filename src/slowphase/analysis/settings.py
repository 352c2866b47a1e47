"""All settings of an analysis, and their digest."""

import hashlib
import json
from dataclasses import asdict, dataclass, field

from slowphase.eye.settings import EyeSettings
from slowphase.fit.settings import FitSettings
from slowphase.measures.settings import MeasureSettings


@dataclass(frozen=True, slots=True)
class Settings:
    """Every threshold of an analysis; the defaults are documented where they are defined."""

    eye: EyeSettings = field(default_factory=EyeSettings)
    measures: MeasureSettings = field(default_factory=MeasureSettings)
    session: FitSettings = field(default_factory=FitSettings)

    def digest(self) -> str:
        """SHA-256 over all names and values."""
        text = json.dumps(asdict(self), sort_keys=True)
        return hashlib.sha256(text.encode()).hexdigest()
