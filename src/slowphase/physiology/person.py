"""An invented person: everything that decides how the eyes answer the chair."""

from dataclasses import dataclass, field

from slowphase.physiology.alertness import Alertness
from slowphase.physiology.blink import Blinking
from slowphase.physiology.fixation import Fixation
from slowphase.physiology.labyrinth import Reflex
from slowphase.physiology.oculomotor import Oculomotor
from slowphase.physiology.spontaneous import Spontaneous


@dataclass(frozen=True, slots=True)
class Person:
    """The defaults describe a healthy, alert adult."""

    reflex: Reflex = field(default_factory=Reflex)
    spontaneous: Spontaneous = field(default_factory=Spontaneous)
    oculomotor: Oculomotor = field(default_factory=Oculomotor)
    alertness: Alertness = field(default_factory=Alertness)
    fixation: Fixation = field(default_factory=Fixation)
    blinking: Blinking = field(default_factory=Blinking)
