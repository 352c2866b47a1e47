"""One edit, and the ordered log of them; nothing is ever removed from a log."""

import hashlib
import json
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from importlib.resources import files
from typing import Any

from slowphase.recording.keys import Key

TAKE_BACK = "take_back"


@dataclass(frozen=True, slots=True)
class Edit:
    """One change by a person.

    ``id`` counts from 1 in the log's order, ``kind`` is one of ``kinds.toml``, ``trial`` the id of
    the trial that it concerns (None for a whole session or for another edit), ``values`` its own
    keys. ``by``, ``at`` (ISO 8601) and ``reason`` say who changed it, when and why.
    """

    id: int
    kind: str
    trial: str | None
    values: Mapping[str, Any]
    by: str
    at: str
    reason: str


@dataclass(frozen=True, slots=True)
class EditKind:
    """What an edit of one kind does, its keys, and whether it names a trial."""

    name: str
    text: str
    keys: Mapping[str, Key]
    trial: str = "required"


@cache
def edit_kinds() -> Mapping[str, EditKind]:
    """Every kind of edit by its name."""
    table = tomllib.loads((files(__package__) / "kinds.toml").read_text(encoding="utf-8"))
    return {name: _kind(name, dict(entry)) for name, entry in table.items()}


def _kind(name: str, entry: dict[str, Any]) -> EditKind:
    keys = {key: _key(key, dict(told)) for key, told in entry.pop("keys", {}).items()}
    return EditKind(name=name, keys=keys, **entry)


def _key(name: str, told: dict[str, Any]) -> Key:
    return Key(name=name, words=tuple(told.pop("words", ())), **told)


@dataclass(frozen=True, slots=True)
class Edits:
    """The log of a session's edits, in their order."""

    log: tuple[Edit, ...] = field(default=())

    @property
    def active(self) -> tuple[Edit, ...]:
        """The edits that hold: all but the takings back and what they take back."""
        taken: set[int] = set()
        for edit in reversed(self.log):
            if edit.kind == TAKE_BACK and edit.id not in taken:
                taken.add(int(edit.values["of"]))
        return tuple(e for e in self.log if e.kind != TAKE_BACK and e.id not in taken)

    def of_trial(self, trial: str) -> tuple[Edit, ...]:
        """The edits that hold for one trial, those of the whole session among them."""
        return tuple(edit for edit in self.active if edit.trial in (trial, None))

    def with_edit(
        self, kind: str, trial: str | None, *, by: str, at: str, reason: str, **values: Any
    ) -> "Edits":
        """The log with one more edit."""
        added = Edit(len(self.log) + 1, kind, trial, values, by, at, reason)
        return Edits((*self.log, added))

    def undo(self, *, by: str, at: str, reason: str = "undo") -> "Edits":
        """The log with the last edit that holds taken back; as it is where none holds."""
        if not self.active:
            return self
        last = self.active[-1].id
        return self.with_edit(TAKE_BACK, None, by=by, at=at, reason=reason, of=last)

    def redo(self, *, by: str, at: str, reason: str = "redo") -> "Edits":
        """The log with the last taking back taken back, where it is still the last word."""
        backs = [e for e in self.log if e.kind == TAKE_BACK]
        told = {int(e.values["of"]) for e in backs}
        open_ = [e for e in backs if e.id not in told and not self._is_redo(e)]
        if not open_ or any(e.kind != TAKE_BACK for e in self.log[open_[-1].id :]):
            return self
        return self.with_edit(TAKE_BACK, None, by=by, at=at, reason=reason, of=open_[-1].id)

    def _is_redo(self, edit: Edit) -> bool:
        """Whether a taking back takes back another one."""
        return self.log[int(edit.values["of"]) - 1].kind == TAKE_BACK

    def digest(self) -> str:
        """SHA-256 of what the edits that hold change, whoever made them and when."""
        told = [[e.kind, e.trial, dict(e.values)] for e in self.active]
        text = json.dumps(told, sort_keys=True) if told else ""
        return hashlib.sha256(text.encode()).hexdigest()
