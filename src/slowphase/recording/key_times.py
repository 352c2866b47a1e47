"""Times among a trial's keys against the length of its recording."""

from dataclasses import replace

from slowphase.foundation.problem import Problem
from slowphase.recording.keys import is_number
from slowphase.recording.report_problem import make_problem
from slowphase.recording.trial import Trial

WITHIN = ("held_s", "returned_s", "fixation_s", "fixation_start_s", "fixation_stop_s",
          "positioned_s", "moving_s")  # fmt: skip
MAY_BE_BEFORE = ("irrigation_s", "irrigation_start_s", "irrigation_stop_s")
TOLERANCE_S = 1.0  # an export may lack the last moment of what the keys name


def with_times_checked(trial: Trial) -> tuple[Trial, tuple[Problem, ...]]:
    """The trial less those times that lie outside its recording, and a problem for each.

    A key is left out where nothing of it was recorded; one that only ends later than the recording
    has its problem and is used as far as it goes (none in a trial that was stopped). An irrigation
    may lie before the recording.
    """
    problems = [
        _outside(trial, key)
        for key in (*WITHIN, *MAY_BE_BEFORE)
        if trial.recording is not None and key in trial.stimulus
    ]
    found = [entry for entry in problems if entry is not None]
    lost = {problem.key for problem, nowhere in found if nowhere}
    stimulus = {key: value for key, value in trial.stimulus.items() if key not in lost}
    return replace(trial, stimulus=stimulus), tuple(problem for problem, _ in found)


def _outside(trial: Trial, key: str) -> tuple[Problem, bool] | None:
    """The problem of a key, and whether nothing of it was recorded."""
    times, length_s = _times(trial.stimulus[key]), _length_s(trial)
    if not times:
        return None
    early = key not in MAY_BE_BEFORE and times[-1] < -TOLERANCE_S
    nowhere = times[0] > length_s + (TOLERANCE_S if len(times) == 1 else 0.0) or early
    cut = times[-1] > length_s + TOLERANCE_S and trial.outcome != "stopped"
    return (_problem(trial, key, length_s, nowhere), nowhere) if nowhere or cut else None


def _times(value: object) -> list[float]:
    listed = value if isinstance(value, list | tuple) else [value]
    return [float(str(time)) for time in listed if is_number(time)]


def _length_s(trial: Trial) -> float:
    return float(trial.recording.time_s[-1]) if trial.recording is not None else 0.0


def _problem(trial: Trial, key: str, length_s: float, nowhere: bool) -> Problem:
    value = trial.stimulus[key]
    used = "it was not used" if nowhere else "it was used up to the end of the recording"
    return make_problem(
        "time_outside_recording",
        f"{value} s lies outside the recording, which lasts {length_s:.4g} s",
        expected="seconds from the start of the recording",
        remedy=f"correct the time, or the part of the file; {used}",
        found=value,
        trial=trial.id,
        key=key,
    )
