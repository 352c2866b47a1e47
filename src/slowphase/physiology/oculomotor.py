"""The eye in the orbit: slow phase, broken by quick phases that bring it back.

    E' = v − k·E + Σ saccades

v is what the reflex asks for and k the leak of the gaze integrator (Alexander's law). A quick
phase comes when a rate that grows with slow-phase speed has run up to a random amount, or when
the eye gets too far out; it aims beyond straight ahead, in its own direction (the beating field).
Without nystagmus the same machinery makes small refixations. Rates, field and limits are common
practice, no source.
"""

from dataclasses import dataclass, field

import numpy as np

from slowphase.foundation.arrays import BoolArray, FloatArray
from slowphase.physiology.saccade import MainSequence, duration_s, peak_velocity, profile
from slowphase.physiology.transfer import leaky_integral

GRID_HZ = 1000.0
LONGEST_WAIT_S = 8.0
SMALL_DEG = (0.3, 1.0)
GLIDE_S = 0.06  # time constant of a glissade: tens of ms, from memory


@dataclass(frozen=True, slots=True)
class QuickPhases:
    """When and where quick phases come.

    The rate rises from ``rest_per_s`` to ``rest_per_s + busy_per_s`` with slow-phase speed, by
    half at about 0.7·``busy_deg_s``. ``spread`` is the relative spread of the intervals,
    ``refractory_s`` the shortest. The middle of the beating field lies ``field_per_deg_s`` times
    the speed, at most ``field_deg``, in the quick direction; the goal is beyond it by the share
    ``overshoot`` of what the slow phase travels between two beats, with ``scatter_deg``.
    ``limit_deg`` is as far out as the slow phase may carry the eye in its own direction.
    ``small_share`` of the quick phases, while the eye is not halfway to that, stop short after
    0.3 to 1 deg (near the noise; chosen).
    """

    rest_per_s: float = 0.35
    busy_per_s: float = 4.2
    busy_deg_s: float = 25.0
    spread: float = 0.35
    refractory_s: float = 0.12
    field_per_deg_s: float = 0.12
    field_deg: float = 4.0
    overshoot: float = 0.62
    scatter_deg: float = 1.8
    limit_deg: float = 14.0
    smallest_deg: float = 0.25
    largest_deg: float = 24.0
    small_share: float = 0.0
    sequence: MainSequence = field(default_factory=MainSequence)


@dataclass(frozen=True, slots=True)
class Oculomotor:
    """Everything of the eye that is not the vestibular reflex.

    ``gaze_leak_per_s`` is k. ``drift_deg_s`` and ``drift_s`` describe slow wandering.
    ``jerks_per_min`` are square-wave jerks of ``jerk_deg``. ``oscillation`` is the share of a
    saccade's size that rings after it. ``vertical_leak`` is the vertical share of a quick phase.
    ``glissade`` is the spread of the share of a saccade's size by which it misses and then
    glides into place (see ``glissades``). ``catch_up_deg`` is how far a slow phase may carry the
    eye off a target before a small saccade brings it back, 1 to 3 a second; None leaves the rarer
    refixations. Both are off by default.
    """

    gaze_leak_per_s: float = 0.02
    drift_deg_s: float = 0.35
    drift_s: float = 2.0
    quick: QuickPhases = field(default_factory=QuickPhases)
    jerks_per_min: float = 0.0
    jerk_deg: float = 1.5
    oscillation: float = 0.03
    vertical_leak: float = 0.06
    glissade: float = 0.0
    catch_up_deg: float | None = None


@dataclass(frozen=True, slots=True)
class Saccades:
    """Saccades of one plane, arrays of shape (m,): onset and length in s, size and peak signed."""

    onset_s: FloatArray
    duration_s: FloatArray
    amplitude_deg: FloatArray
    peak_velocity_deg_s: FloatArray

    def __len__(self) -> int:
        return int(self.onset_s.size)


