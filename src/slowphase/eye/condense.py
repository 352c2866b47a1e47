"""Fast recordings in fewer, quieter samples.

No slow or quick phase has anything to say beyond about 100 Hz, so that a recording of 1000 samples
a second is averaged in blocks: the noise falls, nothing is lost, and the work does not grow with
the recorder's speed. Single samples that no eye can make (a reflection, a wrong pupil) are taken
out first.
"""

from dataclasses import dataclass, replace

import numpy as np

from slowphase.eye.noise import position_noise_deg
from slowphase.eye.settings import EyeSettings
from slowphase.foundation.arrays import BoolArray, FloatArray, IntArray
from slowphase.recording.trial import Recording

EYES = tuple(f"eye_{plane}_{side}" for plane in "hvt" for side in ("right", "left"))


@dataclass(frozen=True, slots=True)
class Condensed:
    """Eye channels in blocks of ``factor`` samples; ``full`` is the recording as it was.

    ``recording`` holds the eyes alone, on the mean times of the blocks.
    """

    recording: Recording
    full: Recording
    factor: int

    def sample(self, block: IntArray) -> IntArray:
        """First sample of each block, at most the recording's last sample."""
        return np.minimum(block * self.factor, self.full.time_s.size - 1)

    def ends(self, block: IntArray) -> IntArray:
        """One past the last sample before each block (exclusive ends of ranges)."""
        return np.minimum(block * self.factor, self.full.time_s.size)

    def spread(self, values: FloatArray) -> FloatArray:
        """Values of the blocks at every sample of the recording, straight lines between."""
        if self.factor == 1:
            return values
        return np.interp(self.full.time_s, self.recording.time_s, values)

    def repeated(self, values: IntArray) -> IntArray:
        """Values of the blocks repeated for every sample of the recording."""
        return np.repeat(values, self.factor)[: self.full.time_s.size]


def condense(recording: Recording, settings: EyeSettings) -> Condensed:
    """The recording's eyes at about ``settings.working_hz``, or as they are if slower."""
    factor = max(1, round(recording.sampling_hz / settings.working_hz))
    eyes = {
        role: block_mean(without_spikes(recording.channels[role], settings), factor)
        for role in EYES
        if role in recording.channels
    }
    small = replace(
        recording,
        time_s=block_mean(recording.time_s, factor),
        sampling_hz=recording.sampling_hz / factor,
        channels=eyes,
        head_velocity_deg_s=None,
    )
    return Condensed(small, recording, factor)


def block_mean(values: FloatArray, factor: int) -> FloatArray:
    """Mean of the finite values in consecutive blocks, shape (ceil(n / factor),); NaN if none."""
    if factor == 1:
        return values
    whole = values.size // factor * factor
    mean = np.asarray(sum(values[start:whole:factor] for start in range(factor)) / factor)
    broken = np.flatnonzero(np.isnan(mean))
    if broken.size:
        parts = values[:whole].reshape(-1, factor)[broken]
        seen = np.isfinite(parts)
        count = seen.sum(axis=1)
        total = np.where(seen, parts, 0.0).sum(axis=1)
        mean[broken] = np.where(count > 0, total / np.maximum(count, 1), np.nan)
    rest = values[whole:]
    if rest.size == 0:
        return mean
    known = rest[np.isfinite(rest)]
    return np.append(mean, known.mean() if known.size else np.nan)


def without_spikes(position_deg: FloatArray, settings: EyeSettings) -> FloatArray:
    """The trace with single samples far from both neighbours, which agree, set to NaN."""
    spike = spikes(position_deg, settings)
    return np.where(spike, np.nan, position_deg) if spike.any() else position_deg


def spikes(position_deg: FloatArray, settings: EyeSettings) -> BoolArray:
    """Samples off the mean of their neighbours by ``spike_sd`` noises, and by more than the
    neighbours differ, shape (n,)."""
    found = np.zeros(position_deg.size, dtype=bool)
    if position_deg.size < 3:
        return found
    limit = settings.spike_sd * max(position_noise_deg(position_deg), settings.spike_min_deg / 8)
    off = np.abs(np.diff(position_deg, 2)) / 2
    far = np.flatnonzero(off > limit) + 1
    apart = np.abs(position_deg[far + 1] - position_deg[far - 1])
    found[far[off[far - 1] > apart]] = True
    return found
