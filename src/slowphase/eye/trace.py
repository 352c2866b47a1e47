"""The slow phase of one recording, its quick phases, and why samples were not used."""

from dataclasses import dataclass

import numpy as np

from slowphase.foundation.arrays import FloatArray, IntArray

USED = 0  # index of its reason: none
UNUSED_REASONS = (
    "used",
    "lost",  # no eye was tracked
    "blink",  # the lid covered the eye, or the samples beside such a gap
    "quick_phase",  # quick phase, saccade, or the eye still settling after one
    "artefact",  # a jump that no eye makes
    "outlier",  # slow phase, but not of the reflex: the robust fit gave it no weight
    "lapse",  # the patient was drowsy or inattentive
    "excluded",  # by a person
)


@dataclass(frozen=True, slots=True)
class QuickPhases:
    """Quick phases of one trial as arrays of shape (m,), in order of onset.

    Onset and offset in s on the recording's clock; amplitude in deg and peak velocity in deg/s,
    both signed (positive to the right, or up) and both relative to the slow phase.
    """

    onset_s: FloatArray
    offset_s: FloatArray
    amplitude_deg: FloatArray
    peak_velocity_deg_s: FloatArray

    def __len__(self) -> int:
        return len(self.onset_s)


@dataclass(frozen=True, slots=True)
class EyeTrace:
    """One plane of eye movement: shape (n,) arrays on the recording's clock.

    ``position_deg`` is fused from the eyes in use (NaN where lost); ``velocity_deg_s`` is the
    slow-phase velocity for display, NaN outside the slow phase; ``use`` indexes
    ``UNUSED_REASONS``.
    """

    time_s: FloatArray
    position_deg: FloatArray
    velocity_deg_s: FloatArray
    use: IntArray
    quick_phases: QuickPhases

    @property
    def usable_pct(self) -> float:
        """Share of samples that belong to the slow phase, in percent."""
        return 100.0 * float(np.mean(self.use == USED)) if self.use.size else 0.0
