"""What we aim at: the error of each measure, as median, 90 % and worst that is graded sound.

Chosen beforehand and by ourselves; no publication sets them. Relative errors are in percent of the
truth, which counts as at least ``SMALLEST_TRUTH``.
"""

from dataclasses import dataclass

SMALLEST_TRUTH = 0.05


@dataclass(frozen=True, slots=True)
class Aim:
    """Largest errors aimed at, in ``unit``; ``relative`` errors are in percent of the truth."""

    median: float
    p90: float
    worst_sound: float
    unit: str

    @property
    def relative(self) -> bool:
        return self.unit == "%"


AIMS: dict[tuple[str, str], Aim] = {
    ("sinusoid", "gain"): Aim(0.3, 1, 3, "%"),
    ("sinusoid", "gain_right"): Aim(0.5, 2, 5, "%"),
    ("sinusoid", "gain_left"): Aim(0.5, 2, 5, "%"),
    ("sinusoid", "phase"): Aim(0.1, 0.4, 2, "deg"),
    ("sinusoid", "bias"): Aim(0.1, 0.5, 1.5, "deg/s"),
    ("sinusoid", "asymmetry"): Aim(0.4, 2, 5, "points"),
    ("suppression", "suppression"): Aim(0.4, 1.5, 4, "points"),
    ("step", "gain"): Aim(0.5, 2, 6, "%"),
    ("step", "bias"): Aim(0.15, 0.7, 2, "deg/s"),
    ("step", "time_constant"): Aim(1, 6, 12, "%"),
    ("spontaneous", "velocity"): Aim(0.1, 0.4, 1, "deg/s"),
}
HALF_WIDTHS: dict[tuple[str, str], float] = {
    ("sinusoid", "gain"): 2.0,
    ("step", "time_constant"): 8.0,
}
GIVEN_PCT = 97.0
GIVEN_STEP_PCT = 92.0
SOUND_PCT = (60.0, 70.0)
COVERAGE_PCT = (92.0, 98.0)
COVERAGE_LEAST_PCT = 85.0
COVERAGE_STUDY_PCT = (93.0, 97.0)
EFFICIENCY = 1.2
LABELLED_F1 = 0.93
