"""An invented person: everything that decides how the eyes answer the chair."""

from dataclasses import dataclass, field

from slowphase.physiology.alertness import Alertness
from slowphase.physiology.blink import Blinking
from slowphase.physiology.caloric import Caloric
from slowphase.physiology.fixation import Fixation
from slowphase.physiology.head_shaking import HeadShaking
from slowphase.physiology.impulse import Impulses
from slowphase.physiology.labyrinth import Reflex
from slowphase.physiology.oculomotor import Oculomotor
from slowphase.physiology.optokinetic import Optokinetic
from slowphase.physiology.positional import Positional
from slowphase.physiology.pursuit import Pursuit
from slowphase.physiology.spontaneous import Spontaneous
from slowphase.physiology.target_saccade import TargetSaccades


@dataclass(frozen=True, slots=True)
class Person:
    """The defaults describe a healthy, alert adult.

    ``reflex`` is what the chair excites; ``caloric`` and ``impulses`` have degrees of function of
    their own, since function at very low and at high frequencies can part ways.
    """

    reflex: Reflex = field(default_factory=Reflex)
    spontaneous: Spontaneous = field(default_factory=Spontaneous)
    oculomotor: Oculomotor = field(default_factory=Oculomotor)
    alertness: Alertness = field(default_factory=Alertness)
    fixation: Fixation = field(default_factory=Fixation)
    blinking: Blinking = field(default_factory=Blinking)
    caloric: Caloric = field(default_factory=Caloric)
    impulses: Impulses = field(default_factory=Impulses)
    saccades: TargetSaccades = field(default_factory=TargetSaccades)
    pursuit: Pursuit = field(default_factory=Pursuit)
    head_shaking: HeadShaking = field(default_factory=HeadShaking)
    optokinetic: Optokinetic = field(default_factory=Optokinetic)
    positional: Positional = field(default_factory=Positional)
