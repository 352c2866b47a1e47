"""Are the files of a session still as they came?"""

from collections.abc import Iterator
from pathlib import Path

from slowphase.foundation.problem import Problem
from slowphase.recording.report_problem import make_problem
from slowphase.store.disk import digest_of_file
from slowphase.store.errors import StoreError
from slowphase.store.rows import OriginalFile, SessionRow

REMEDY = "put the file back from a backup"


def check_originals(folder: Path, session: SessionRow) -> tuple[Problem, ...]:
    """Read every file again; a problem for each that is missing, differs, or is none of ours."""
    known = {file.path for file in session.files}
    problems = [p for file in session.files for p in _check_file(folder, file, session.id)]
    found = (path for path in sorted(folder.rglob("*")) if not path.is_dir())
    paths = (path.relative_to(folder).as_posix() for path in found)
    added = [_added(session.id, path) for path in paths if path not in known]
    return (*problems, *added)


def _check_file(folder: Path, file: OriginalFile, session: str) -> Iterator[Problem]:
    name = f"{session}/{file.path}"
    expected = f"{file.bytes} bytes, SHA-256 {file.sha256}"
    try:
        size, sha256 = digest_of_file(folder / file.path)
    except FileNotFoundError:
        yield make_problem(
            "original_missing", "the file is gone", expected=expected, remedy=REMEDY, file=name
        )
    except (OSError, StoreError) as error:
        yield make_problem(
            "original_unreadable", f"the file cannot be read ({error})",
            expected=expected, remedy=REMEDY, file=name,
        )  # fmt: skip
    else:
        if (size, sha256) != (file.bytes, file.sha256):
            found = f"{size} bytes, SHA-256 {sha256}"
            yield make_problem(
                "original_changed", f"the file was changed since it came ({found})",
                expected=expected, remedy=REMEDY, file=name, found=found,
            )  # fmt: skip


def _added(session: str, path: str) -> Problem:
    return make_problem(
        "original_added",
        "the file was not brought in with the session",
        expected="only files that came with it",
        remedy="take it out of the store's folder",
        file=f"{session}/{path}",
    )
