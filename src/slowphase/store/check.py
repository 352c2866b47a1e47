"""Is the whole store as it should be: the database, every original file, every signed version?"""

from collections.abc import Iterator

from slowphase.foundation.problem import Problem
from slowphase.recording.report_problem import make_problem
from slowphase.store.copying import check_database
from slowphase.store.database import Database
from slowphase.store.errors import StoreError
from slowphase.store.folder import DataFolder
from slowphase.store.intake import Meter, Progress
from slowphase.store.originals import check_originals
from slowphase.store.readings import check_versions, versions_of
from slowphase.store.sessions import session_rows


def check_store(
    data: DataFolder, database: Database, progress: Progress | None = None
) -> tuple[Problem, ...]:
    """Read everything again; a problem for each thing that is not as it was confirmed."""
    return tuple(_problems(data, database, progress))


def _problems(data: DataFolder, database: Database, progress: Progress | None) -> Iterator[Problem]:
    try:
        check_database(data.database)
    except StoreError as error:
        yield make_problem(
            "database_damaged", str(error), expected="a whole database",
            remedy="restore the store from a backup", file=data.database.name,
        )  # fmt: skip
        return
    with database.reading() as rows:
        sessions = session_rows(rows)
    meter = Meter(len(sessions), progress, None)
    for session in sessions:
        meter.what = session.id
        yield from check_originals(data.sessions / session.id, session)
        yield from _of_readings(database, session.id)
        meter.moved(1)


def _of_readings(database: Database, session: str) -> Iterator[Problem]:
    with database.reading() as rows:
        versions = versions_of(rows, session)
    try:
        check_versions(versions)
    except StoreError as error:
        yield make_problem(
            "signed_version_changed", str(error), expected="every version as it was signed",
            remedy="restore the store from a backup", file=f"session {session}",
        )  # fmt: skip
