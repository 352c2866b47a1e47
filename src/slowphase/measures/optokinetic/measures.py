"""Optokinetic nystagmus: gain in the direction of the scene, and what is left in the dark."""

from dataclasses import dataclass, replace

import numpy as np

from slowphase.eye.slowphase import Pieces
from slowphase.eye.track import Tracked
from slowphase.foundation.arrays import FloatArray
from slowphase.foundation.reasons import worst_grade
from slowphase.measures.interval import (
    NOTHING,
    Maker,
    proportional,
    symmetric,
    t_quantile,
)
from slowphase.measures.measure import Measure
from slowphase.measures.optokinetic.settings import OptokineticSettings
from slowphase.measures.prepare import Prepared, number, poorly, result, roughly
from slowphase.measures.reflex import averaged, data_of
from slowphase.measures.regression import Fit, Prior, robust_fit
from slowphase.measures.result import TrialResult
from slowphase.measures.settings import MeasureSettings
from slowphase.measures.spontaneous import centre
from slowphase.recording.trial import Recording, Trial

SIGNS = {"right": 1.0, "left": -1.0, "up": 1.0, "down": -1.0}
WAYS = {"horizontal": ("rightward", "leftward"), "vertical": ("upward", "downward")}
AFTER = "after"


@dataclass(frozen=True, slots=True)
class Scene:
    """What moved: signed velocity (deg/s, right and up positive), and from when to when (s)."""

    plane: str
    velocity_deg_s: float
    start_s: float
    stop_s: float
    timed: bool

    @property
    def way(self) -> str:
        """Where the scene goes."""
        return WAYS[self.plane][int(self.velocity_deg_s < 0)]


@dataclass(frozen=True, slots=True)
class OptokineticView:
    """What a picture shows: the scene, the plane and the fit at every sample."""

    scene: Scene
    tracked: Tracked
    fit_deg_s: FloatArray


def scene_of(trial: Trial, recording: Recording) -> Scene | None:
    """The scene of a trial from ``velocity_deg_s``, ``direction`` and ``moving_s``.

    A direction gives the sign of the speed. Without one only a negative velocity tells it (left):
    a positive one may be a bare speed, and the scene is not known. Without ``moving_s`` it is not
    timed.
    """
    speed = number(trial.stimulus, "velocity_deg_s")
    direction = trial.stimulus.get("direction")
    if not np.isfinite(speed) or speed == 0.0 or (direction not in SIGNS and speed > 0.0):
        return None
    plane = "vertical" if direction in ("up", "down") else "horizontal"
    velocity = abs(speed) * SIGNS[str(direction)] if direction in SIGNS else speed
    moving = trial.stimulus.get("moving_s")
    first, last = float(recording.time_s[0]), float(recording.time_s[-1])
    if isinstance(moving, list | tuple) and len(moving) == 2:
        return Scene(
            plane, velocity, max(float(moving[0]), first), min(float(moving[1]), last), True
        )
    return Scene(plane, velocity, first, last, False)


def measure_optokinetic(prepared: Prepared) -> TrialResult:
    """Steady gain toward the scene; velocity and time constant of the after-nystagmus.

    Sets ``scene_unknown``, ``scene_not_timed``, ``no_darkness_after``, ``too_short``,
    ``known_roughly``, ``poorly_determined``, ``no_after_nystagmus``, ``rest_before_differs``,
    ``wrong_way``, ``scene_in_other_plane``, ``nystagmus_in_gain``.
    """
    scene = scene_of(prepared.trial, prepared.recording)
    if scene is None:
        return result(prepared, no_optokinetic(prepared.maker(), "scene_unknown"))
    tracked = prepared.horizontal if scene.plane == "horizontal" else prepared.vertical
    if tracked is None:
        return result(prepared, no_optokinetic(prepared.maker(), "eye_not_seen"))
    own = prepared.settings.battery.optokinetic
    make, settings = prepared.maker(), replace(prepared.settings, drift_deg_s=own.drift_deg_s)
    lit = during_scene(tracked.pieces, scene, settings) if scene.timed else None
    dark, why = after_scene(tracked.pieces, scene, settings)
    measures = [_beside_nystagmus(_gain(make, scene, lit, own), dark, own)]
    measures += _after(make, scene, dark, own, why)
    beside = prepared.vertical if scene.plane == "horizontal" else prepared.horizontal
    if lit is not None and beside is not None and goes_across(lit, beside, scene, settings):
        measures = [_spoilt(measure, "scene_in_other_plane") for measure in measures]
    fitted = fitted_velocity(scene, lit, dark, prepared.recording.time_s)
    found = result(prepared, measures, fit_deg_s=fitted if scene.plane == "horizontal" else None)
    if found.evidence is None:
        return found
    view = OptokineticView(scene, tracked, fitted)
    return replace(found, evidence=replace(found.evidence, own=view))


