"""The invented patients in a store that holds nothing else."""

from __future__ import annotations

import tempfile
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from slowphase.cli.demo_sessions import PATIENTS, demo_table, write_demo_session

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from slowphase.store import Store
    from slowphase.workbench.house import House

    Tell = Callable[[str, float], None]

BY = "Slowphase"


def missing_demo(store: Store) -> tuple[str, ...]:
    """The invented patients that a store lacks; none where it holds anyone else."""
    patients = store.patients()
    if not all(session.demo for patient in patients for session in patient.sessions):
        return ()
    known = {patient.code for patient in patients}
    return tuple(name for name in PATIENTS if demo_table(name)["patient"]["code"] not in known)


def put_in_demo(names: Sequence[str], store: Store, house: House, tell: Tell) -> dict[str, Any]:
    """Make sessions of invented patients, bring them in, and measure them; returns their ids."""
    ids = []
    for number, name in enumerate(names):
        tell(f"making an invented patient ({number + 1} of {len(names)})", number / len(names))
        with tempfile.TemporaryDirectory() as folder:
            written = write_demo_session(demo_table(name), Path(folder))
            row = store.add_session(written, by=BY, demo=True, title=_title(name))
        ids.append(row.id)
        house.room.measure_now(row.id, partial(_tell_of, tell, number / len(names)))
    return {"sessions": ids}


def _tell_of(tell: Tell, share: float, what: str, _own: float | None = None) -> None:
    """What is done on one patient, with the share of all of them."""
    tell(what, share)


def _title(name: str) -> str:
    """What the session is about, as its file says."""
    return str(demo_table(name)["session"].get("indication", ""))
