"""From the channels of one recording to slow phase, quick phases and reasons."""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace

import numpy as np

from slowphase.eye.by_hand import corrected, excluded
from slowphase.eye.condense import Condensed, condense
from slowphase.eye.fusion import Fused, fuse
from slowphase.eye.gaps import (
    bridge,
    lid_margins,
    time_gaps,
    vertical_blinks,
    without_steps,
)
from slowphase.eye.quickphase import Jumps, find_jumps
from slowphase.eye.runs import mask_of
from slowphase.eye.settings import EyeSettings
from slowphase.eye.slowphase import Pieces, cut_pieces
from slowphase.eye.trace import UNUSED_REASONS, USED, EyeTrace, QuickPhases
from slowphase.foundation.arrays import BoolArray, FloatArray, IntArray
from slowphase.foundation.median import median
from slowphase.recording.eyes import is_alive
from slowphase.recording.trial import Recording

SIDES = ("right", "left")
LONG = 20_000  # samples: of fewer, a second thread gains less than it costs


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
class Plane:
    """One plane on the way to its slow phase, in the blocks of `Condensed`; arrays (m,).

    ``bridged_deg`` has straight lines where the eyes were lost and ``seamless_deg`` no jumps where
    time is missing; ``changed`` marks where the trace goes on with other eyes or after a pause.
    """

    fused: Fused
    bridged_deg: FloatArray
    seamless_deg: FloatArray
    lost: BoolArray
    changed: BoolArray
    jumps: Jumps
    eyes: tuple[str, ...]


def track(
    recording: Recording, *, eye: str = "both", settings: EyeSettings | None = None
) -> tuple[Tracked | None, Tracked | None]:
    """Slow phase of the horizontal and of the vertical plane.

    ``eye`` is ``right``, ``left`` or ``both``. A plane without a usable channel is None. Quick
    phases and blinks are looked for in both planes and left out of both, unless the other plane is
    too poor to tell.
    """
    settings = settings or EyeSettings()
    seen = condense(recording, settings)
    sides = SIDES if eye == "both" else (eye,)
    horizontal, vertical = _both_planes(seen, sides, settings)
    blink = _blinks(seen.recording, horizontal, vertical, settings)
    across = _jump_mask(horizontal, seen.recording, settings)
    up = _jump_mask(vertical, seen.recording, settings)
    return (
        _without(horizontal, seen, blink, across | _if_trusted(up, settings), settings),
        _without(vertical, seen, blink, up | _if_trusted(across, settings), settings),
    )


def _both_planes(
    seen: Condensed, sides: tuple[str, ...], settings: EyeSettings
) -> tuple[Plane | None, Plane | None]:
    """Both planes, which know nothing of one another: of a long recording at the same time."""
    if seen.recording.time_s.size < LONG or not any(
        f"eye_v_{side}" in seen.recording.channels for side in sides
    ):
        across = find_plane(seen, "eye_h", sides, settings)
        return across, find_plane(seen, "eye_v", sides, settings)
    with ThreadPoolExecutor(1) as beside:
        up = beside.submit(find_plane, seen, "eye_v", sides, settings)
        return find_plane(seen, "eye_h", sides, settings), up.result()


def track_torsion(
    recording: Recording, *, eye: str = "both", settings: EyeSettings | None = None
) -> Tracked | None:
    """Slow phase of torsion; None without a usable channel.

    Quick phases are its own and those of the horizontal plane, blinks those of the horizontal one.
    """
    settings = settings or EyeSettings()
    if not any(f"eye_t_{side}" in recording.channels for side in SIDES):
        return None
    seen = condense(recording, settings)
    sides = SIDES if eye == "both" else (eye,)
    plane = find_plane(seen, "eye_t", sides, settings)
    across = find_plane(seen, "eye_h", sides, settings)
    blink = _blinks(seen.recording, across, None, settings)
    jump = _jump_mask(plane, seen.recording, settings)
    others = _if_trusted(_jump_mask(across, seen.recording, settings), settings)
    return _without(plane, seen, blink, jump | others, settings)


def _without(
    plane: Plane | None, seen: Condensed, blink: BoolArray, jump: BoolArray, settings: EyeSettings
) -> Tracked | None:
    return tracked(seen, plane, blink, jump, settings) if plane else None


def _if_trusted(jump: BoolArray, settings: EyeSettings) -> BoolArray:
    """The quick phases of the other plane, none where it is too poor to tell."""
    poor = jump.size > 0 and float(np.mean(jump)) >= settings.jump_share_max
    return np.zeros_like(jump) if poor else jump