def goes_across(lit: Fit, beside: Tracked, scene: Scene, settings: MeasureSettings) -> bool:
    """Whether the eye beats in the other plane as it should in the scene's own."""
    own = settings.battery.optokinetic
    across = during_scene(beside.pieces, scene, settings)
    if across is None:
        return False
    speed = abs(float(across.parameters[0]))
    along = abs(float(lit.parameters[0]))
    fast = own.across_share * abs(scene.velocity_deg_s)
    return speed > max(fast, own.across_times * along)


def _spoilt(measure: Measure, code: str) -> Measure:
    if measure.value is None:
        return measure
    why = (*measure.why, code)
    return replace(measure, why=why, grade=worst_grade(why))


def no_optokinetic(make: Maker, why: str) -> list[Measure]:
    """The measures of an optokinetic trial that shows nothing."""
    return [make("gain", NOTHING, "1", why=(why,)), *_no_after(make, why)]


def _no_after(make: Maker, why: str) -> list[Measure]:
    names = (("velocity", "deg/s"), ("time_constant", "s"))
    return [make(name, NOTHING, unit, of=AFTER, why=(why,)) for name, unit in names]


def _between(pieces: Pieces, start_s: float, stop_s: float) -> Pieces:
    inside = (pieces.time_s >= start_s) & (pieces.time_s < stop_s)
    return Pieces(*(getattr(pieces, name)[inside] for name in Pieces.__slots__))


def _enough(pieces: Pieces, settings: MeasureSettings) -> bool:
    seconds = float(np.ptp(pieces.time_s)) if len(pieces) else 0.0
    least = settings.battery.optokinetic.seconds_min
    return len(pieces) >= settings.pieces_min and seconds >= least


def during_scene(pieces: Pieces, scene: Scene, settings: MeasureSettings) -> Fit | None:
    """v = steady − charged·exp(−t/τ) while the scene moves: parameters steady, charged, log τ."""
    own = settings.battery.optokinetic
    part = _between(pieces, scene.start_s + own.settle_s, scene.stop_s)
    if not _enough(part, settings):
        return None
    since = part.node_times_s() - scene.start_s
    middle = float(np.median(part.velocity_deg_s))
    prior = Prior(
        np.array([0.0, 0.0, np.log(own.charging_s)]),
        np.array([np.inf, own.charging_share_sd * abs(scene.velocity_deg_s), own.charging_log_sd]),
    )

    def model(p: FloatArray) -> FloatArray:
        return p[0] - p[1] * averaged(np.exp(-since / np.exp(p[2])))

    start = np.array([middle, 0.1 * middle, np.log(own.charging_s)])
    return robust_fit(model, start, data_of(part, settings), prior)


def after_scene(
    pieces: Pieces, scene: Scene, settings: MeasureSettings
) -> tuple[Fit | None, tuple[str, ...]]:
    """v = nystagmus + stored·exp(−t/T) in the dark after the scene: the three, T as logarithm.

    The dark before the scene, where nothing is stored, takes part and tells the nystagmus; it is
    left out (``rest_before_differs``) where the dark after it speaks against it, as where a
    target was looked at.
    """
    own = settings.battery.optokinetic
    after = _between(pieces, scene.stop_s + own.settle_s, np.inf)
    if not scene.timed or not _enough(after, settings):
        return None, ()
    alone = _decay(after, scene, settings, own.same_deg_s)
    lead = _between(pieces, -np.inf, scene.start_s - own.before_s)
    if len(lead) < settings.pieces_min:
        return alone, ()
    before = centre(lead, settings)
    if _contradicts(before, alone, own):
        return alone, ("rest_before_differs",)
    alike = own.same_deg_s if _beats(before, own) else own.seen_deg_s
    return _decay(_joined(lead, after), scene, settings, alike), ()


def _decay(part: Pieces, scene: Scene, settings: MeasureSettings, alike_deg_s: float) -> Fit:
    """The fit; before the scene the nystagmus may differ by ``alike_deg_s`` (SD), the fourth."""
    own = settings.battery.optokinetic
    since = part.node_times_s() - scene.stop_s
    lead = (part.time_s < scene.start_s).astype(float)
    prior = Prior(
        np.array([0.0, 0.0, np.log(own.decay_s), 0.0]),
        np.array([own.nystagmus_deg_s, np.inf, own.decay_log_sd, alike_deg_s]),
    )

    def model(p: FloatArray) -> FloatArray:
        left = np.where(since > 0.0, np.exp(-np.maximum(since, 0.0) / np.exp(p[2])), 0.0)
        return p[0] + p[3] * lead + p[1] * averaged(left)

    late = part.velocity_deg_s[part.time_s >= float(np.median(part.time_s))]
    early = part.velocity_deg_s[
        (part.time_s > scene.stop_s) & (part.time_s < scene.stop_s + 2 * own.seconds_min)
    ]
    rest = float(np.median(late))
    first = float(np.median(early)) - rest if early.size else 0.0
    start = np.array([rest, first, np.log(own.decay_s), 0.0])
    return robust_fit(model, start, data_of(part, settings), prior)


