"""From the channels of one recording to slow phase, quick phases and reasons."""

from dataclasses import dataclass

import numpy as np

from slowphase.eye.fusion import fuse
from slowphase.eye.gaps import (
    bridge,
    lid_margins,
    time_gaps,
    vertical_blinks,
    without_steps,
)
from slowphase.eye.noise import position_noise_deg
from slowphase.eye.quickphase import Jumps, differentiate, filter_width, find_jumps
from slowphase.eye.runs import mask_of
from slowphase.eye.settings import EyeSettings
from slowphase.eye.slowphase import Pieces, cut_pieces
from slowphase.eye.trace import UNUSED_REASONS, USED, EyeTrace, QuickPhases
from slowphase.foundation.arrays import BoolArray, FloatArray, IntArray
from slowphase.recording.eyes import is_alive
from slowphase.recording.trial import Recording

SIDES = ("right", "left")


@dataclass(frozen=True, slots=True)
class Tracked:
    """One plane of eye movement, for pictures (``trace``) and for fits (``pieces``).

    ``noise_deg`` is the white noise of the fused position; ``eyes`` names the eyes in it.
    """

    trace: EyeTrace
    pieces: Pieces
    noise_deg: float
    eyes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Plane:
    position_deg: FloatArray
    bridged_deg: FloatArray
    seamless_deg: FloatArray
    lost: BoolArray
    changed: BoolArray
    jumps: Jumps
    noise_deg: float
    eyes: tuple[str, ...]


def track(
    recording: Recording, *, eye: str = "both", settings: EyeSettings | None = None
) -> tuple[Tracked | None, Tracked | None]:
    """Slow phase of the horizontal and of the vertical plane.

    ``eye`` is ``right``, ``left`` or ``both``. A plane without a usable channel is None. Quick
    phases and blinks are looked for in both planes and left out of both, unless the vertical
    plane is too poor to tell.
    """
    settings = settings or EyeSettings()
    sides = SIDES if eye == "both" else (eye,)
    horizontal = _plane(recording, "eye_h", sides, settings)
    vertical = _plane(recording, "eye_v", sides, settings)
    blink = _blinks(recording, horizontal, vertical, settings)
    jumps = [_jump_mask(p, recording.sampling_hz, settings) for p in (horizontal, vertical) if p]
    trusted = [mask for mask in jumps if np.mean(mask) < settings.jump_share_max]
    jump = np.logical_or.reduce(trusted) if trusted else np.zeros(recording.time_s.size, dtype=bool)
    return (
        _tracked(recording, horizontal, blink, jump, settings),
        _tracked(recording, vertical, blink, jump, settings),
    )


def _plane(
    recording: Recording, role: str, sides: tuple[str, ...], settings: EyeSettings
) -> _Plane | None:
    names = [side for side in sides if f"{role}_{side}" in recording.channels]
    names = [side for side in names if is_alive(recording.channels[f"{role}_{side}"])]
    if not names:
        return None
    fused, changed = fuse(
        [recording.channels[f"{role}_{side}"] for side in names], recording.sampling_hz
    )
    lost = ~np.isfinite(fused)
    if (~lost).sum() < 10:
        return None
    bridged = bridge(fused)
    pauses = time_gaps(recording.time_s)
    seamless = without_steps(bridged, pauses)
    hidden = lost | lid_margins(lost, recording.sampling_hz, settings)
    jumps = find_jumps(seamless, hidden, recording.sampling_hz, settings)
    noise = position_noise_deg(fused)
    return _Plane(fused, bridged, seamless, lost, changed | pauses, jumps, noise, tuple(names))


def _blinks(
    recording: Recording, horizontal: _Plane | None, vertical: _Plane | None, settings: EyeSettings
) -> BoolArray:
    size, rate = recording.time_s.size, recording.sampling_hz
    blink = np.zeros(size, dtype=bool)
    if horizontal:
        blink |= lid_margins(horizontal.lost, rate, settings)
    if vertical:
        blink |= vertical_blinks(vertical.jumps, size, rate, settings)
    return blink


def _jump_mask(plane: _Plane, sampling_hz: float, settings: EyeSettings) -> BoolArray:
    before = max(1, round(settings.lead_s * sampling_hz))
    after = max(2, round(settings.settle_s * sampling_hz))
    return mask_of(plane.jumps.start - before, plane.jumps.stop + after, plane.lost.size)


def _tracked(
    recording: Recording,
    plane: _Plane | None,
    blink: BoolArray,
    jump: BoolArray,
    settings: EyeSettings,
) -> Tracked | None:
    if plane is None:
        return None
    use = np.full(plane.lost.size, USED, dtype=np.int64)
    use[jump] = UNUSED_REASONS.index("quick_phase")
    use[blink] = UNUSED_REASONS.index("blink")
    use[plane.lost] = UNUSED_REASONS.index("lost")
    usable = use == USED
    pieces = cut_pieces(
        plane.bridged_deg, recording.time_s, usable, plane.changed, plane.noise_deg, settings
    )
    trace = EyeTrace(
        time_s=recording.time_s,
        position_deg=plane.position_deg,
        velocity_deg_s=_shown_velocity(recording, plane, usable, settings),
        use=use,
        quick_phases=_events(recording, plane.jumps, blink | plane.lost),
    )
    return Tracked(trace, pieces, plane.noise_deg, plane.eyes)


def _shown_velocity(
    recording: Recording, plane: _Plane, usable: BoolArray, settings: EyeSettings
) -> FloatArray:
    width = filter_width(plane.noise_deg, recording.sampling_hz, settings)
    velocity = differentiate(plane.seamless_deg, width) * recording.sampling_hz
    return np.where(usable, velocity, np.nan)


def _events(recording: Recording, jumps: Jumps, covered: BoolArray) -> QuickPhases:
    outside = ~covered[(jumps.start + jumps.stop) // 2] if jumps.start.size else slice(0)
    start, stop = jumps.start[outside], jumps.stop[outside]
    last = recording.time_s.size - 1
    return QuickPhases(
        onset_s=recording.time_s[start],
        offset_s=recording.time_s[np.minimum(stop, last)],
        amplitude_deg=jumps.amplitude_deg[outside],
        peak_velocity_deg_s=jumps.peak_velocity_deg_s[outside],
    )


def mark(use: IntArray, pieces: Pieces, chosen: BoolArray, reason: str) -> IntArray:
    """Copy of ``use`` in which the samples of the chosen pieces carry ``reason``."""
    marked = use.copy()
    inside = mask_of(pieces.start[chosen], pieces.stop[chosen], use.size)
    marked[inside & (use == USED)] = UNUSED_REASONS.index(reason)
    return marked
