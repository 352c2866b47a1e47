"""Which saccade answers which jump of the target, and its onset, size and peak in each eye."""

from dataclasses import dataclass, field

import numpy as np

from slowphase.eye.gaps import bridge
from slowphase.eye.quickphase import differentiate
from slowphase.eye.trace import EyeTrace
from slowphase.foundation.arrays import FloatArray
from slowphase.measures.saccade.settings import SaccadeSettings
from slowphase.recording.targets import TargetSteps
from slowphase.recording.trial import Recording

ROOT_TAU = float(np.sqrt(2 * np.pi))  # area of a bell over height and SD
# Curvature of a saccade's top over that of a bell of its area and peak: 0.66 for the velocity
# profile (x(1 − x))^1.5, 0.72 for that of least jerk, (x(1 − x))².
FLATTER = 0.7  # between both
BLUR_MAX = 0.8  # share of a bell's width that the filter may be: beyond it nothing is left to mend
WAYS = (("rightward", "leftward"), ("upward", "downward"))


@dataclass(frozen=True, slots=True)
class Jump:
    """One jump of the target: its plane (0 horizontal, 1 vertical), time, from where, to where."""

    plane: int
    time_s: float
    until_s: float
    from_deg: float
    to_deg: float

    @property
    def way(self) -> str:
        """Where it went: rightward, leftward, upward or downward."""
        return WAYS[self.plane][int(self.to_deg < self.from_deg)]


@dataclass(frozen=True, slots=True)
class Answer:
    """The first saccade to one jump, or why there is none.

    ``verdict`` is ``answered``, ``anticipated``, ``missed`` or ``unseen`` (blink, losses).
    ``error_deg`` is the way that the target was off, ``amplitude_deg`` the size of the saccade,
    both signed; ``peak_deg_s`` its peak speed by eye (``right``, ``left``, ``both``).
    """

    jump: Jump
    verdict: str
    onset_s: float = np.nan
    offset_s: float = np.nan
    error_deg: float = np.nan
    amplitude_deg: float = np.nan
    peak_deg_s: dict[str, float] = field(default_factory=dict)

    @property
    def latency_s(self) -> float:
        """From the jump to the onset."""
        return self.onset_s - self.jump.time_s


def jumps_of(steps: TargetSteps, settings: SaccadeSettings) -> list[Jump]:
    """The jumps of the target within the recording; the plane is that of the larger part."""
    found = []
    for index in np.flatnonzero(steps.jumped):
        before = steps.place_deg[index - 1] if index else np.zeros(2)
        change = steps.place_deg[index] - before
        plane = int(np.argmax(np.abs(change)))
        if abs(change[plane]) >= settings.jump_min_deg:
            at = float(steps.start_s[index]), float(steps.stop_s[index])
            way = float(before[plane]), float(steps.place_deg[index, plane])
            found.append(Jump(plane, *at, *way))
    return found


def off_target_deg(trace: EyeTrace, steps: TargetSteps, plane: int) -> float:
    """Where the eye is recorded less where the target is, at the ends of its stays, median."""
    off = []
    for stop, place in zip(steps.stop_s, steps.place_deg[:, plane], strict=True):
        last = _median_between(trace, stop - 0.2, stop)
        if np.isfinite(last):
            off.append(last - place)
    return float(np.median(off)) if off else 0.0


def answer_to(jump: Jump, trace: EyeTrace, off_deg: float, settings: SaccadeSettings) -> Answer:
    """The first quick phase of some size toward the target's new place."""
    phases = trace.quick_phases
    last = min(jump.until_s, jump.time_s + settings.latency_max_s)
    near = (phases.onset_s > jump.time_s - settings.before_s) & (phases.onset_s < last)
    for index in np.flatnonzero(near):
        onset, offset = float(phases.onset_s[index]), float(phases.offset_s[index])
        start = _median_between(trace, onset - settings.rest_before_s, onset)
        error = jump.to_deg + off_deg - start
        itself = float(phases.amplitude_deg[index])
        size = _size(trace, onset, offset, itself, settings)
        # both: a small one may come just before the answer, and then all seems to be its way
        least = min(size / error, itself / error) if np.isfinite(error) else 0.0
        if least < settings.answer_share:
            continue
        behind = abs(error) < settings.start_share * abs(jump.to_deg - jump.from_deg)
        if behind or not _whole(trace, onset, offset):
            return Answer(jump, "unseen")
        early = onset - jump.time_s < settings.anticipation_s
        verdict = "anticipated" if early else "answered"
        return Answer(jump, verdict, onset, offset, error, size)
    missed = _was_seen(trace, jump, last) and not _arrived(trace, jump, last, off_deg, settings)
    return Answer(jump, "missed" if missed else "unseen")


