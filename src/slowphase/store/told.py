"""What a session's own files say: of the patient, the day, and the digests of all files."""

import hashlib
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from slowphase.recording.keys import is_plain
from slowphase.recording.plan import SessionPlan
from slowphase.recording.report_problem import SESSION_FILE
from slowphase.recording.session_file import parse_session_file, unusable
from slowphase.store.checked_text import NAME_LONGEST
from slowphase.store.rows import OriginalFile


@dataclass(frozen=True, slots=True)
class Told:
    """The patient as session.toml names it, the day, and every file that came."""

    code: str
    name: str | None
    sex: str
    date: date | None
    input_digest: str
    files: tuple[OriginalFile, ...]


def told_by(folder: Path, files: Sequence[OriginalFile]) -> Told:
    """Read session.toml of a folder whose files were copied; raises `InputError`."""
    content = (folder / SESSION_FILE).read_bytes()
    plan = parse_session_file(content, folder)
    if not plan.trials:
        raise unusable(
            "no_trials",
            "the session has no trials",
            expected="at least one [[trial]]",
            remedy="add a [[trial]] with id, kind and file",
        )
    patient = plan.patient
    digest = _input_digest(content, plan, folder, files)
    return Told(patient.code, _name(content), patient.sex, plan.date, digest, tuple(files))


def _input_digest(
    content: bytes, plan: SessionPlan, folder: Path, files: Sequence[OriginalFile]
) -> str:
    """The digest that reading the session gives, if every trace file in it can be read."""
    known = {(folder / file.path).resolve(): bytes.fromhex(file.sha256) for file in files}
    named: dict[Path, str] = {}
    for trial in plan.trials:
        if trial.path is not None and trial.readable:
            named.setdefault(trial.path, str(trial.trial.file))
    digest = hashlib.sha256(content)
    for name, path in sorted((name, path) for path, name in named.items()):
        if path in known:
            digest.update(name.encode() + b"\0" + known[path])
    return digest.hexdigest()


def _name(content: bytes) -> str | None:
    """The patient's name, where the clinic writes it into session.toml."""
    try:
        patient = tomllib.loads(content.decode("utf-8-sig")).get("patient")
    except (ValueError, RecursionError):
        return None
    if not isinstance(patient, dict):
        return None
    parts = [patient.get("name")] if patient.get("name") else _parts(patient)
    name = " ".join(" ".join(part for part in parts if isinstance(part, str)).split())
    return name if name and len(name) <= NAME_LONGEST and is_plain(name) else None


def _parts(patient: dict[str, object]) -> list[object]:
    return [patient.get("first_name"), patient.get("last_name")]
