"""Edits as a file beside the session: JSON, one entry for each edit, in their order.

A file with anything wrong in it is refused as a whole: an edit that were left out silently would
change the numbers.
"""

import json
from collections.abc import Iterator, Mapping
from datetime import datetime
from pathlib import Path
from typing import Any

from slowphase.edits.edit import TAKE_BACK, Edit, EditKind, Edits, edit_kinds
from slowphase.foundation.errors import InputError
from slowphase.foundation.problem import Problem
from slowphase.foundation.whole_file import write_whole_file
from slowphase.recording.keys import is_plain, value_fits
from slowphase.recording.report_problem import make_problem, quote

SCHEMA = 1
SIGNED = ("by", "at", "reason")
_PLAIN = "a text without control signs"
COMMON = ("id", "kind", "trial", *SIGNED)


def write_edits(edits: Edits, file: Path) -> None:
    """Write the log; the file is replaced as a whole, so that a crash leaves the old one."""
    text = json.dumps(edits_document(edits), ensure_ascii=False, indent=1) + "\n"
    write_whole_file(file, text.encode())


def edits_document(edits: Edits) -> dict[str, Any]:
    """The log as plain data, as its file holds it."""
    return {"schema": SCHEMA, "edits": [edit_entry(edit) for edit in edits.log]}


def edit_entry(edit: Edit) -> dict[str, Any]:
    """One edit as plain data."""
    trial = {} if edit.trial is None else {"trial": edit.trial}
    signed = {"by": edit.by, "at": edit.at, "reason": edit.reason}
    return {"id": edit.id, "kind": edit.kind, **trial, **edit.values, **signed}


def read_edits(file: Path) -> Edits:
    """The log of a file; raises ``InputError`` (``unreadable_edits``, ``invalid_edit``)."""
    try:
        document = json.loads(file.read_text(encoding="utf-8-sig"))
    except (OSError, ValueError) as error:
        raise InputError([_unreadable(file, str(error))]) from error
    except RecursionError as error:
        raise InputError([_unreadable(file, "lists or tables nested too deeply")]) from error
    entries = document.get("edits") if isinstance(document, Mapping) else None
    if not isinstance(entries, list) or document.get("schema") != SCHEMA:
        found = 'no "edits" list of schema 1'
        raise InputError([_unreadable(file, found)])
    return edits_from(entries, file.name)


def edits_from(entries: list[Any], file: str = "edits") -> Edits:
    """The log of plain entries, each checked; raises ``InputError`` with all that is wrong."""
    problems = [p for i, entry in enumerate(entries) for p in _problems(entry, i + 1, file)]
    if problems:
        raise InputError(problems)
    return Edits(tuple(_edit(entry) for entry in entries))


def _edit(entry: Mapping[str, Any]) -> Edit:
    own = {key: value for key, value in entry.items() if key not in COMMON}
    signed = {key: str(entry[key]) for key in SIGNED}
    return Edit(entry["id"], entry["kind"], entry.get("trial"), own, **signed)


def _problems(entry: object, number: int, file: str) -> Iterator[Problem]:
    """Everything that is wrong with one entry."""
    if not isinstance(entry, Mapping):
        yield _invalid(file, number, "the entry is no table", entry, "a table with a kind")
        return
    kind = edit_kinds().get(str(entry.get("kind")))
    if kind is None:
        known = "one of " + ", ".join(f'"{name}"' for name in edit_kinds())
        yield _invalid(file, number, "the kind is not known", entry.get("kind"), known)
        return
    if entry.get("id") != number:
        yield _invalid(file, number, "the id does not count on", entry.get("id"), str(number))
    yield from _of_signature(entry, number, file)
    yield from _of_trial(entry, kind, number, file)
    yield from _of_keys(entry, kind, number, file)


def _of_signature(entry: Mapping[str, Any], number: int, file: str) -> Iterator[Problem]:
    for key in SIGNED:
        told = entry.get(key)
        if not isinstance(told, str) or not told.strip():
            yield _invalid(file, number, f"{key} is missing", told, "a text in quotes")
        elif not is_plain(told):
            yield _invalid(file, number, f"{key} holds what is no character", told, _PLAIN)
    if isinstance(entry.get("at"), str) and not _is_time(entry["at"]):
        expected = "a time such as 2026-03-02T14:05:00+01:00"
        yield _invalid(file, number, "at is no time", entry["at"], expected)


def _is_time(text: str) -> bool:
    try:
        datetime.fromisoformat(text)
    except ValueError:
        return False
    return True


def _of_trial(
    entry: Mapping[str, Any], kind: EditKind, number: int, file: str
) -> Iterator[Problem]:
    told = entry.get("trial")
    named = isinstance(told, str) and bool(told.strip())
    if kind.trial == "required" and not named:
        yield _invalid(file, number, "trial is missing", told, "the id of a trial")
    if kind.trial == "none" and told is not None:
        yield _invalid(file, number, "a trial is named", told, "no trial")
    if kind.trial == "optional" and told is not None and not named:
        yield _invalid(file, number, "trial is no text", told, "the id of a trial, or none")


def _of_keys(entry: Mapping[str, Any], kind: EditKind, number: int, file: str) -> Iterator[Problem]:
    for name in entry:
        if name not in COMMON and name not in kind.keys:
            known = ", ".join(kind.keys) or "no further key"
            yield _invalid(file, number, f"{quote(name)} is no key of {kind.name}", name, known)
    for name, key in kind.keys.items():
        if name not in entry:
            if key.required:
                yield _invalid(file, number, f"{name} is missing", None, key.expected)
        elif not value_fits(key, entry[name]):
            yield _invalid(file, number, f"{name} is wrong", entry[name], key.expected)
    start, stop = entry.get("start_s"), entry.get("stop_s")
    if isinstance(start, int | float) and isinstance(stop, int | float) and start >= stop:
        yield _invalid(file, number, "stop_s is not after start_s", stop, f"more than {start:g} s")
    of = entry.get("of")
    if kind.name == TAKE_BACK and isinstance(of, int) and of >= number:
        yield _invalid(file, number, "of names no earlier edit", of, f"1 to {number - 1}")


def _invalid(file: str, number: int, what: str, found: object, expected: str) -> Problem:
    told = "" if found is None else f" ({quote(found)})"
    return make_problem(
        "invalid_edit",
        f"edit {number}, {what}{told}",
        expected=expected,
        remedy="correct the entry; no edit of this file was applied",
        found=found,
        file=file,
    )


def _unreadable(file: Path, why: str) -> Problem:
    return make_problem(
        "unreadable_edits",
        f"the edits cannot be read ({why})",
        expected='JSON such as {"schema": 1, "edits": [...]}',
        remedy="give the file that Slowphase wrote; no edit was applied",
        found=why,
        file=file.name,
    )
