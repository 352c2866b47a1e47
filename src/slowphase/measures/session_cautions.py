"""What one trial of a session says against the numbers of the others.

It adds a caution to measures and rewrites none.
"""

from collections.abc import Callable
from dataclasses import replace

from slowphase.foundation.reasons import worst_grade
from slowphase.measures.conditions import cautioned
from slowphase.measures.measure import Measure
from slowphase.measures.result import GroupResult, TrialResult
from slowphase.measures.scale import plane_of, to_scale

OWN_CAUSE = ("values", "calibration")  # kinds that neither finding touches
OWN_SCALE = (*OWN_CAUSE, "check")  # a check has an eye of its own, which no patient calibrated
PLANES = ("horizontal", "vertical")


def with_session_cautions(results: tuple[TrialResult, ...]) -> tuple[TrialResult, ...]:
    """The session's results with the cautions of its waveform and of its calibration.

    Sets ``congenital_waveform_elsewhere`` on all eye movements of a session in which one trial
    carries ``waveform_not_interpretable``, and ``calibration_off`` on what is to scale where a
    calibration in degrees carries it, plane by plane, in each eye that it knows.
    """
    odd = {r.id for r in results if r.quality and "waveform_not_interpretable" in r.quality.why}
    if odd:
        results = tuple(
            r if r.id in odd else doubted(r, "congenital_waveform_elsewhere") for r in results
        )
    off = planes_off(results)
    return tuple(off_scale(result, off) for result in results) if off else results


def groups_to_scale(
    groups: tuple[GroupResult, ...], results: tuple[TrialResult, ...]
) -> tuple[GroupResult, ...]:
    """The groups with ``calibration_off`` on what is to scale, and on nothing else.

    A group in which typed values took part has it from its parts alone.
    """
    off, kinds = planes_off(results), {result.id: result.kind for result in results}
    if not off:
        return groups

    def seen(measure: Measure, group: GroupResult) -> Measure:
        if group.kind in OWN_SCALE:
            return measure
        if not to_scale(measure):
            return without(measure, "calibration_off")
        typed = any(kinds.get(trial) == "values" for trial in group.trials)
        return (
            measure
            if typed or plane_of(measure) not in off
            else cautioned(measure, ("calibration_off",))
        )

    return tuple(replace(g, measures=tuple(seen(m, g) for m in g.measures)) for g in groups)


def without(measure: Measure, code: str) -> Measure:
    """A measure less one reason, unless that leaves it missing without any."""
    why = tuple(other for other in measure.why if other != code)
    if measure.value is None or why == measure.why:
        return measure
    return replace(measure, why=why, grade=worst_grade(why))


def planes_off(results: tuple[TrialResult, ...]) -> tuple[str, ...]:
    """The planes in which a calibration trial says that the recording is not to scale."""
    return tuple(plane for plane in PLANES if any(is_off(result, plane) for result in results))


def is_off(result: TrialResult, plane: str) -> bool:
    """Whether a calibration trial says so of each eye that it knows in this plane."""
    own = [m for m in result.measures if result.kind == "calibration" and m.name == "gain"]
    known = [m for m in own if m.value is not None and plane_of(m) == plane]
    return bool(known) and all("calibration_off" in m.why for m in known)


def off_scale(result: TrialResult, planes: tuple[str, ...]) -> TrialResult:
    """A trial with ``calibration_off`` on those of its measures that are to scale."""

    def touched(measure: Measure) -> bool:
        return to_scale(measure) and plane_of(measure) in planes

    if result.kind in OWN_SCALE or not any(map(touched, result.measures)):
        return result
    return doubted(result, "calibration_off", touched)


def doubted(
    result: TrialResult, code: str, touched: Callable[[Measure], bool] = lambda _: True
) -> TrialResult:
    """A trial with one more reason, on those of its measures that it bears on (all by default)."""
    if result.quality is None or not result.measures or result.kind in OWN_CAUSE:
        return result
    why = (*result.quality.why, code)
    measures = tuple(cautioned(m, (code,)) if touched(m) else m for m in result.measures)
    quality = replace(result.quality, why=why, grade=worst_grade(why))
    return replace(result, quality=quality, measures=measures)
