"""Head and eye of one trial on one even clock, differentiated alike."""

from dataclasses import dataclass, replace

import numpy as np

from slowphase.eye.condense import without_spikes
from slowphase.eye.fusion import fuse
from slowphase.eye.gaps import bridge, vertical_blinks
from slowphase.eye.noise import position_noise_deg
from slowphase.eye.quickphase import differentiate, filter_width, find_jumps
from slowphase.eye.settings import EyeSettings
from slowphase.foundation.arrays import BoolArray, FloatArray
from slowphase.measures.impulse.plane import HeadMotion, eye_roles
from slowphase.measures.impulse.settings import ImpulseSettings
from slowphase.recording.eyes import is_alive
from slowphase.recording.trial import Recording, Trial

SIDES = ("right", "left")
GAP_STEPS = 2.5  # sample intervals beyond which rows are missing: one dropped row is no gap


@dataclass(frozen=True, slots=True)
class Signals:
    """One trial in the plane of its impulses; arrays of shape (n,) on an even clock.

    ``head_deg_s`` is as recorded, ``smooth_head_deg_s`` behind the filter that makes
    ``eye_deg_s`` from ``position_deg``. ``hidden`` marks lost eyes and blinks, ``head_lost`` a head
    that is not known. ``other_deg`` is the eye in the other plane. ``noise_deg`` is the white noise
    of position (SD), ``noise_deg_s`` that of velocity, ``head_noise_deg_s`` the head's. ``eyes``
    are the eyes in it.
    """

    time_s: FloatArray
    sampling_hz: float
    head_deg_s: FloatArray
    smooth_head_deg_s: FloatArray
    off_plane_deg_s: FloatArray | None
    position_deg: FloatArray
    eye_deg_s: FloatArray
    hidden: BoolArray
    head_lost: BoolArray
    other_deg: FloatArray | None
    noise_deg: float
    noise_deg_s: float
    head_noise_deg_s: float
    eyes: tuple[str, ...]

    def samples(self, seconds: float) -> int:
        """A length of time in whole samples."""
        return round(seconds * self.sampling_hz)


def signals_of(
    trial: Trial, recording: Recording, plane: str, head: HeadMotion,
    eye: EyeSettings, settings: ImpulseSettings,
) -> Signals | None:  # fmt: skip
    """The trial on an even clock; None where no eye moves in the plane."""
    own, other = eye_roles(plane)
    sides = SIDES if trial.eye == "both" else (trial.eye,)
    seen, eyes = _fused(recording, own, sides, eye)
    if seen is None:
        return None
    beside, _ = _fused(recording, other, sides, eye)
    clock = even_clock(recording)
    lost = ~np.isfinite(seen)
    hidden = on_clock(recording, lost.astype(float), clock) > 0
    hidden |= _between_rows(recording, clock)
    if plane == "lateral" and beside is not None:
        hidden |= on_clock(recording, _blinks(recording, beside, eye).astype(float), clock) > 0
    filled = on_clock(recording, bridge(seen), clock)
    rate = recording.sampling_hz
    noise = position_noise_deg(filled[~hidden])
    width = filter_width(noise, rate, replace(eye, filter_max_s=settings.filter_max_s))
    known = bridge(head.in_plane_deg_s)
    head_deg_s = on_clock(recording, known, clock)
    off = head.off_plane_deg_s
    return Signals(
        time_s=clock,
        sampling_hz=rate,
        head_deg_s=head_deg_s,
        smooth_head_deg_s=smoothed(head_deg_s, width),
        off_plane_deg_s=None if off is None else smoothed(on_clock(recording, off, clock), width),
        position_deg=np.where(hidden, np.nan, filled),
        eye_deg_s=differentiate(filled, width) * rate,
        hidden=hidden,
        head_lost=on_clock(recording, (~np.isfinite(head.in_plane_deg_s)).astype(float), clock) > 0,
        other_deg=None if beside is None else on_clock(recording, bridge(beside), clock),
        noise_deg=noise,
        noise_deg_s=velocity_noise(noise, width, rate),
        head_noise_deg_s=position_noise_deg(head_deg_s),
        eyes=eyes,
    )


def even_clock(recording: Recording) -> FloatArray:
    """Even times at the recording's rate, from its first to its last sample."""
    first, last = float(recording.time_s[0]), float(recording.time_s[-1])
    count = int(np.floor((last - first) * recording.sampling_hz + 1e-6)) + 1
    return first + np.arange(count) / recording.sampling_hz


def on_clock(recording: Recording, values: FloatArray, clock: FloatArray) -> FloatArray:
    """Values of a recording at other times, straight lines between samples."""
    return np.interp(clock, recording.time_s, values)


def smoothed(values: FloatArray, width: float) -> FloatArray:
    """Values behind a Gaussian of SD ``width`` samples, held at their ends, shape (n,)."""
    reach = max(1, int(np.ceil(3 * width)))
    kernel = np.exp(-0.5 * (np.arange(-reach, reach + 1) / width) ** 2)
    return np.convolve(np.pad(values, reach, mode="edge"), kernel / kernel.sum(), mode="valid")


def velocity_noise(noise_deg: float, width: float, sampling_hz: float) -> float:
    """SD (deg/s) of white position noise behind the Gaussian derivative (see ``filter_width``)."""
    seconds = width / sampling_hz
    return float(noise_deg / np.sqrt(4 * np.sqrt(np.pi) * seconds**3 * sampling_hz))


def _fused(
    recording: Recording, role: str, sides: tuple[str, ...], eye: EyeSettings
) -> tuple[FloatArray | None, tuple[str, ...]]:
    """The eyes of one plane as one trace, and their names; None where no eye moves."""
    found = {side: recording.channels.get(f"{role}_{side}") for side in sides}
    alive = {side: trace for side, trace in found.items() if trace is not None and is_alive(trace)}
    if not alive:
        return None, ()
    clean = [without_spikes(trace, eye) for trace in alive.values()]
    return fuse(clean, recording.sampling_hz, eye).position_deg, tuple(alive)


def _between_rows(recording: Recording, clock: FloatArray) -> BoolArray:
    """Times of the clock that fall where rows are missing."""
    gap = np.diff(recording.time_s) > GAP_STEPS / recording.sampling_hz
    place = np.clip(np.searchsorted(recording.time_s, clock) - 1, 0, gap.size - 1)
    inside = clock > recording.time_s[place] + 1e-9
    inside &= clock < recording.time_s[place + 1] - 1e-9
    return np.asarray(gap[place] & inside)


def _blinks(recording: Recording, vertical: FloatArray, eye: EyeSettings) -> BoolArray:
    """Blinks that only the vertical trace shows, shape (n,)."""
    lost = ~np.isfinite(vertical)
    jumps = find_jumps(bridge(vertical), lost, recording.sampling_hz, eye)
    return vertical_blinks(jumps, vertical.size, recording.sampling_hz, eye)
