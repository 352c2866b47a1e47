"""Patients: finding them, and making one for a session that comes in."""

from collections import defaultdict
from collections.abc import Sequence

from sqlalchemy import ColumnElement, and_, or_, select
from sqlalchemy.orm import Session as Rows
from sqlalchemy.orm import aliased

from slowphase.store.change import Change
from slowphase.store.errors import StoreConflict, StoreMissing
from slowphase.store.folder import new_id
from slowphase.store.rows import PatientRow, SessionRow
from slowphase.store.sessions import session_rows
from slowphase.store.sought import sought_text, sought_words
from slowphase.store.tables import Patient, Session

UNKNOWN = "unknown"
ACTIVE = and_(Patient.merged_into.is_(None), Patient.withdrawn.is_(False))


def patient_rows(rows: Rows, find: str = "") -> tuple[PatientRow, ...]:
    """The patients in whose code, name or sessions every word is found, last added first."""
    chosen = and_(ACTIVE, *(_has(word) for word in sought_words(find)))
    found = _rows(rows, chosen)
    return tuple(sorted(found, key=_last_added, reverse=True))


def patient_row(rows: Rows, patient: str) -> PatientRow:
    """One patient; raises `StoreMissing`."""
    find_patient(rows, patient)
    return _rows(rows, Patient.id == patient)[0]


def _has(word: str) -> ColumnElement[bool]:
    own = aliased(Session)  # apart from the sessions of a query around this one
    in_session = select(own.id).where(
        own.patient == Patient.id, own.sought.contains(word, autoescape=True)
    )
    found = in_session.correlate(Patient).exists()
    return or_(Patient.sought.contains(word, autoescape=True), found)


def _rows(rows: Rows, chosen: ColumnElement[bool]) -> list[PatientRow]:
    own: dict[str, list[SessionRow]] = defaultdict(list)
    for session in session_rows(rows, Session.patient.in_(select(Patient.id).where(chosen))):
        own[session.patient].append(session)
    found = rows.scalars(select(Patient).where(chosen).order_by(Patient.code, Patient.id))
    told = _told(rows, chosen)
    return [_row(patient, own[patient.id], told[patient.id]) for patient in found]


def _told(rows: Rows, chosen: ColumnElement[bool]) -> dict[str, list[tuple[str | None, str]]]:
    """Name and sex as the patient's sessions of the same code tell them, newest first."""
    query = (
        select(Patient.id, Session.told_name, Session.told_sex)
        .join(Session, and_(Session.patient == Patient.id, Session.told_code == Patient.code))
        .where(chosen)
        .order_by(Session.date.desc(), Session.added_at.desc())
    )
    told: dict[str, list[tuple[str | None, str]]] = defaultdict(list)
    for patient, name, sex in rows.execute(query):
        told[patient].append((name, sex))
    return told


def _row(
    patient: Patient, sessions: Sequence[SessionRow], told: Sequence[tuple[str | None, str]]
) -> PatientRow:
    """The patient as it was made; what was not known then is what its own sessions tell."""
    name = patient.name or next((name for name, _ in told if name), None)
    sex = next((sex for sex in (patient.sex, *(sex for _, sex in told)) if sex != UNKNOWN), UNKNOWN)
    return PatientRow(patient.id, patient.code, name, sex, tuple(sessions))


def _last_added(patient: PatientRow) -> str:
    return max((session.added_at for session in patient.sessions), default="")


def find_patient(rows: Rows, patient: str) -> Patient:
    """The row of a patient who holds sessions now; raises `StoreMissing`."""
    found = rows.get(Patient, patient)
    if found is None or found.withdrawn:
        raise StoreMissing(f"there is no patient {patient[:40]!r} in the store")
    if found.merged_into is not None:
        raise StoreMissing(
            f"the patient {found.code} ({patient}) was merged into {found.merged_into}: name that"
        )
    return found


def patient_of_code(rows: Rows, code: str) -> str | None:
    """The patient with a code, merged ones followed; `StoreConflict` if there are several."""
    query = select(Patient).where(Patient.code == code, Patient.withdrawn.is_(False))
    found = {_holder(rows, patient).id for patient in rows.scalars(query)}
    if len(found) > 1:
        raise StoreConflict(
            f"{len(found)} patients have the code {code}: expected one to be named, "
            "or the duplicates to be merged first"
        )
    return found.pop() if found else None


def _holder(rows: Rows, patient: Patient) -> Patient:
    """The patient who holds the sessions of a merged one."""
    while patient.merged_into is not None:
        patient = rows.get_one(Patient, patient.merged_into)
    return patient


def make_patient(change: Change, code: str, name: str | None, sex: str) -> str:
    """A new patient; returns its id."""
    patient = Patient(
        id=new_id(), code=code, name=name, sex=sex, sought=sought_text(code, name),
        added_at=change.at, added_by=change.by, merged_into=None, withdrawn=False,
    )  # fmt: skip
    change.rows.add(patient)
    change.rows.flush()
    return patient.id