@dataclass(frozen=True, slots=True)
class EyeMotion:
    """One plane of the eye on the grid, arrays of shape (n,), deg and deg/s.

    ``position_deg`` is the integral of ``slow_phase_deg_s`` and the saccades;
    ``ringing_deg`` is what comes on top after saccades.
    """

    position_deg: FloatArray
    slow_phase_deg_s: FloatArray
    saccades: Saccades
    ringing_deg: FloatArray


def wandering(
    spread_deg_s: float, memory_s: float, count: int, rng: np.random.Generator
) -> FloatArray:
    """Slow random velocity on the grid: an Ornstein-Uhlenbeck process, shape (n,)."""
    from scipy.signal import lfilter

    kept = float(np.exp(-1.0 / (memory_s * GRID_HZ)))
    noise = rng.standard_normal(count) * spread_deg_s * np.sqrt(1.0 - kept**2)
    start = np.array([kept * spread_deg_s * rng.standard_normal()])
    return np.asarray(lfilter([1.0], [1.0, -kept], noise, zi=start)[0], dtype=float)


def quick_phase_rate(quick: QuickPhases, velocity_deg_s: FloatArray) -> FloatArray:
    """Quick phases per second wanted at each slow-phase velocity."""
    busy = -np.expm1(-np.abs(velocity_deg_s) / quick.busy_deg_s)
    return np.asarray(quick.rest_per_s + quick.busy_per_s * busy)


def _goal_deg(quick: QuickPhases, velocity_deg_s: float, rng: np.random.Generator) -> float:
    speed = abs(velocity_deg_s)
    middle = min(quick.field_per_deg_s * speed, quick.field_deg)
    travel = speed / float(quick_phase_rate(quick, np.asarray(speed)))
    goal = -np.sign(velocity_deg_s) * (middle + quick.overshoot * travel)
    return float(goal + quick.scatter_deg * rng.standard_normal())


def _first(where: BoolArray) -> int:
    """Index of the first True; the length when there is none."""
    return int(np.argmax(where)) if where.any() else where.size


@dataclass(frozen=True, slots=True)
class _Course:
    """What is known before the first quick phase, on the grid.

    ``unbroken`` is where the eye would be without quick phases, ``outward`` the direction of the
    slow phase, ``due`` how many quick phases are wanted until each sample, ``decay`` what the
    leak leaves of a displacement after so many samples.
    """

    velocity: FloatArray
    unbroken: FloatArray
    outward: FloatArray
    due: FloatArray
    decay: FloatArray


def _course(
    quick: QuickPhases, velocity: FloatArray, leak_per_s: float, extra: FloatArray | None
) -> _Course:
    carried = velocity if extra is None else velocity + extra
    return _Course(
        velocity=velocity,
        unbroken=leaky_integral(leak_per_s, carried, GRID_HZ),
        outward=np.sign(velocity),
        due=np.cumsum(quick_phase_rate(quick, velocity)) / GRID_HZ,
        decay=np.exp(-leak_per_s * np.arange(int(LONGEST_WAIT_S * GRID_HZ)) / GRID_HZ),
    )


def _samples_to_next(
    quick: QuickPhases, course: _Course, now: int, held: float, rng: np.random.Generator
) -> int:
    """How many samples after ``now`` a quick phase is tried: when it is due, or the eye far out."""
    wait = int(quick.refractory_s * GRID_HZ)
    wanted = course.due[now] + np.exp(quick.spread * rng.standard_normal() - quick.spread**2 / 2)
    due = int(np.searchsorted(course.due, wanted)) - now
    longest = min(max(due, wait), course.decay.size - 1)
    window = slice(now + wait, now + longest)
    position = course.unbroken[window]
    position = position + held * course.decay[wait : wait + position.size]
    return wait + _first(course.outward[window] * position > quick.limit_deg)


