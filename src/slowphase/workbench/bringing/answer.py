"""An import as it is told, and the session that becomes of it."""

from __future__ import annotations

import contextlib
from pathlib import Path
from typing import TYPE_CHECKING, Any

from slowphase.analysis.document import problem_entry
from slowphase.foundation.whole_file import write_whole_file
from slowphase.recording.columns import ROLES, units_of
from slowphase.recording.described import described_toml
from slowphase.recording.read import TRACE_SUFFIXES
from slowphase.workbench.bringing import description
from slowphase.workbench.bringing.arriving import FILES, SESSION_FILE, arrived
from slowphase.workbench.refusals import Refusal
from slowphase.workbench.shapes.errors import ProblemEntry
from slowphase.workbench.shapes.imports import (
    ImportAnswer,
    ImportFile,
    ImportWaiting,
    PreviewTrial,
)

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from slowphase.workbench.bringing.arriving import Arrived
    from slowphase.workbench.bringing.preview import Preview
    from slowphase.workbench.house import House
    from slowphase.workbench.jobs import Job
    from slowphase.workbench.shapes.imports import DescriptionTold, ImportConfirmed

VISIONS = ("dark", "light", "head-fixed target", "earth-fixed scene")


def import_answer(here: House, id_: str) -> ImportAnswer:
    """An import as it stands; its description is proposed when files have come without one."""
    folder = here.store.import_folder(id_)
    found = arrived(folder)
    kept = None if found.described else description.current(folder, found, here.store)
    told = kept.told if kept else None
    seen = look(here, id_, found, told)
    now = [ProblemEntry(**problem_entry(problem)) for problem in seen.problems]
    before = [problem for problem in kept.problems if problem not in now] if kept else []
    return ImportAnswer(
        id=id_,
        files=[_file(path, size) for path, size in found.files],
        description=told,
        text=_text(found, told),
        headers=description.headers_of(found),
        roles=list(ROLES),
        units={role: list(units_of(role)) for role in ROLES},
        visions=list(VISIONS),
        preview=list(_trials(seen)),
        problems=[*before, *now],
        ready=seen.usable and not lacking(told),
        maps=[one.name for one in here.store.maps()],
        map_used=kept.map_used if kept else None,
    )


def waiting(here: House) -> Iterator[ImportWaiting]:
    """Every import that is not confirmed, those that a crash left among them."""
    for id_ in here.store.imports():
        files = here.store.import_folder(id_) / FILES
        sizes = {path: path.stat().st_size for path in files.rglob("*") if path.is_file()}
        told = any(path.name == SESSION_FILE for path in sizes)
        yield ImportWaiting(id=id_, files=len(sizes), bytes=sum(sizes.values()), described=told)


def look(here: House, id_: str, found: Arrived, told: DescriptionTold | None) -> Preview:
    """The import read as it is described."""
    if told is None:
        return here.previews.of(id_, found, None)
    complete = description.to_read(description.as_described(told))
    return here.previews.of(id_, found, described_toml(complete))


def lacking(told: DescriptionTold | None) -> Sequence[str]:
    """What a person has still to give before an import can be confirmed."""
    return () if told is None else description.missing(description.as_described(told))


def _file(path: str, size: int) -> ImportFile:
    if path == SESSION_FILE:
        return ImportFile(path=path, bytes=size, kind="description")
    trace = Path(path).suffix.lower() in TRACE_SUFFIXES
    return ImportFile(path=path, bytes=size, kind="trace" if trace else "other")


def _text(found: Arrived, told: DescriptionTold | None) -> str:
    """The session.toml that counts."""
    if told is not None:
        return described_toml(description.as_described(told))
    return (found.root / SESSION_FILE).read_bytes().decode("utf-8", "replace")


def _trials(seen: Preview) -> Iterator[PreviewTrial]:
    for id_, own in seen.lines.items():
        yield PreviewTrial.model_validate(
            {
                "id": id_,
                "start_s": own.grid.start_s,
                "stop_s": own.grid.stop_s,
                "channels": [line.told for line in own.lines.values()],
            }
        )


def check_ready(here: House, id_: str) -> tuple[Arrived, DescriptionTold | None]:
    """The files and the description of an import that can be confirmed; `Refusal` (422) else."""
    folder = here.store.import_folder(id_)
    found = arrived(folder)
    told = None if found.described else description.current(folder, found, here.store).told
    wanting = lacking(told)
    if wanting:
        raise Refusal(
            422, "not_described", f"Still to be given: {', '.join(wanting)}.",
            expected=", ".join(wanting),
        )  # fmt: skip
    seen = look(here, id_, found, told)
    if told is None:
        _check_named(seen)
    if not seen.usable:
        first = seen.problems[0]
        raise Refusal(422, first.code, first.message, found=first.found, expected=first.expected,
                      problems=seen.problems)  # fmt: skip
    return found, told


def _check_named(seen: Preview) -> None:
    """A session.toml that came must name the patient: sessions without a code would be pooled."""
    nameless = next((p for p in seen.problems if p.key == "code"), None)
    if nameless is not None:
        raise Refusal(
            422, "not_described", f"The patient has no code: {nameless.message}",
            expected="code under [patient] in session.toml",
        )  # fmt: skip


@contextlib.contextmanager
def _written_down(found: Arrived, told: DescriptionTold | None) -> Iterator[None]:
    """The session.toml that was described, for as long as the files are copied."""
    if told is None:
        yield
        return
    file = found.root / SESSION_FILE
    try:
        write_whole_file(file, _text(found, told).encode())
        yield
    finally:
        file.unlink(missing_ok=True)


def bring_in(here: House, id_: str, asked: ImportConfirmed, job: Job) -> dict[str, Any]:
    """Make a session of an import; its files are kept as they came, with their digests."""
    found, told = check_ready(here, id_)
    with _written_down(found, told):
        row = here.store.add_session(
            found.root,
            by=asked.by,
            patient=asked.patient,
            title=asked.title,
            progress=lambda share, what: job.tell(what, 0.9 * share),
            cancelled=job.stop.is_set,
        )
    if told is not None and asked.save_map_as is not None:
        here.store.save_map(asked.save_map_as, description.as_map(told), by=asked.by)
    here.previews.forget(id_)
    here.store.discard_import(id_)
    return {"session": row.id, "patient": row.patient}