def _joined(one: Pieces, other: Pieces) -> Pieces:
    names = Pieces.__slots__
    return Pieces(*(np.concatenate([getattr(p, name) for p in (one, other)]) for name in names))


def _contradicts(before: Fit, alone: Fit, settings: OptokineticSettings) -> bool:
    """Whether the nystagmus before the scene is surely not that of the dark after it."""
    apart = abs(float(before.parameters[0] - alone.parameters[0]))
    error = float(np.hypot(before.standard_errors[0], alone.standard_errors[0]))
    return apart > settings.lead_apart_sd * error


def _beats(before: Fit, settings: OptokineticSettings) -> bool:
    """Whether a nystagmus was surely there before the scene: then nothing was looked at."""
    reach = t_quantile(before.degrees) * float(before.standard_errors[0])
    return abs(float(before.parameters[0])) - reach > settings.after_min_deg_s


def fitted_velocity(
    scene: Scene, lit: Fit | None, dark: Fit | None, time_s: FloatArray
) -> FloatArray:
    """Both fits at every sample; the nystagmus of the dark before the scene, shape (n,)."""
    rest = float(dark.parameters[0]) if dark else 0.0
    fit = np.full(time_s.size, rest)
    if lit is not None:
        steady, charged, log_s = lit.parameters
        moving = (time_s >= scene.start_s) & (time_s < scene.stop_s)
        since = time_s[moving] - scene.start_s
        fit[moving] = steady - charged * np.exp(-since / np.exp(log_s))
    if dark is not None:
        after = time_s >= scene.stop_s
        since = time_s[after] - scene.stop_s
        fit[after] = rest + dark.parameters[1] * np.exp(-since / np.exp(dark.parameters[2]))
    return fit


def _gain(make: Maker, scene: Scene, lit: Fit | None, settings: OptokineticSettings) -> Measure:
    """Steady slow-phase velocity over that of the scene, positive with the scene."""
    if lit is None:
        short = "too_short" if scene.timed else "scene_not_timed"
        return make("gain", NOTHING, "1", of=scene.way, why=(short,))
    error = float(lit.standard_errors[0]) / abs(scene.velocity_deg_s)
    gain = float(lit.parameters[0]) / scene.velocity_deg_s
    unusable = poorly(error, settings.gain_error_max)
    why = unusable or roughly(error, settings.gain_error_rough)
    found = symmetric(gain, error, t_quantile(lit.degrees))
    if gain < settings.wrong_way_gain and (found.high or 0.0) < 0.0:
        why = (*why, "wrong_way")
    return make("gain", found, "1", of=scene.way, definition="steady_state", why=why)


def _beside_nystagmus(gain: Measure, dark: Fit | None, settings: OptokineticSettings) -> Measure:
    """The gain with a caution where the dark shows a nystagmus, some of which may be left in it."""
    beats = dark is not None and abs(float(dark.parameters[0])) > settings.beside_deg_s
    return _spoilt(gain, "nystagmus_in_gain") if beats else gain


def _after(
    make: Maker,
    scene: Scene,
    dark: Fit | None,
    settings: OptokineticSettings,
    lead: tuple[str, ...],
) -> list[Measure]:
    """The stored velocity at the first moment of darkness (signed), and how it decays.

    ``lead`` are the reasons that the dark before the scene gave.
    """
    if dark is None:
        return _no_after(make, "no_darkness_after" if scene.timed else "scene_not_timed")
    quantile, errors = t_quantile(dark.degrees), dark.standard_errors
    velocity = symmetric(float(dark.parameters[1]), float(errors[1]), quantile)
    error = float(errors[1])
    parted = poorly(error, settings.after_error_max)
    why = parted or roughly(error, settings.after_error_rough)
    measures = [make("velocity", velocity, "deg/s", of=AFTER, why=(*why, *lead))]
    if parted:
        return [*measures, make("time_constant", NOTHING, "s", of=AFTER, why=parted)]
    surely = (velocity.low or 0.0) * (velocity.high or 0.0) > 0
    if not surely or abs(float(dark.parameters[1])) < settings.after_min_deg_s:
        none = make("time_constant", NOTHING, "s", of=AFTER, why=("no_after_nystagmus",))
        return [*measures, none]
    log_error = float(errors[2])
    why = poorly(log_error, settings.decay_log_max) or roughly(log_error, settings.decay_log_rough)
    decay = proportional(float(np.exp(dark.parameters[2])), log_error, quantile)
    return [*measures, make("time_constant", decay, "s", of=AFTER, why=(*why, *lead))]
