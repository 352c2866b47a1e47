"""What one trial of a session says against the numbers of the others.

It adds a caution to measures and rewrites none.
"""

from dataclasses import replace

from slowphase.foundation.reasons import worst_grade
from slowphase.measures.conditions import cautioned
from slowphase.measures.measure import Measure
from slowphase.measures.result import TrialResult

OWN_CAUSE = ("values", "calibration")  # kinds that neither finding touches
TO_SCALE = (  # measures that a wrong calibration makes wrong by its own share
    "velocity", "gain", "gain_right", "gain_left", "bias", "offset", "peak_speed",
    "peak_velocity", "square_wave_size", "cumulative_eye_position",
)  # fmt: skip


def with_session_cautions(results: tuple[TrialResult, ...]) -> tuple[TrialResult, ...]:
    """The session's results with the cautions of its waveform and of its calibration.

    Sets ``congenital_waveform_elsewhere`` on all eye movements of a session in which one trial
    carries ``waveform_not_interpretable``, and ``calibration_off`` on what is to scale where a
    calibration in degrees carries it in each eye that it knows.
    """
    odd = {r.id for r in results if r.quality and "waveform_not_interpretable" in r.quality.why}
    if odd:
        results = tuple(
            r if r.id in odd else doubted(r, "congenital_waveform_elsewhere") for r in results
        )
    if any(is_off(r) for r in results):
        results = tuple(doubted(r, "calibration_off", names=TO_SCALE) for r in results)
    return results


def is_off(result: TrialResult) -> bool:
    """Whether a calibration trial says that the horizontal recording is not to scale."""
    own = [m for m in result.measures if result.kind == "calibration" and m.name == "gain"]
    known = [m for m in own if m.value is not None and "horizontal" in (m.of or "")]
    return bool(known) and all("calibration_off" in m.why for m in known)


def doubted(result: TrialResult, code: str, *, names: tuple[str, ...] = ()) -> TrialResult:
    """A trial with one more reason, on those of its measures that it bears on (all by default)."""
    if result.quality is None or not result.measures or result.kind in OWN_CAUSE:
        return result
    why = (*result.quality.why, code)

    def touched(measure: Measure) -> bool:
        return not names or measure.name in names

    measures = tuple(cautioned(m, (code,)) if touched(m) else m for m in result.measures)
    quality = replace(result.quality, why=why, grade=worst_grade(why))
    return replace(result, quality=quality, measures=measures)