def plan_saccades(
    quick: QuickPhases,
    velocity_deg_s: FloatArray,
    leak_per_s: float,
    rng: np.random.Generator,
    *,
    extra_deg_s: FloatArray | None = None,
) -> Saccades:
    """Quick phases and refixations for a slow-phase velocity on the grid, shape (n,).

    The eye without them is known beforehand; a running sum ``held`` of past saccades, leaking
    like everything else, is added to it. ``extra_deg_s`` is saccadic velocity from elsewhere.
    """
    course = _course(quick, velocity_deg_s, leak_per_s, extra_deg_s)
    found: list[tuple[float, float, float, float]] = []
    now, held = 0, 0.0
    while now < velocity_deg_s.size:
        later = _samples_to_next(quick, course, now, held, rng)
        now, held = now + later, held * course.decay[later]
        if now >= velocity_deg_s.size:
            break
        position = float(course.unbroken[now] + held)
        saccade = _quick_phase(quick, float(velocity_deg_s[now]), position, rng)
        if saccade is not None:
            amplitude, peak, lasting = saccade
            found.append((now / GRID_HZ, lasting, amplitude, float(np.copysign(peak, amplitude))))
            passed = int(lasting * GRID_HZ)
            now, held = now + passed, (held + amplitude) * course.decay[passed]
    return Saccades(*np.asarray(found, dtype=float).reshape(-1, 4).T.copy())


def _quick_phase(
    quick: QuickPhases, velocity_deg_s: float, position_deg: float, rng: np.random.Generator
) -> tuple[float, float, float] | None:
    """Size, peak speed and length of the next quick phase; None when none is worth making."""
    amplitude = _goal_deg(quick, velocity_deg_s, rng) - position_deg
    wrong_way = amplitude * velocity_deg_s > 0 and abs(velocity_deg_s) > 4.0
    if abs(amplitude) < quick.smallest_deg or wrong_way:
        return None
    near = position_deg * np.sign(velocity_deg_s) < 0.5 * quick.limit_deg
    if quick.small_share and near and rng.random() < quick.small_share:
        amplitude = float(np.copysign(min(rng.uniform(*SMALL_DEG), abs(amplitude)), amplitude))
    amplitude = float(np.clip(amplitude, -quick.largest_deg, quick.largest_deg))
    scatter = np.exp(quick.sequence.scatter * rng.standard_normal())
    peak = peak_velocity(quick.sequence, amplitude) * scatter
    return amplitude, float(peak), duration_s(amplitude, float(peak))


def square_wave_jerks(oculomotor: Oculomotor, count: int, rng: np.random.Generator) -> Saccades:
    """Pairs of small saccades away and back, about 0.2 s apart."""
    length_s = count / GRID_HZ
    number = rng.poisson(oculomotor.jerks_per_min * length_s / 60.0)
    starts = np.sort(rng.uniform(0.0, max(length_s - 1.0, 0.0), number))
    size = oculomotor.jerk_deg * rng.uniform(0.5, 1.5, number) * rng.choice([-1.0, 1.0], number)
    away, back = starts, starts + rng.uniform(0.18, 0.28, number)
    return _saccades_of_size(
        oculomotor.quick.sequence, np.concatenate([away, back]), np.concatenate([size, -size])
    )


def _saccades_of_size(
    sequence: MainSequence, onset_s: FloatArray, amplitude_deg: FloatArray
) -> Saccades:
    peaks = np.array([peak_velocity(sequence, size) for size in amplitude_deg])
    lengths = [duration_s(size, peak) for size, peak in zip(amplitude_deg, peaks, strict=True)]
    return Saccades(
        onset_s, np.asarray(lengths, dtype=float), amplitude_deg, np.copysign(peaks, amplitude_deg)
    )


def merged(first: Saccades, second: Saccades) -> Saccades:
    """Both in order of onset."""
    order = np.argsort(np.concatenate([first.onset_s, second.onset_s]), kind="stable")
    return Saccades(
        *(
            np.concatenate([getattr(first, name), getattr(second, name)])[order]
            for name in ("onset_s", "duration_s", "amplitude_deg", "peak_velocity_deg_s")
        )
    )


