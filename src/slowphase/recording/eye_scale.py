"""Eye positions that no eye has: a wrong unit or scale of the column, or stray numbers."""

from collections.abc import Mapping

import numpy as np

from slowphase.foundation.arrays import FloatArray
from slowphase.foundation.problem import Problem
from slowphase.recording.columns import EYE_ROLES
from slowphase.recording.plan import TrialPlan
from slowphase.recording.report_problem import make_problem

REACH_DEG = 200.0  # an eye turns 50 deg to either side; electrodes drift, but not so far
STRAY_SHARE = 0.01  # of the samples: so few beyond the reach are lost ones, not a scale


def plausible_eyes(
    plan: TrialPlan, channels: Mapping[str, FloatArray]
) -> tuple[dict[str, FloatArray], tuple[Problem, ...]]:
    """The channels (n,) without eyes that lie beyond 200 deg of their median, each a problem.

    Where hardly any sample does, these are lost (NaN) and the channel is kept. Channels that are
    still to be calibrated are left alone.
    """
    kept: dict[str, FloatArray] = {}
    problems: list[Problem] = []
    for role, values in channels.items():
        column = plan.columns[role]
        if role not in EYE_ROLES or column.is_raw or not _wide(values):
            kept[role] = values
            continue
        far = np.abs(values - np.nanmedian(values)) > REACH_DEG
        if np.count_nonzero(far) > STRAY_SHARE * np.count_nonzero(np.isfinite(values)):
            problems.append(_implausible(plan, role, values))
        else:
            kept[role] = np.where(far, np.nan, values)
    return kept, tuple(problems)


def _wide(values: FloatArray) -> bool:
    """Whether two samples lie so far apart that one may be beyond the reach."""
    return bool(values.size) and np.fmax.reduce(values) - np.fmin.reduce(values) > REACH_DEG


def _implausible(plan: TrialPlan, role: str, values: FloatArray) -> Problem:
    column = plan.columns[role]
    low, high = np.nanpercentile(values, [2.5, 97.5])
    return make_problem(
        "eye_scale_implausible",
        f"column {column.name!r} lies between {low:.4g} and {high:.4g} deg",
        expected=f"an eye within {REACH_DEG:g} deg of its median",
        remedy="correct the unit or the scale of the column; it was not used",
        found=f"{low:.4g} to {high:.4g} deg",
        trial=plan.trial.id,
        file=plan.trial.file,
        key=role,
    )
