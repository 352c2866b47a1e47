"""Write a session as a folder that the reader takes back: session.toml and text traces.

The same session gives the same bytes. Every trace file has the same columns; a channel that a
trial lacks stays empty. Lost samples are empty cells.
"""

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path, PurePosixPath
from typing import TYPE_CHECKING

import numpy as np

from slowphase.foundation.arrays import FloatArray
from slowphase.foundation.errors import UsageError
from slowphase.foundation.whole_file import write_whole_file
from slowphase.recording.columns import HEAD_AXIS_ROLES, PASSED_ROLES
from slowphase.recording.session import Session
from slowphase.recording.trial import Recording, Trial

if TYPE_CHECKING:
    import polars as pl

NAMES = {
    "time": "t",
    "head_velocity": "chair",
    "eye_h_right": "Rx",
    "eye_v_right": "Ry",
    "eye_t_right": "Rt",
    "eye_h_left": "Lx",
    "eye_v_left": "Ly",
    "eye_t_left": "Lt",
}
RESERVED = {"CON", "PRN", "AUX", "NUL", *(f"{p}{n}" for p in ("COM", "LPT") for n in range(1, 10))}
UNITS = {"time": "s", "head_velocity": "deg/s", **dict.fromkeys(HEAD_AXIS_ROLES, "deg/s")}
TIME_DECIMALS = 5


@dataclass(frozen=True, slots=True)
class Layout:
    """How trace files look: column names by role, roles written with the other sign, marks.

    ``flipped`` maps a role to ``left`` or ``down``, the direction that is positive in the file.
    """

    names: Mapping[str, str] = field(default_factory=lambda: NAMES)
    flipped: Mapping[str, str] = field(default_factory=dict)
    delimiter: str = ","
    decimal_comma: bool = False
    suffix: str = ".csv"


def write_session(
    session: Session, folder: str | Path, *, decimals: int = 3, layout: Layout | None = None
) -> Path:
    """Write the session into ``folder`` (made when missing) and return its ``session.toml``.

    Angles and velocities keep ``decimals`` digits after the point. Raises ``UsageError`` when a
    trial's file would leave the folder.
    """
    layout = layout or Layout()
    roles = _roles(session.trials)
    folder = Path(folder)
    folder.mkdir(parents=True, exist_ok=True)
    _check_distinct(session.trials)
    for trial in session.trials:
        if trial.recording is not None:
            path = _inside(folder, _file_name(trial, layout))
            path.parent.mkdir(parents=True, exist_ok=True)
            _write_traces(trial.recording, path, roles, decimals, layout)
    target = folder / "session.toml"
    text = session_toml(session, roles, layout)
    write_whole_file(target, text.encode())
    return target


def _check_distinct(trials: Iterable[Trial]) -> None:
    """Raises ``UsageError`` for ids that some systems cannot tell apart as file names."""
    seen: dict[str, str] = {}
    for trial in trials:
        other = seen.setdefault(trial.id.casefold(), trial.id)
        if other is not trial.id:
            raise UsageError(f"trials {other!r} and {trial.id!r} would share a file; rename one")


def session_toml(session: Session, roles: Iterable[str], layout: Layout) -> str:
    """The text of ``session.toml`` for traces with these roles."""
    tables = [
        "schema = 1\n",
        toml_table("[patient]", _patient(session)),
        toml_table("[session]", {"date": session.date} | dict(session.notes)),
        _columns_table(roles, layout, _raw_units(session.trials)),
        toml_table("[conditions]", session.conditions) if session.conditions else "",
        *(toml_table("[[trial]]", _trial_keys(trial, layout)) for trial in session.trials),
    ]
    return "\n".join(table for table in tables if table)


def _roles(trials: Iterable[Trial]) -> tuple[str, ...]:
    found: dict[str, None] = {"time": None}
    recordings = [trial.recording for trial in trials if trial.recording is not None]
    if any(_has_head(recording) for recording in recordings):
        found["head_velocity"] = None
    for recording in recordings:
        found |= dict.fromkeys(recording.channels)
    return tuple(found)


def _has_head(recording: Recording) -> bool:
    """Whether the chair's velocity was measured in some way: a rebuilt one is no recording."""
    return recording.head_velocity_deg_s is not None and recording.head_source != "rebuilt"


def _patient(session: Session) -> dict[str, object]:
    patient = session.patient
    return {"code": patient.code, "age_years": patient.age_years, "sex": patient.sex}


