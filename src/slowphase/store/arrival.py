"""A session arrives: its files first, then its rows; a session is confirmed when both are there."""

import contextlib
from collections.abc import Callable
from contextlib import AbstractContextManager
from dataclasses import dataclass
from pathlib import Path

from slowphase.store import patients, sessions
from slowphase.store.change import Change
from slowphase.store.disk import remove_tree
from slowphase.store.errors import StoreError
from slowphase.store.folder import DataFolder, new_id
from slowphase.store.intake import Cancelled, Progress, TakenIn, put_in_place, take_in
from slowphase.store.tables import Session

Begin = Callable[[], AbstractContextManager[Change]]


@dataclass(frozen=True, slots=True)
class Filing:
    """Where a session belongs: a patient (None: the one of its code), a title, demo or not."""

    patient: str | None
    title: str
    demo: bool


def arrive(
    data: DataFolder,
    begin: Begin,
    source: Path,
    filing: Filing,
    *,
    progress: Progress | None,
    cancelled: Cancelled | None,
) -> str:
    """Bring a session folder in; returns its id. ``begin`` starts the change of the database."""
    taken = take_in(data, new_id(), source, progress, cancelled)
    try:
        put_in_place(data, taken)
        with begin() as change:
            _file(change, taken, filing)
    except BaseException:
        _clear_up(data, begin, taken)
        raise
    return taken.id


def _clear_up(data: DataFolder, begin: Begin, taken: TakenIn) -> None:
    """Remove the files of a session that has no rows; where that is not sure they stay."""
    with contextlib.suppress(OSError, StoreError):
        with begin() as change:
            if change.rows.get(Session, taken.id) is not None:
                return
        remove_tree(taken.part)
        remove_tree(data.sessions / taken.id)


def _file(change: Change, taken: TakenIn, filing: Filing) -> None:
    told = taken.told
    patient = filing.patient or patients.patient_of_code(change.rows, told.code)
    if patient is None:
        patient = patients.make_patient(change, told.code, told.name, told.sex)
    patients.find_patient(change.rows, patient)
    sessions.file_session(
        change, taken.id, told, patient=patient, title=filing.title, demo=filing.demo
    )
