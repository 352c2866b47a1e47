"""Doses, treatments and onsets between the sessions (``events.toml``)."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import Any

from slowphase.course.toml_file import FileCheck, read_text

KINDS = ("dose", "treatment", "onset", "procedure", "exercise", "other")


@dataclass(frozen=True, slots=True)
class Event:
    """One event on the time axis; ``kind`` is one of ``KINDS``."""

    date: date
    label: str
    kind: str = "other"


def read_events(file: Path) -> tuple[Event, ...]:
    """The events of a file, by date; raises ``InputError`` that names the line."""
    return parse_events(read_text(file), file.name)


def parse_events(text: str, name: str) -> tuple[Event, ...]:
    """The events of a TOML text, by date; raises ``InputError``."""
    check = FileCheck(name, text)
    tables = check.tables(("schema", "event"))
    rows = check.rows(tables, "event", ("date", "label", "kind"))
    events = [_event(row, index, check) for index, row in enumerate(rows)]
    check.stop()
    return tuple(sorted((e for e in events if e), key=lambda event: event.date))


def _event(row: Mapping[str, Any], index: int, check: FileCheck) -> Event | None:
    day, label, kind = row.get("date"), row.get("label"), row.get("kind", "other")
    if isinstance(day, datetime):
        day = day.date()
    fine = isinstance(day, date)
    if not fine:
        check.wrong("event", "date", day, "a date such as 2026-03-02, without quotes", index=index)
    if not isinstance(label, str) or not label.strip():
        check.wrong("event", "label", label, "a text", index=index)
        fine = False
    if kind not in KINDS:
        check.wrong("event", "kind", kind, f"one of {', '.join(KINDS)}", index=index)
        fine = False
    return Event(day, str(label).strip(), str(kind)) if fine and isinstance(day, date) else None
