"""Does the target channel of a pursuit trial swing as the trial's keys say?"""

from collections.abc import Mapping

import numpy as np

from slowphase.foundation.arrays import FloatArray
from slowphase.recording.keys import is_number
from slowphase.recording.stimulus_check import dominant_sine, fitted_sine, thinned

FREQUENCY_TOLERANCE = 0.05  # as for the chair
SIZE_TOLERANCE = 0.2  # a screen measured roughly; half or twice is another meaning of amplitude
LEAST_SD_DEG = 0.05  # a target that moves less has only noise
SINE_SHARE = 0.9  # of the variance: else it is no sinusoid, which is said elsewhere

Contradiction = tuple[str, str, str]


def check_target(
    stimulus: Mapping[str, object], time_s: FloatArray, channels: Mapping[str, FloatArray]
) -> Contradiction | None:
    """The key, what was found and what the key says, where a pursuit target contradicts it.

    Its frequency must be that of the key within 5 %, or within half a cycle over the trial;
    its amplitude within a fifth. None where there is no channel, or no key to hold it against.
    """
    traces = [channels[role] for role in ("target_h", "target_v") if role in channels]
    known = [trace for trace in traces if np.isfinite(trace).sum() > 10]
    known = [trace for trace in known if np.nanstd(trace) > LEAST_SD_DEG]
    if not known:
        return None
    place = max(known, key=lambda trace: float(np.nanstd(trace)))
    return _frequency(stimulus, time_s, place) or _size(stimulus, place)


def _frequency(
    stimulus: Mapping[str, object], time_s: FloatArray, place: FloatArray
) -> Contradiction | None:
    asked_hz = stimulus.get("frequency_hz")
    if not isinstance(asked_hz, int | float) or not is_number(asked_hz):
        return None
    seen = np.isfinite(place)
    at, there = thinned(time_s[seen], place[seen], max(25.0, 40.0 * asked_hz))
    moving = np.flatnonzero(np.abs(np.diff(there)) > 0.1 * np.max(np.abs(np.diff(there))))
    part = slice(int(moving[0]), int(moving[-1]) + 2)
    at, there = at[part], there[part]
    if at.size < 10 or fitted_sine(at, there, asked_hz)[1] > SINE_SHARE:
        return None
    found_hz, share = dominant_sine(at, there, asked_hz)
    slip_cycles = abs(found_hz - asked_hz) * float(at[-1] - at[0])
    off = abs(found_hz - asked_hz) > FREQUENCY_TOLERANCE * asked_hz and slip_cycles > 0.5
    if not off or share < SINE_SHARE:
        return None
    return "frequency_hz", f"a target that swings at {found_hz:.3g} Hz", f"{asked_hz:g} Hz"


def _size(stimulus: Mapping[str, object], place: FloatArray) -> Contradiction | None:
    """99.5 % of the samples of a sine stay within its amplitude, and hardly any noise beyond."""
    asked = stimulus.get("amplitude_deg")
    if not isinstance(asked, int | float) or not is_number(asked):
        return None
    low, high = np.nanpercentile(place, [0.5, 99.5])
    found = 0.5 * float(high - low)
    if abs(found - asked) <= SIZE_TOLERANCE * asked:
        return None
    return "amplitude_deg", f"a target that swings {found:.3g} deg to either side", f"{asked:g} deg"