def find_plane(
    seen: Condensed, role: str, sides: tuple[str, ...], settings: EyeSettings
) -> Plane | None:
    """Both eyes of one plane fused and their quick phases found; None where no eye moves."""
    channels, rate = seen.recording.channels, seen.recording.sampling_hz
    names = [side for side in sides if f"{role}_{side}" in channels]
    names = [side for side in names if is_alive(channels[f"{role}_{side}"])]
    if not names:
        return None
    fused = fuse([channels[f"{role}_{side}"] for side in names], rate, settings)
    lost = ~np.isfinite(fused.position_deg)
    if (~lost).sum() < settings.samples_min:
        return None
    bridged = bridge(fused.position_deg)
    pauses = time_gaps(seen.recording.time_s, settings)
    seamless = without_steps(bridged, pauses)
    hidden = lost | lid_margins(lost, rate, settings)
    jumps = corrected(find_jumps(seamless, hidden, rate, settings), seamless, seen.recording)
    return Plane(fused, bridged, seamless, lost, fused.changed | pauses, jumps, tuple(names))


def _blinks(
    recording: Recording, horizontal: Plane | None, vertical: Plane | None, settings: EyeSettings
) -> BoolArray:
    size, rate = recording.time_s.size, recording.sampling_hz
    blink = np.zeros(size, dtype=bool)
    if horizontal:
        blink |= lid_margins(horizontal.lost, rate, settings)
    if vertical:
        blink |= vertical_blinks(vertical.jumps, size, rate, settings)
    return blink


def _jump_mask(plane: Plane | None, recording: Recording, settings: EyeSettings) -> BoolArray:
    if plane is None:
        return np.zeros(recording.time_s.size, dtype=bool)
    sampling_hz = recording.sampling_hz
    before = max(1, round(settings.lead_s * sampling_hz))
    size = np.abs(plane.jumps.amplitude_deg)
    settle_s = np.minimum(
        settings.settle_s + settings.settle_s_per_deg * size, settings.settle_max_s
    )
    after = np.maximum(2, np.rint(settle_s * sampling_hz).astype(np.int64))
    return mask_of(plane.jumps.start - before, plane.jumps.stop + after, plane.lost.size)


def tracked(
    seen: Condensed, plane: Plane, blink: BoolArray, jump: BoolArray, settings: EyeSettings
) -> Tracked:
    """The plane's slow phase outside ``blink`` and ``jump`` (masks of shape (m,))."""
    use = np.full(plane.lost.size, USED, dtype=np.int64)
    use[jump] = UNUSED_REASONS.index("quick_phase")
    use[blink] = UNUSED_REASONS.index("blink")
    use[plane.lost] = UNUSED_REASONS.index("lost")
    use[excluded(seen.recording)] = UNUSED_REASONS.index("excluded")
    usable = use == USED
    pieces = cut_pieces(
        plane.bridged_deg,
        seen.recording.time_s,
        usable,
        plane.changed,
        plane.fused.noise_deg,
        settings,
    )
    trace = EyeTrace(
        time_s=seen.full.time_s,
        position_deg=seen.spread(plane.fused.position_deg),
        velocity_deg_s=_shown_velocity(seen, plane, usable),
        use=seen.repeated(use),
        quick_phases=_events(seen, plane.jumps, blink | plane.lost),
    )
    noise = median(plane.fused.noise_deg) * seen.factor**0.5
    pieces = replace(pieces, start=seen.sample(pieces.start), stop=seen.ends(pieces.stop))
    return Tracked(trace, pieces, noise, plane.eyes)


def _shown_velocity(seen: Condensed, plane: Plane, usable: BoolArray) -> FloatArray:
    return seen.spread(np.where(usable, plane.jumps.velocity_deg_s, np.nan))


def _events(seen: Condensed, jumps: Jumps, covered: BoolArray) -> QuickPhases:
    outside = ~covered[(jumps.start + jumps.stop) // 2] if jumps.start.size else slice(0)
    time_s = seen.recording.time_s
    start, stop = jumps.start[outside], np.minimum(jumps.stop[outside], time_s.size - 1)
    return QuickPhases(
        onset_s=time_s[start],
        offset_s=time_s[stop],
        amplitude_deg=jumps.amplitude_deg[outside],
        peak_velocity_deg_s=jumps.peak_velocity_deg_s[outside],
    )


def mark(use: IntArray, pieces: Pieces, chosen: BoolArray, reason: str) -> IntArray:
    """Copy of ``use`` in which the samples of the chosen pieces carry ``reason``."""
    marked = use.copy()
    inside = mask_of(pieces.start[chosen], pieces.stop[chosen], use.size)
    marked[inside & (use == USED)] = UNUSED_REASONS.index(reason)
    return marked
