"""Write a simulated session as a folder with its truth: all of it, or nothing.

It is made beside its place and then renamed, so that a run that was stopped leaves no half folder.
A folder that holds anything but an earlier simulation is never touched.
"""

import atexit
import json
import secrets
import shutil
from collections.abc import Callable, Mapping
from functools import partial
from pathlib import Path
from typing import Any

from slowphase.cli.scenario_description import Description, description_from
from slowphase.cli.scenario_files import load_scenario
from slowphase.cli.simulated_session import session_from
from slowphase.cli.truth_document import MADE_BY, to_text, truth_document
from slowphase.foundation.errors import UsageError
from slowphase.physiology.scenario import Scenario, run, scenario_from
from slowphase.recording.write import write_session

Say = Callable[[str, str], None]
TRUTH = "truth.json"


def simulate_into(asked: str, folder: Path | None, say: Say, *, seed: int | None = None) -> Path:
    """Simulate a scenario and write its session; returns the folder.

    ``asked`` is a file or the name of a shipped scenario; without a ``folder`` its name is taken.
    Raises ``UsageError`` when the scenario is wrong, or the folder not free.
    """
    name, table, label = load_scenario(asked)
    folder = Path(name) if folder is None else folder
    _check_free(folder)
    if seed is not None:
        table = {**table, "seed": seed}
    scenario, described = _understood(name, table, label)
    trials = run(scenario, progress=lambda trial: say("simulating", trial))
    session = session_from(
        trials,
        described.patient,
        described.day,
        notes=described.notes,
        conditions=described.conditions,
    )

    def write(part: Path) -> None:
        say("writing", folder.name)
        write_session(session, part, layout=described.layout)
        about = str(table.get("about", ""))
        document = truth_document(name, about, scenario, trials, files_in(part))
        (part / TRUTH).write_text(to_text(document), encoding="utf-8", newline="\n")

    write_whole(folder, write)
    return folder


def _understood(name: str, table: Mapping[str, Any], label: str) -> tuple[Scenario, Description]:
    """Raises ``UsageError`` that begins with ``label``."""
    try:
        return scenario_from(table), description_from(name, table)
    except UsageError as error:
        raise UsageError(f"{label}: {error}") from error


def files_in(folder: Path) -> list[str]:
    """Every file below a folder, by its path from there."""
    paths = (path for path in folder.rglob("*") if not path.is_dir())
    return sorted(path.relative_to(folder).as_posix() for path in paths)


def _check_free(folder: Path) -> None:
    """Raises ``UsageError`` unless the folder is new, empty, or an untouched simulation."""
    if not folder.exists():
        return
    if not folder.is_dir():
        raise UsageError(f"{folder} is a file. Name a folder.")
    if folder.resolve() == Path.cwd():
        raise UsageError(f"{folder} is the folder you are in. Name one to be made in it.")
    found = files_in(folder)
    strange = sorted(set(found) - _ours(folder))
    if strange:
        raise UsageError(
            f"{folder} is not empty and was not written by this command (it holds {strange[0]}). "
            "Name another folder."
        )


def _ours(folder: Path) -> set[str]:
    """The files that an earlier simulation wrote there."""
    try:
        document = json.loads((folder / TRUTH).read_text(encoding="utf-8"))
        made = document["made_by"] == MADE_BY
        return {*map(str, document["files"]), TRUTH} if made else set()
    except (OSError, ValueError, KeyError, TypeError):
        return set()


def write_whole(folder: Path, write: Callable[[Path], None]) -> None:
    """Let ``write`` fill a folder beside the wanted one, then put it in its place.

    One press of Ctrl-C may arrive twice, since the library that writes traces passes it on as well;
    the second may hit the way out, or the first the moment in which the folder beside appears. What
    is then left is cleared when the program ends: that is arranged before there is anything.
    """
    folder = folder.absolute()
    workshop = folder.parent / f".{folder.name}-{secrets.token_hex(4)}"
    clear = partial(shutil.rmtree, workshop, ignore_errors=True)
    atexit.register(clear)
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        workshop.mkdir()
        _exchange(folder, workshop, write)
    except OSError as error:
        raise UsageError(_cannot_write(folder, error)) from error
    finally:
        clear()
    atexit.unregister(clear)


def _exchange(folder: Path, workshop: Path, write: Callable[[Path], None]) -> None:
    part = workshop / "new"
    part.mkdir()
    write(part)
    if folder.exists():
        folder.rename(workshop / "old")
    part.rename(folder)


def _cannot_write(folder: Path, error: OSError) -> str:
    reason = error.strerror or type(error).__name__
    return f"{folder.name} cannot be written: {reason}. Name another folder."
