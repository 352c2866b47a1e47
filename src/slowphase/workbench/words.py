"""What the page needs once: the words for codes, the kinds of edits, the limits."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING, Any

from slowphase.edits.edit import EditKind, edit_kinds
from slowphase.eye.trace import UNUSED_REASONS
from slowphase.foundation.reasons import reasons
from slowphase.foundation.version import __version__
from slowphase.reading.cautions import standing_cautions
from slowphase.recording.keys import Key, kind_tables
from slowphase.report.labels import word
from slowphase.workbench.door import BODY_BYTES, UPLOAD_BYTES
from slowphase.workbench.shapes.about import (
    AboutAnswer,
    EditKindEntry,
    KeyEntry,
    Limits,
    ReasonEntry,
)
from slowphase.workbench.traces.window import CHANNELS_MOST, COLUMNS_MOST

if TYPE_CHECKING:
    from slowphase.workbench.house import House

DEMO = "putting in the demo sessions"


def about_answer(here: House) -> AboutAnswer:
    """Version, words and limits of this server."""
    words = label_tables()
    return AboutAnswer(
        version=__version__,
        data_folder_name=here.store.data.root.name,
        demo=any(session.demo for patient in here.store.patients() for session in patient.sessions),
        demo_job=here.jobs.running(DEMO),
        cautions=list(standing_cautions()),
        reasons={
            code: ReasonEntry(text=reason.text, effect=reason.effect, grade=reason.grade)
            for code, reason in reasons().items()
        },
        kinds=words["kind"],
        unused={code: word("unused", code) for code in UNUSED_REASONS[1:]},
        edit_kinds={name: _edit_kind(kind) for name, kind in edit_kinds().items()},
        stimulus_keys={
            kind: {name: _key(key) for name, key in table.keys.items()}
            for kind, table in kind_tables().items()
        },
        words=words,
        limits=Limits(
            upload_bytes=UPLOAD_BYTES,
            body_bytes=BODY_BYTES,
            columns=COLUMNS_MOST,
            channels=CHANNELS_MOST,
        ),
    )


@cache
def label_tables() -> dict[str, dict[str, Any]]:
    """All labels by table and code."""
    text = (files("slowphase.report") / "labels.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


def _edit_kind(kind: EditKind) -> EditKindEntry:
    keys = {name: _key(key) for name, key in kind.keys.items()}
    return EditKindEntry(text=kind.text, trial=kind.trial, keys=keys)


def _key(key: Key) -> KeyEntry:
    return KeyEntry(
        type=key.type,
        low=key.low,
        high=key.high,
        unit=key.unit,
        words=list(key.words),
        required=key.required,
        expected=key.expected,
    )
