"""Eye columns in pixels or volts without a scale: some calibration trial must have the same unit.

Whether its fit can be trusted is found out later, by the eye layer; here only what session.toml
says is looked at.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from slowphase.foundation.problem import Problem
from slowphase.recording.columns import Column, MapPlace, not_in_degrees
from slowphase.recording.plan import TrialPlan
from slowphase.recording.report_problem import make_problem
from slowphase.recording.toml_lines import TomlLines


def without_uncalibrated(
    trials: tuple[TrialPlan, ...], lines: TomlLines
) -> tuple[tuple[TrialPlan, ...], tuple[Problem, ...]]:
    """The trials less raw columns that no calibration trial of the session can turn into degrees.

    Each such column of a map is one problem (``not_in_degrees``), however many trials use it.
    """
    known = {pair for trial in trials if _calibrates(trial) for pair in _raw(trial)}
    problems: dict[tuple[str, int, str], Problem] = {}
    kept = []
    for trial in trials:
        lost = {role: unit for role, unit in _raw(trial) if (role, unit) not in known}
        for role in lost:
            unit, place = trial.columns[role].unit, _place(trial, role, lines)
            if unit is not None:
                key = place.table, place.index, role
                problems.setdefault(key, not_in_degrees(role, unit, place))
        kept.append(_without(trial, lost) if lost else trial)
    return tuple(kept), tuple(problems.values())


def raw_units_of(columns: Mapping[str, Column], roles: Iterable[str]) -> dict[str, str]:
    """The units of those channels that are not in degrees yet, by role."""
    return {
        role: column.unit.name
        for role in roles
        if (column := columns.get(role)) is not None and column.is_raw and column.unit is not None
    }


def not_calibrated(role: str, trials: Sequence[str], told: str, codes: Sequence[str]) -> Problem:
    """The problem of a channel that no calibration could turn into degrees.

    ``told`` says of each calibration why, in words; ``codes`` are the reasons.
    """
    others = ", ".join(f'"{trial}"' for trial in trials[1:])
    same = f" (the same holds for {others})" if others else ""
    return make_problem(
        "not_calibrated",
        f"no calibration turns this channel into degrees: {told.rstrip('.')}{same}",
        expected="a calibration trial in the same unit that can be trusted",
        remedy="correct its targets, repeat it, or add scale = … to the column",
        found=", ".join(codes),
        trial=trials[0],
        file=None,
        key=role,
    )


def _calibrates(trial: TrialPlan) -> bool:
    return trial.trial.kind == "calibration" and trial.readable and trial.path is not None


def _raw(trial: TrialPlan) -> list[tuple[str, str]]:
    return list(raw_units_of(trial.columns, trial.columns).items())


def _place(trial: TrialPlan, role: str, lines: TomlLines) -> MapPlace:
    """Where the column stands: in the trial's own map or in that of the session."""
    own = ("trial.columns", trial.index, role) in lines.lines
    if own:
        return MapPlace(lines, "trial.columns", trial.index, trial.trial.id)
    return MapPlace(lines, "columns")


def _without(trial: TrialPlan, lost: Iterable[str]) -> TrialPlan:
    columns = {role: column for role, column in trial.columns.items() if role not in lost}
    return replace(trial, columns=columns, lost_roles=trial.lost_roles | frozenset(lost))
