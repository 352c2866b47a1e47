"""One store: everything that a clinic keeps, in one folder; the only thing that writes there."""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from slowphase.store import (
    arrival,
    backup,
    check,
    drafts,
    edit_log,
    filing,
    intake,
    kept_texts,
    log,
    made,
    opening,
    originals,
    patients,
    readings,
    sessions,
    signers,
)
from slowphase.store.change import Change, now_iso
from slowphase.store.checked_text import (
    checked_by,
    checked_content,
    checked_name,
    checked_reason,
    checked_title,
)
from slowphase.store.database import Database, open_database
from slowphase.store.disk import disk_errors_told, remove_tree
from slowphase.store.errors import StoreError
from slowphase.store.folder import DataFolder
from slowphase.store.kept_texts import MAP, NOTES, REFERENCE
from slowphase.store.lock import WriterLock, take_lock
from slowphase.store.schema import bring_up_to_date, check_current

if TYPE_CHECKING:
    from slowphase.edits.edit import Edits
    from slowphase.foundation.problem import Problem
    from slowphase.signing.decisions import Decisions
    from slowphase.store.rows import (
        KeptText,
        LogEntry,
        PatientRow,
        SessionRow,
        SignedVersion,
        Signer,
    )

SELF = "Slowphase"


@dataclass(frozen=True, slots=True)
class Store:
    """An open store. Methods raise `StoreError` and its kinds, and then have changed nothing.

    ``by`` is who makes a change; every change is one transaction with its entry in the log. It may
    be used from several threads.
    """

    data: DataFolder
    database: Database
    clock: Callable[[], str]
    lock: WriterLock | None

    @classmethod
    def open(
        cls, folder: Path, *, clock: Callable[[], str] = now_iso, read_only: bool = False
    ) -> Store:
        """Open a store; make a new one, migrate an older one (copied first).

        ``read_only`` opens beside another program that works on the store. Raises `StoreInUse`,
        `StoreTooNew`, or `StoreError` for a folder that holds something else.
        """
        data = DataFolder(folder.absolute())
        if read_only:
            return cls._look(data, clock)
        with disk_errors_told(f"opening the store {folder}"):
            data.check_ours()
            data.make()
        with contextlib.ExitStack() as after_an_error:
            lock = take_lock(data.lock, clock())
            after_an_error.callback(lock.release)
            store = cls(data, open_database(data.database), clock, lock)
            after_an_error.callback(store.database.close)
            store._make_ready()
            after_an_error.pop_all()
        return store

    @classmethod
    def _look(cls, data: DataFolder, clock: Callable[[], str]) -> Store:
        if not data.database.is_file():
            raise StoreError(f"{data.root} is no store: expected a folder with a store.sqlite")
        store = cls(data, open_database(data.database, writes=False), clock, None)
        try:
            check_current(store.database)
        except BaseException:
            store.close()
            raise
        return store

    def _make_ready(self) -> None:
        """Bring the database up to date, and clear up after a crash or a restore."""
        copy = bring_up_to_date(self.database, self.data.before_migration, self.clock())
        with self._change(SELF) as change:
            opening.enter_into_log(change, self.data, copy)
        opening.clear_up(self.data, self.database)

    def close(self) -> None:
        """Close the store; another program may then open it."""
        self.database.close()
        if self.lock is not None:
            self.lock.release()

    @contextlib.contextmanager
    def _change(self, by: str) -> Iterator[Change]:
        name = checked_by(by)
        with self.database.writing() as rows:
            yield Change(rows, name, self.clock())

    def _beginning(self, by: str) -> arrival.Begin:
        """What starts a change later; a bad name is told now."""
        self.database.check_writes()
        return partial(self._change, checked_by(by))

    # Patients

    def patients(self, find: str = "") -> tuple[PatientRow, ...]:
        """Patients in whose code, name or sessions (title, date) every word of ``find`` occurs."""
        with self.database.reading() as rows:
            return patients.patient_rows(rows, find)

    def patient(self, patient: str) -> PatientRow:
        """One patient."""
        with self.database.reading() as rows:
            return patients.patient_row(rows, patient)

    def merge_patients(self, source: str, into: str, *, by: str, reason: str) -> None:
        """File all that a patient has under another, who is the same person."""
        with self._change(by) as change:
            filing.merge_patients(change, source, into, checked_reason(reason))

    def move_session(self, session: str, to: str | None, *, by: str, reason: str) -> SessionRow:
        """File a session under another patient; None makes a new one of what its file says."""
        with self._change(by) as change:
            filing.move_session(change, session, to, checked_reason(reason))
            return sessions.session_row(change.rows, session)

    def reverse(self, log_id: int, *, by: str, reason: str) -> None:
        """Take back a merge or a move; `StoreConflict` where a later change stands in the way."""
        with self._change(by) as change:
            filing.reverse(change, log_id, checked_reason(reason))

    # Sessions

    def add_session(
        self,
        folder: Path,
        *,
        by: str,
        patient: str | None = None,
        title: str = "",
        demo: bool = False,
        progress: intake.Progress | None = None,
        cancelled: intake.Cancelled | None = None,
    ) -> SessionRow:
        """Bring in the files of a session folder, byte for byte.

        Without a ``patient`` it is filed under the one with the code in session.toml, or a new
        one. ``progress`` is told the share that is done (0 to 1) and the file; ``cancelled`` is
        asked whether to stop. Raises `InputError` where session.toml cannot be used.
        """
        filing = arrival.Filing(patient, checked_title(title), demo)
        begin = self._beginning(by)
        if patient is not None:
            self.patient(patient)
        session = arrival.arrive(
            self.data, begin, folder, filing, progress=progress, cancelled=cancelled
        )
        return self.session(session)

    def session(self, session: str) -> SessionRow:
        """One session."""
        with self.database.reading() as rows:
            return sessions.session_row(rows, session)

    def session_folder(self, session: str) -> Path:
        """The folder with a session's files as they came; read-only."""
        return self.data.sessions / self.session(session).id

    def check_files(self, session: str) -> tuple[Problem, ...]:
        """Read every original file of a session again; a problem for each that differs."""
        return originals.check_originals(self.session_folder(session), self.session(session))

    def check(self, progress: intake.Progress | None = None) -> tuple[Problem, ...]:
        """Check the database, all original files and all signed versions."""
        return check.check_store(self.data, self.database, progress)

    # Imports that are not confirmed

    def new_import(self) -> str:
        """Make a folder for files that come in; returns its id."""
        self.database.check_writes()
        return self.data.new_import()

    def imports(self) -> tuple[str, ...]:
        """The ids of all imports that are not confirmed, those that a crash left among them."""
        return self.data.imports()

    def import_folder(self, import_id: str) -> Path:
        """The folder of an import; the caller may write into it."""
        return self.data.import_folder(import_id)

    def discard_import(self, import_id: str) -> None:
        """Remove the files of an import."""
        self.database.check_writes()
        with disk_errors_told("removing the files of an import"):
            remove_tree(self.import_folder(import_id))

    # Edits

    def edits(self, session: str) -> Edits:
        """The log of a session's edits."""
        with self.database.reading() as rows:
            sessions.find_session(rows, session)
            return edit_log.edits_of(rows, session)

    def add_edit(
        self,
        session: str,
        kind: str,
        trial: str | None,
        values: Mapping[str, Any],
        *,
        by: str,
        reason: str,
        expected: int,
    ) -> Edits:
        """Add an edit; ``expected`` is the number of entries that the caller saw.

        Raises `StoreConflict` where another came first, `InputError` for a wrong edit.
        """
        with self._change(by) as change:
            before = edit_log.expected_edits(change.rows, session, expected)
            checked = checked_reason(reason)
            return edit_log.add_edit(change, session, before, kind, trial, values, checked)

    def undo(self, session: str, *, by: str, expected: int) -> Edits:
        """Take the last edit back; `StoreConflict` where there is none."""
        with self._change(by) as change:
            before = edit_log.expected_edits(change.rows, session, expected)
            return edit_log.undo(change, session, before)

    def redo(self, session: str, *, by: str, expected: int) -> Edits:
        """Bring the edit back that was taken back last; `StoreConflict` where there is none."""
        with self._change(by) as change:
            before = edit_log.expected_edits(change.rows, session, expected)
            return edit_log.redo(change, session, before)

    # Readings

    def draft(self, session: str) -> Decisions:
        """The draft of a session's reading."""
        with self.database.reading() as rows:
            return drafts.draft_of(rows, session)

    def save_draft(self, session: str, decisions: Decisions, *, by: str) -> None:
        """Keep a draft in place of the last."""
        with self._change(by) as change:
            drafts.save_draft(change, session, decisions)

    def versions(self, session: str) -> tuple[SignedVersion, ...]:
        """The signed versions of a session's reading, the first first."""
        with self.database.reading() as rows:
            return readings.versions_of(rows, session)

    def keep_version(
        self, session: str, record_text: str, page_html: str, *, by: str
    ) -> SignedVersion:
        """Add the next signed version; `StoreConflict` where another was signed first."""
        with self._change(by) as change:
            return readings.keep_version(change, session, record_text, page_html)

    # Signers

    def signers(self) -> tuple[Signer, ...]:
        """Who may sign."""
        with self.database.reading() as rows:
            return signers.signers(rows)

    def add_signer(self, name: str, passphrase: str) -> Signer:
        """Let a person sign with a passphrase of at least 12 characters."""
        passphrase_hash = signers.hashed(passphrase)
        with self._change(name) as change:
            return signers.add_signer(change, change.by, passphrase_hash)

    def check_passphrase(self, name: str, passphrase: str) -> bool:
        """Whether a passphrase is right; `SignerLocked` after too many wrong ones."""
        return signers.try_passphrase(self._beginning(name), name, passphrase)

    def change_passphrase(self, name: str, old: str, new: str) -> bool:
        """Give a signer a new passphrase; False, without a change, if the old one is wrong."""
        passphrase_hash = signers.hashed(new)
        if not self.check_passphrase(name, old):
            return False
        with self._change(name) as change:
            signers.change_hash(change, name, passphrase_hash)
        return True

    # Texts of the clinic

    def maps(self) -> tuple[KeptText, ...]:
        """The maps of the clinic's equipment, by name."""
        return self._kept(MAP)

    def save_map(self, name: str, text: str, *, by: str) -> None:
        """Keep a map in place of one of the same name."""
        checked, content = checked_name(name, "the map"), checked_content(text, "the map")
        with self._change(by) as change:
            kept_texts.save(change, MAP, checked, content)

    def reference_files(self) -> tuple[KeptText, ...]:
        """The clinic's own reference sets, by name."""
        return self._kept(REFERENCE)

    def add_reference_file(self, name: str, text: str, *, by: str) -> None:
        """Add a reference set; `StoreConflict` where one has this name."""
        checked, content = checked_name(name, "the set"), checked_content(text, "the set")
        with self._change(by) as change:
            kept_texts.save(change, REFERENCE, checked, content, new=True)

    def remove_reference_file(self, name: str, *, by: str, reason: str) -> None:
        """Take a reference set out of use; its text stays in the database."""
        with self._change(by) as change:
            kept_texts.remove(change, REFERENCE, name, checked_reason(reason))

    def _kept(self, kind: str) -> tuple[KeptText, ...]:
        with self.database.reading() as rows:
            return kept_texts.kept(rows, kind)

    def course_notes(self, patient: str) -> str:
        """The notes on a patient's course; empty without any."""
        with self.database.reading() as rows:
            patients.find_patient(rows, patient)
            found = kept_texts.last(rows, NOTES, patient)
            return "" if found is None else found.text or ""

    def save_course_notes(self, patient: str, text: str, *, by: str) -> None:
        """Keep notes in place of the last."""
        content = checked_content(text, "the notes")
        with self._change(by) as change:
            patients.find_patient(change.rows, patient)
            kept_texts.save_notes(change, patient, content)

    # What can be made again

    def made_folder(self, session: str) -> Path:
        """The folder for what is made of a session; may be removed at any time."""
        return made.made_folder(self.data, session)

    def kept_document(self, session: str, key: str) -> Any:
        """A document that was kept under a key; None without one."""
        return made.kept_document(self.data, session, key)

    def keep_document(self, session: str, key: str, document: Any) -> None:
        """Keep a document of plain data under a key, in place of an earlier one."""
        made.keep_document(self.data, session, key, document)

    def forget_made(self, session: str) -> None:
        """Remove everything that was made of a session."""
        made.forget_made(self.data, session)

    # Log and backup

    def log(
        self,
        *,
        patient: str | None = None,
        session: str | None = None,
        before: int | None = None,
        limit: int = 100,
    ) -> tuple[LogEntry, ...]:
        """Entries of the log, newest first; ``before`` is the id of the last one seen."""
        with self.database.reading() as rows:
            return log.entries(rows, patient=patient, session=session, before=before, limit=limit)

    def backup(self, to: Path, progress: intake.Progress | None = None) -> backup.Backup:
        """Back the store up while it is in use, into a new folder or ``.zip``."""
        return backup.backup(self.data, to, self.clock(), progress)