def _trial_keys(trial: Trial, layout: Layout) -> dict[str, object]:
    keys: dict[str, object] = {"id": trial.id, "kind": trial.kind}
    if trial.recording is not None:
        keys["file"] = _file_name(trial, layout)
    keys |= {"vision": trial.vision} | dict(trial.stimulus)
    if trial.outcome != "done":
        keys["outcome"] = trial.outcome
    if trial.eye != "both":
        keys["eye"] = trial.eye
    return keys | {"reason": trial.reason, "repeat_of": trial.repeat_of, "notes": trial.notes}


def _file_name(trial: Trial, layout: Layout) -> str:
    return str(PurePosixPath("trials") / f"{trial.id}{layout.suffix}")


def _inside(folder: Path, name: str) -> Path:
    path = folder / name
    stem = path.name.split(".")[0].upper()
    if stem in RESERVED or any(mark in path.name for mark in '<>:"|?*'):
        raise UsageError(f"{path.name!r} is no file name on every system; choose another trial id")
    if not path.resolve().is_relative_to(folder.resolve()):
        raise UsageError(f"the trial's file {name!r} would lie outside {folder}; choose another id")
    return path


def toml_table(header: str, entries: Mapping[str, object]) -> str:
    """A table of TOML under its header, without the entries that are None."""
    lines = [f"{key} = {toml_value(entry)}" for key, entry in entries.items() if entry is not None]
    return "\n".join([header, *lines]) + "\n"


def toml_value(entry: object) -> str:
    """A value as TOML has it."""
    if isinstance(entry, bool):
        return "true" if entry else "false"
    if isinstance(entry, date):
        return entry.isoformat()
    if isinstance(entry, int):
        return repr(entry)
    if isinstance(entry, float):
        return repr(int(entry) if float(entry).is_integer() else float(entry))
    if isinstance(entry, list | tuple):
        return "[" + ", ".join(toml_value(part) for part in entry) + "]"
    return json.dumps(str(entry), ensure_ascii=False).replace("\x7f", "\\u007F")


def _raw_units(trials: Iterable[Trial]) -> dict[str, str]:
    """The units of channels that are not in degrees, by role."""
    found: dict[str, str] = {}
    for trial in trials:
        if trial.recording is not None:
            found |= trial.recording.raw_units
    return found


def _columns_table(roles: Iterable[str], layout: Layout, raw_units: Mapping[str, str]) -> str:
    entries = {role: _column(role, layout, raw_units.get(role)) for role in roles}
    width = max(len(role) for role in entries)
    lines = [f"{role:<{width}} = {text}" for role, text in entries.items()]
    return "\n".join(["[columns]", *lines]) + "\n"


def _column(role: str, layout: Layout, raw_unit: str | None) -> str:
    keys = {"name": layout.names.get(role, role)}
    if role not in PASSED_ROLES:
        keys["unit"] = raw_unit or UNITS.get(role, "deg")
    if role in layout.flipped:
        keys["positive"] = layout.flipped[role]
    return "{ " + ", ".join(f"{key} = {toml_value(text)}" for key, text in keys.items()) + " }"


def _write_traces(
    recording: Recording, path: Path, roles: tuple[str, ...], decimals: int, layout: Layout
) -> None:
    import polars as pl

    columns = {
        layout.names.get(role, role): _cells(
            _signed(recording, role, layout), TIME_DECIMALS if role == "time" else decimals
        )
        for role in roles
    }
    pl.DataFrame(columns).write_csv(
        path,
        separator=layout.delimiter,
        decimal_comma=layout.decimal_comma,
        null_value="",
        line_terminator="\n",
    )


def _signed(recording: Recording, role: str, layout: Layout) -> FloatArray:
    sign = -1.0 if role in layout.flipped else 1.0
    return sign * _samples(recording, role)


def _samples(recording: Recording, role: str) -> FloatArray:
    absent = np.full(recording.time_s.shape, np.nan)
    if role == "time":
        return recording.time_s
    if role == "head_velocity":
        head = recording.head_velocity_deg_s
        return head if head is not None and _has_head(recording) else absent
    return recording.channels.get(role, absent)


def _cells(samples: FloatArray, decimals: int) -> "pl.Series":
    import polars as pl

    rounded = np.round(samples, decimals) + 0.0  # the sum turns −0 into 0
    return pl.Series(rounded).fill_nan(None)
