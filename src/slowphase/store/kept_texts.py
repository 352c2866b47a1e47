"""Named texts of the clinic: maps of equipment, reference sets, notes; every version stays."""

from sqlalchemy import func, select
from sqlalchemy.orm import Session as Rows

from slowphase.store.change import Change
from slowphase.store.errors import StoreConflict, StoreMissing
from slowphase.store.rows import KeptText
from slowphase.store.tables import KeptText as Table

MAP, REFERENCE, NOTES = "map", "reference", "course_notes"
_WORDS = {MAP: "map", REFERENCE: "reference set"}


def kept(rows: Rows, kind: str) -> tuple[KeptText, ...]:
    """The texts of a kind that hold, by name."""
    last_ids = select(func.max(Table.id)).where(Table.kind == kind).group_by(Table.name)
    found = rows.scalars(select(Table).where(Table.id.in_(last_ids)).order_by(Table.name))
    return tuple(
        KeptText(one.name, one.text, one.at, one.by) for one in found if one.text is not None
    )


def last(rows: Rows, kind: str, name: str) -> Table | None:
    """The last version of a text; its text is None where it was taken away."""
    query = select(Table).where(Table.kind == kind, Table.name == name)
    return rows.scalars(query.order_by(Table.id.desc()).limit(1)).first()


def text_of(rows: Rows, version: int | None) -> str | None:
    """The text of one version; None without one."""
    return None if version is None else rows.get_one(Table, version).text


def keep(change: Change, kind: str, name: str, text: str | None) -> int:
    """Add a version, or take a text away; returns the version's id."""
    row = Table(kind=kind, name=name, text=text, by=change.by, at=change.at)
    change.rows.add(row)
    change.rows.flush()
    return row.id


def save(change: Change, kind: str, name: str, text: str, *, new: bool = False) -> None:
    """Keep a text and log it; `StoreConflict` where one that must be ``new`` is there."""
    there = last(change.rows, kind, name)
    if new and there is not None and there.text is not None:
        raise StoreConflict(f"there is a {_WORDS[kind]} {name} already: expected another name")
    version = keep(change, kind, name, text)
    done = "added" if new else "saved"
    change.log(
        f"{kind}_{done}",
        f"{done} the {_WORDS[kind]} {name}",
        detail={"name": name, "version": version},
    )


def remove(change: Change, kind: str, name: str, reason: str) -> None:
    """Take a text out of use and log it; its versions stay."""
    there = last(change.rows, kind, name)
    if there is None or there.text is None:
        raise StoreMissing(f"there is no {_WORDS[kind]} {name[:40]!r} in the store")
    keep(change, kind, name, None)
    told = f"removed the {_WORDS[kind]} {name}: {reason}"
    change.log(f"{kind}_removed", told, detail={"name": name, "reason": reason})


def save_notes(change: Change, patient: str, text: str) -> None:
    """Keep the notes on a patient's course and log it."""
    version = keep(change, NOTES, patient, text)
    told = "saved the notes on the course"
    change.log("course_notes_saved", told, patient=patient, detail={"version": version})
