"""True measures that take several trials: the caloric formulae.

With speeds signed so that the expected direction is positive (Jongkees, Maas, Philipszoon 1962,
from memory, well known):

    unilateral_weakness (%)        100·[(RW + RC) − (LW + LC)] / (RW + RC + LW + LC)
    directional_preponderance (%)  100·[(RW + LC) − (LW + RC)] / (RW + RC + LW + LC)

Negative weakness: the right ear answers less; positive preponderance: to right-beating.
"""

from collections.abc import Sequence

from slowphase.physiology.caloric import BODY_C
from slowphase.physiology.simulate import SimulatedTrial
from slowphase.physiology.truth import Measures

SMALLEST_DEG_S = 1e-9


def session_truth(trials: Sequence[SimulatedTrial]) -> Measures:
    """Both ratios, where each ear was irrigated warm and cool; None where nothing answers."""
    speeds: dict[tuple[str, bool], list[float]] = {}
    for trial in trials:
        velocity = trial.truth.measures.get("velocity")
        if trial.plan.kind == "caloric" and velocity is not None:
            warm = trial.plan.temperature_c > BODY_C
            # warm on the right and cool on the left send the slow phase to the left (negative)
            expected = -1.0 if (trial.plan.ear == "right") == warm else 1.0
            speeds.setdefault((trial.plan.ear, warm), []).append(expected * velocity)
    if len(speeds) < 4:
        return {}
    mean = {key: sum(values) / len(values) for key, values in speeds.items()}
    return caloric_ratios(
        mean["right", True], mean["right", False], mean["left", True], mean["left", False]
    )


def caloric_ratios(
    right_warm: float, right_cool: float, left_warm: float, left_cool: float
) -> Measures:
    """Weakness and preponderance in percent from four signed speeds in deg/s."""
    total = right_warm + right_cool + left_warm + left_cool
    if abs(total) < SMALLEST_DEG_S:
        return {"unilateral_weakness": None, "directional_preponderance": None}
    ears = (right_warm + right_cool) - (left_warm + left_cool)
    beats = (right_warm + left_cool) - (left_warm + right_cool)
    return {
        "unilateral_weakness": 100.0 * ears / total,
        "directional_preponderance": 100.0 * beats / total,
    }
