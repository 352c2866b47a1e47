"""What a scenario says of its patient and session: shown in the folder, simulated by nothing."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from slowphase.foundation.errors import UsageError
from slowphase.physiology.field_check import check_known, shown
from slowphase.recording.keys import key_tables, value_fits
from slowphase.recording.session import Patient
from slowphase.recording.write import NAMES, Layout

DAY = date(2026, 1, 15)  # of a scenario that names none: no clock is asked
ALERT = {"alerting": "mental arithmetic"}
PATIENT_KEYS = ("code", "age_years", "sex")


@dataclass(frozen=True, slots=True)
class Description:
    """Patient, day, notes, conditions and the layout of the files."""

    patient: Patient
    day: date
    notes: dict[str, str]
    conditions: dict[str, str | float]
    layout: Layout


def description_from(name: str, table: Mapping[str, Any]) -> Description:
    """The description of a scenario called ``name``; raises ``UsageError``."""
    patient = _checked(table, "patient", PATIENT_KEYS)
    session = _checked(table, "session", tuple(key_tables()["session"].keys))
    person = table.get("person", {})
    age = {"age_years": person["age_years"]} if "age_years" in person else {}
    method = table.get("equipment", {}).get("method", "video")
    return Description(
        patient=Patient(**({"code": f"SIM-{name.upper()}"} | age | patient)),
        day=session.pop("date", DAY),
        notes={"indication": "invented data"} | session,
        conditions=_conditions(table.get("conditions", {"recording": method} | ALERT)),
        layout=layout_from(table.get("layout", {})),
    )


def _conditions(table: object) -> dict[str, str | float]:
    if not isinstance(table, Mapping):
        raise UsageError("conditions is no table of keys")
    return dict(table)


def _checked(table: Mapping[str, Any], name: str, known: tuple[str, ...]) -> dict[str, Any]:
    entries = table.get(name, {})
    if not isinstance(entries, Mapping):
        raise UsageError(f"{name} is no table of keys")
    check_known(entries, known, name)
    keys = key_tables()[name].keys
    for key, value in entries.items():
        if not value_fits(keys[key], value):
            raise UsageError(f"{name}.{key} = {shown(value)}: expected {keys[key].expected}")
    return dict(entries)


def layout_from(table: Mapping[str, Any]) -> Layout:
    """How the trace files look; names that are not given keep their default."""
    check_known(table, Layout.__dataclass_fields__, "layout")
    given = {key: value for key, value in table.items() if key != "names"}
    return replace(Layout(**given), names=NAMES | table.get("names", {}))
