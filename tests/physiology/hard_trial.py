"""One short trial recorded without noise, so that only what is switched on can be seen."""

from dataclasses import replace

import numpy as np

from slowphase.physiology.blink import Blinking
from slowphase.physiology.person import Person
from slowphase.physiology.protocol import sinusoid
from slowphase.physiology.recorder import Equipment
from slowphase.physiology.simulate import simulate_trial

PLAN = replace(sinusoid(0.16), cycles=6)
QUIET = Person(blinking=Blinking(per_min=0.0))
CLEAN = Equipment(
    noise_deg=0.0,
    quantum_deg=0.0,
    eye_mismatch=0.0,
    eye_offset_deg=0.0,
    losses_per_min=0.0,
    head_noise_deg_s=0.0,
    head_quantum_deg_s=0.0,
)


def recorded(equipment=CLEAN, *, person=QUIET, plan=PLAN, seed=5, session_time_s=0.0):
    rng = np.random.default_rng(seed)
    return simulate_trial(person, plan, equipment, rng, session_time_s=session_time_s)


def changes(equipment, **keys):
    """What the equipment adds to each channel of the same trial without its features."""
    with_it, without = recorded(equipment, **keys).traces, recorded(CLEAN, **keys).traces
    return {role: trace - without.channels[role] for role, trace in with_it.channels.items()}