def _whole(trace: EyeTrace, onset_s: float, offset_s: float) -> bool:
    """Whether no sample of a saccade is lost."""
    part = slice(*np.searchsorted(trace.time_s, [onset_s - 0.01, offset_s + 0.01]))
    return bool(np.isfinite(trace.position_deg[part]).all())


def _was_seen(trace: EyeTrace, jump: Jump, last: float) -> bool:
    part = slice(*np.searchsorted(trace.time_s, [jump.time_s, last]))
    seen = np.isfinite(trace.position_deg[part])
    return bool(seen.size and seen.mean() > 0.8)


def _arrived(
    trace: EyeTrace, jump: Jump, last: float, off_deg: float, settings: SaccadeSettings
) -> bool:
    """Whether the eye went over all the same: behind a blink, or by a saccade not found."""
    place = _median_between(trace, last - 0.1, last) - off_deg
    gone = (place - jump.from_deg) / (jump.to_deg - jump.from_deg)
    return bool(gone > settings.start_share)


def _median_between(trace: EyeTrace, start_s: float, stop_s: float) -> float:
    part = slice(*np.searchsorted(trace.time_s, [start_s, stop_s]))
    known = trace.position_deg[part]
    known = known[np.isfinite(known)]
    return float(np.median(known)) if known.size else float("nan")


def _size(
    trace: EyeTrace, onset_s: float, offset_s: float, found_deg: float, settings: SaccadeSettings
) -> float:
    """From the rest before to the rest behind; the detector's own size where none is seen."""
    before = _median_between(trace, onset_s - settings.rest_before_s, onset_s - 0.004)
    behind = offset_s + settings.ringing_s
    after = _median_between(trace, behind, behind + settings.rest_after_s)
    size = after - before
    return size if np.isfinite(size) else found_deg


def velocity_of(recording: Recording, role: str, width_s: float) -> FloatArray | None:
    """Eye velocity (deg/s) through a differentiating Gaussian, NaN where the eye was lost."""
    position = recording.channels.get(role)
    if position is None or np.isfinite(position).sum() < 10:
        return None
    width = max(width_s * recording.sampling_hz, 0.6)
    velocity = differentiate(bridge(position), width) * recording.sampling_hz
    return np.where(np.isfinite(position), velocity, np.nan)


def blur_s(recording: Recording, settings: SaccadeSettings) -> float:
    """SD (s) of the bell by which velocity is blurred: the filter and the sampling."""
    width = max(settings.peak_filter_s, 0.6 / recording.sampling_hz)
    return float(np.hypot(width, 1.0 / (recording.sampling_hz * 12.0**0.5)))


def peak_speed(velocity: FloatArray, time_s: FloatArray, answer: Answer, width_s: float) -> float:
    """Peak speed (deg/s) of an answer with the filter's blur taken out; NaN where lost.

    A bell of area A and SD b peaks at A/(√(2π)·b), and behind a Gaussian of SD w at
    A/(√(2π)·√(b² + w²)); b follows from the peak that is seen. A saccade is flatter at its top than
    a bell, so that less of the blur is felt there (``FLATTER``).
    """
    part = slice(*np.searchsorted(time_s, [answer.onset_s - 0.01, answer.offset_s + 0.01]))
    seen = velocity[part] * np.sign(answer.amplitude_deg)
    if seen.size < 3 or not np.isfinite(seen).all():
        return float("nan")
    peak, size = float(seen.max()), abs(answer.amplitude_deg)
    whole = size / (ROOT_TAU * max(peak, 1e-9))
    if peak <= 0 or width_s > BLUR_MAX * whole:
        return float("nan")
    return peak * whole / (whole**2 - FLATTER * width_s**2) ** 0.5
