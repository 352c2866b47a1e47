"""The description of an import: proposed once, kept beside the files, corrected by a person."""

from __future__ import annotations

import tomllib
from dataclasses import asdict, replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pydantic import ValidationError

from slowphase.analysis.document import problem_entry
from slowphase.foundation.whole_file import write_whole_file
from slowphase.recording.described import (
    DescribedColumn,
    DescribedTrial,
    Description,
    columns_toml,
    describe,
)
from slowphase.recording.readers.layout import Fault
from slowphase.recording.readers.sniff import sniff
from slowphase.workbench.refusals import Refusal
from slowphase.workbench.shapes.errors import ProblemEntry
from slowphase.workbench.shapes.imports import (
    ColumnTold,
    DescriptionKept,
    DescriptionTold,
    TrialTold,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    from slowphase.foundation.problem import Problem
    from slowphase.store import Store
    from slowphase.workbench.bringing.arriving import Arrived

FILE = "description.json"


def kept(folder: Path) -> DescriptionKept | None:
    """The description that was kept; None without one."""
    file = folder / FILE
    try:
        text = file.read_text(encoding="utf-8") if file.is_file() else None
        return None if text is None else DescriptionKept.model_validate_json(text)
    except (OSError, ValidationError):
        return None


def keep(folder: Path, kept: DescriptionKept) -> None:
    """Keep a description in place of the last."""
    write_whole_file(folder / FILE, kept.model_dump_json().encode())


def current(folder: Path, found: Arrived, store: Store) -> DescriptionKept:
    """The description that was kept, with the trials of files that came since; else a first one."""
    known = kept(folder)
    if known is None or not known.told.columns:
        return proposed(folder, found, store)
    new = [file for file in found.traces if file not in known.files]
    gone = {file for file in known.files if file not in found.traces}
    if not new and not gone:
        return known
    described = as_described(known.told)
    more, problems = describe(
        found.root, new, columns=described.columns, sampling_hz=described.sampling_hz
    )
    trials = [trial for trial in known.told.trials if trial.file not in gone]
    told = known.told.model_copy(update={"trials": [*trials, *as_told(more).trials]})
    still = [problem for problem in known.problems if problem.file not in gone]
    return _kept_now(folder, told, known.map_used, found, [*still, *_entries(problems)])


def proposed(
    folder: Path, found: Arrived, store: Store, *, map_name: str | None = None, fitting: bool = True
) -> DescriptionKept:
    """A first description, with the clinic's map that is named or fits; keeps it."""
    maps = {one.name: one.text for one in store.maps()}
    if map_name is not None and map_name not in maps:
        raise Refusal(404, "not_found", f"There is no map “{map_name[:40]}”.", found=map_name[:40])
    names = set(headers_of(found))
    if map_name is None and fitting:
        map_name = next((name for name, text in maps.items() if _fits(text, names)), None)
    known = from_map(maps[map_name]) if map_name is not None else (None, None)
    told, problems = describe(found.root, found.traces, columns=known[0], sampling_hz=known[1])
    return _kept_now(folder, as_told(told), map_name, found, _entries(problems))


def corrected(folder: Path, found: Arrived, told: DescriptionTold) -> None:
    """Keep what a person corrected; raises `Refusal` (422) for a day that is none."""
    as_described(told)
    known = kept(folder)
    map_used, problems = (known.map_used, known.problems) if known else (None, [])
    _kept_now(folder, told, map_used, found, problems)


def _kept_now(
    folder: Path,
    told: DescriptionTold,
    map_used: str | None,
    found: Arrived,
    problems: list[ProblemEntry],
) -> DescriptionKept:
    files = list(found.traces)
    made = DescriptionKept(told=told, map_used=map_used, files=files, problems=problems)
    keep(folder, made)
    return made


def _entries(problems: Sequence[Problem]) -> list[ProblemEntry]:
    return [ProblemEntry(**problem_entry(problem)) for problem in problems]


def headers_of(found: Arrived) -> list[str]:
    """The columns of the first trace file that has any; numbers where it has no header."""
    for path in found.traces:
        layout = sniff(found.root / path)
        if not isinstance(layout, Fault):
            return list(layout.names) or [str(n + 1) for n in range(layout.n_columns)]
    return []


def _fits(text: str, names: set[str]) -> bool:
    """Whether every column of a map is there."""
    columns, _ = from_map(text)
    return bool(columns) and {str(column.name) for column in columns or ()} <= names


def from_map(text: str) -> tuple[tuple[DescribedColumn, ...], float | None]:
    """The columns and the rate of a clinic's map."""
    table = tomllib.loads(text)
    columns = tuple(
        DescribedColumn(role=role, **entry, confidence=1.0, reasons=("from the clinic's map",))
        for role, entry in table.get("columns", {}).items()
    )
    return columns, table.get("sampling_hz")


def as_map(told: DescriptionTold) -> str:
    """The columns and the rate as a map of the clinic."""
    rate = "" if told.sampling_hz is None else f"sampling_hz = {told.sampling_hz:g}\n\n"
    return rate + columns_toml([_column(column) for column in told.columns])


def as_told(found: Description) -> DescriptionTold:
    """A description as it is sent."""
    return DescriptionTold(
        code=found.code,
        age_years=found.age_years,
        sex="unknown",
        date=found.day.isoformat() if found.day else "",
        notes=dict(found.notes),
        conditions=dict(found.conditions),
        sampling_hz=found.sampling_hz,
        columns=[ColumnTold(**_plain(asdict(column))) for column in found.columns],
        trials=[TrialTold(**_plain(asdict(trial))) for trial in found.trials],
    )


def _plain(values: dict[str, Any]) -> dict[str, Any]:
    return {key: list(one) if isinstance(one, tuple) else one for key, one in values.items()}


def as_described(told: DescriptionTold) -> Description:
    """A description as the recordings' layer has it; raises `Refusal` for a day that is none."""
    return Description(
        code=told.code.strip(),
        age_years=told.age_years,
        sex=told.sex,
        day=_day(told.date),
        notes=told.notes,
        conditions=told.conditions,
        sampling_hz=told.sampling_hz,
        columns=tuple(_column(column) for column in told.columns),
        trials=tuple(_trial(trial) for trial in told.trials),
    )


def _day(text: str) -> date | None:
    try:
        return date.fromisoformat(text) if text else None
    except ValueError as error:
        raise Refusal(
            422, "impossible_date", f"{text} is no day.", found=text, expected="such as 2026-03-02"
        ) from error


def _column(told: ColumnTold) -> DescribedColumn:
    return DescribedColumn(**{**told.model_dump(), "reasons": tuple(told.reasons)})


def _trial(told: TrialTold) -> DescribedTrial:
    return DescribedTrial(**told.model_dump())


def to_read(told: Description) -> Description:
    """A description that can be read before a person gave code and day."""
    return replace(told, code=told.code or "?", day=told.day or date(2000, 1, 1))


def missing(told: Description) -> Sequence[str]:
    """What a person has still to give."""
    lacking = (("the patient's code", told.code), ("the date", told.day), ("a trial", told.trials))
    return [name for name, known in lacking if not known]
