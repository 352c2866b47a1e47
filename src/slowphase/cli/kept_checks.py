"""The clinic's file of checks: one row for each measure of each check, with its date."""

from __future__ import annotations

import csv
import io
from typing import TYPE_CHECKING

from slowphase.cli.kept_rows import DELAY, FIELDS, Row, kept
from slowphase.cli.writing import write_text
from slowphase.foundation.errors import UsageError

if TYPE_CHECKING:
    from datetime import date
    from pathlib import Path

    from slowphase.analysis.result import Analysis
    from slowphase.measures.measure import Measure
    from slowphase.measures.result import GroupResult, TrialResult


def keep(analysis: Analysis, file: Path) -> list[str]:
    """Add a check to the clinic's file; returns what changed since the last one, in lines.

    The same recordings are kept once. Raises `UsageError` where the session has no check or no
    date, where the file is of another kind, and where its folder does not exist.
    """
    if not file.parent.is_dir():
        raise UsageError(f"there is no folder {file.parent}: make it, or correct the path")
    if not any(trial.kind == "check" for trial in analysis.trials):
        raise UsageError('the session has no trial of kind "check": there is nothing to keep')
    if analysis.date is None:
        raise UsageError("the session has no date: a check is kept with its date")
    rows = kept(file)
    if any(row["input_digest"] == analysis.provenance.input_digest for row in rows):
        return [f"{file}: these recordings are kept already"]
    new = [_row(measure, analysis) for measure in _of_checks(analysis)]
    write_text(file, _text([*rows, *new]))
    return [f"kept in {file}", *changes(rows, new)]


def changes(earlier: list[Row], new: list[Row]) -> list[str]:
    """Measures whose interval no longer overlaps that of the recorder's last check before."""
    recorder = new[0]["recorder"] if new else ""
    last = {row["measure"]: row for row in in_order(earlier) if row["recorder"] == recorder}
    found = []
    for row in new:
        before = last.get(row["measure"])
        if before and _apart(before, row):
            found.append(
                f"{row['measure']}: {row['value']} {row['unit']}, was {before['value']} on "
                f"{before['date']}"
            )
    return found


def delay_s(file: Path, day: date | None, recorder: str = "") -> float:
    """The delay (s) of a recorder's last check up to a day.

    A delay that was graded unusable is none. Raises `UsageError` where there is no file or no
    delay, where a row is not as it was kept, and where the file holds checks of several recorders
    and the session does not name its own.
    """
    if not file.exists():
        raise UsageError(f"there is no file of checks {file}: correct the path, or keep a check")
    known = [row for row in in_order(kept(file)) if row["measure"] == DELAY and row["value"]]
    known = [row for row in known if row["grade"] != "unusable"]
    named = sorted({row["recorder"] for row in known})
    if recorder not in named and len(named) > 1:
        raise UsageError(
            f"{file} holds checks of {len(named)} recorders ({', '.join(map(repr, named))}), and "
            f"the session's is {recorder!r}: write its recorder into [conditions]"
        )
    own = [row for row in known if len(named) == 1 or row["recorder"] == recorder]
    before = [row for row in own if day is None or row["date"] <= day.isoformat()]
    if not before:
        until = "" if day is None else f" up to {day.isoformat()}"
        raise UsageError(
            f"{file} holds no delay{until}: keep a check with an eye that is fixed in the room"
        )
    return 1e-3 * float(before[-1]["value"])


def in_order(rows: list[Row]) -> list[Row]:
    """Rows by date; those of one day as they were kept."""
    return sorted(rows, key=lambda row: row["date"])


def _of_checks(analysis: Analysis) -> list[Measure]:
    """The measures of chair and recorder; nothing of a patient belongs into the clinic's file."""
    parts: tuple[TrialResult | GroupResult, ...] = (*analysis.trials, *analysis.groups)
    return [measure for part in parts if part.kind == "check" for measure in part.measures]


def _row(measure: Measure, analysis: Analysis) -> Row:
    values = (measure.value, measure.low, measure.high)
    numbers = ["" if value is None else f"{value:.6g}" for value in values]
    day = analysis.date.isoformat() if analysis.date else ""
    recorder = str(analysis.conditions.get("recorder", ""))
    cells = (day, recorder, measure.id, *numbers, measure.unit, measure.grade,
             analysis.provenance.input_digest)  # fmt: skip
    return dict(zip(FIELDS, cells, strict=True))


def _apart(one: Row, other: Row) -> bool:
    ends = [row[end] for row in (one, other) for end in ("low", "high")]
    if not all(ends):
        return False
    low, high, other_low, other_high = map(float, ends)
    return high < other_low or other_high < low


def _text(rows: list[Row]) -> str:
    buffer = io.StringIO()
    writer = csv.DictWriter(buffer, FIELDS, lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    return buffer.getvalue()