def saccade_velocity(saccades: Saccades, count: int, *, share: float = 1.0) -> FloatArray:
    """The velocity of all saccades on the grid in deg/s, shape (n,)."""
    velocity = np.zeros(count)
    for onset, lasting, size in zip(
        saccades.onset_s, saccades.duration_s, saccades.amplitude_deg, strict=True
    ):
        first, last = int(onset * GRID_HZ), min(int((onset + lasting) * GRID_HZ) + 1, count)
        when = np.arange(first, last) / GRID_HZ - onset
        velocity[first:last] += share * profile(size, lasting, when)
    return velocity


def ringing(saccades: Saccades, share: float, count: int) -> FloatArray:
    """Damped oscillation after each saccade in deg, shape (n,): 20 Hz, gone in some 40 ms."""
    position = np.zeros(count)
    if share == 0.0:
        return position
    after = np.arange(int(0.08 * GRID_HZ)) / GRID_HZ
    shape = share * np.exp(-after / 0.015) * np.sin(2 * np.pi * 20.0 * after)
    for end_s, size in zip(
        saccades.onset_s + saccades.duration_s, saccades.amplitude_deg, strict=True
    ):
        first = int(end_s * GRID_HZ)
        last = min(first + shape.size, count)
        position[first:last] += size * shape[: max(last - first, 0)]
    return position


def glissades(
    saccades: Saccades, spread: float, count: int, rng: np.random.Generator
) -> FloatArray:
    """Saccades that miss and glide into place, in deg, shape (n,).

    A saccade of size A ends at A·(1 + g), g normal with this spread, and the miss A·g then dies
    away exponentially within ``GLIDE_S``: pulse and step of innervation do not match (common
    practice, no source).
    """
    position = np.zeros(count)
    if spread == 0.0:
        return position
    glide = np.exp(-np.arange(int(5 * GLIDE_S * GRID_HZ)) / (GLIDE_S * GRID_HZ))
    misses = spread * rng.standard_normal(len(saccades)) * saccades.amplitude_deg
    table = zip(saccades.onset_s, saccades.duration_s, misses, strict=True)
    for onset_s, lasting_s, miss in table:
        first, end = int(onset_s * GRID_HZ), int((onset_s + lasting_s) * GRID_HZ)
        rise = np.linspace(0.0, 1.0, end - first, endpoint=False)
        shape = np.concatenate([rise, glide])[: max(count - first, 0)]
        position[first : first + shape.size] += miss * shape
    return position


def eye_motion(
    oculomotor: Oculomotor,
    velocity_deg_s: FloatArray,
    rng: np.random.Generator,
    *,
    extra_deg_s: FloatArray | None = None,
) -> EyeMotion:
    """One plane of the eye for a wanted slow-phase velocity on the grid, shape (n,).

    ``extra_deg_s`` is saccadic velocity that comes from elsewhere (the other plane).
    """
    leak, count = oculomotor.gaze_leak_per_s, velocity_deg_s.size
    saccades = plan_saccades(oculomotor.quick, velocity_deg_s, leak, rng, extra_deg_s=extra_deg_s)
    saccades = merged(saccades, square_wave_jerks(oculomotor, count, rng))
    fast = saccade_velocity(saccades, count)
    if extra_deg_s is not None:
        fast = fast + extra_deg_s
    position = leaky_integral(leak, velocity_deg_s + fast, GRID_HZ)
    slow = velocity_deg_s - leak * position
    after = ringing(saccades, oculomotor.oscillation, count)
    if oculomotor.glissade:
        after = after + glissades(saccades, oculomotor.glissade, count, rng.spawn(1)[0])
    return EyeMotion(position, slow, saccades, after)


def during(saccades: Saccades, time_s: FloatArray) -> BoolArray:
    """Which times fall inside a saccade, shape (n,)."""
    begun = np.searchsorted(saccades.onset_s, time_s, side="right") - 1
    if not len(saccades):
        return np.zeros(time_s.shape, dtype=bool)
    ends = np.maximum.accumulate(saccades.onset_s + saccades.duration_s)
    return np.asarray((begun >= 0) & (time_s <= ends[np.maximum(begun, 0)]))
