"""Bringing in: files are sent, described, looked at, and then made a session of the store."""

from __future__ import annotations

from functools import partial

from fastapi import APIRouter, Request, Response

from slowphase.store.checked_text import checked_name
from slowphase.workbench.bringing import description
from slowphase.workbench.bringing.answer import (
    bring_in,
    check_ready,
    import_answer,
    look,
    waiting,
)
from slowphase.workbench.bringing.arriving import arrived, check_removable, take
from slowphase.workbench.house import Here
from slowphase.workbench.refusals import Refusal
from slowphase.workbench.shapes.base import Signed
from slowphase.workbench.shapes.imports import (
    DescriptionTold,
    ImportAnswer,
    ImportBegun,
    ImportConfirmed,
    ImportFile,
    ImportWaiting,
    MapChosen,
)
from slowphase.workbench.shapes.jobs import JobAnswer
from slowphase.workbench.traces.asked import WINDOW_ANSWER, Channels, Columns, Seconds
from slowphase.workbench.traces.window import MEDIA_TYPE

router = APIRouter(tags=["imports"])
BODY = {
    "requestBody": {
        "required": True,
        "content": {"application/octet-stream": {"schema": {"type": "string", "format": "binary"}}},
    }
}


@router.get("/imports")
def list_imports(here: Here) -> list[ImportWaiting]:
    """The imports that are not confirmed yet."""
    return list(waiting(here))


@router.post("/imports")
def begin_import(here: Here, asked: Signed) -> ImportBegun:
    """Begin to bring a session in."""
    return ImportBegun(id=here.store.new_import())


@router.put("/imports/{id_}/files/{path:path}", openapi_extra=BODY)
async def send_file(here: Here, id_: str, path: str, request: Request) -> ImportFile:
    """Send a file of the session as it is; it replaces one of the same path."""
    size = await take(here.store.import_folder(id_), path, request.stream())
    return ImportFile(path=path, bytes=size, kind="other")


@router.get("/imports/{id_}")
def read_import(here: Here, id_: str) -> ImportAnswer:
    """The files that came, what they are taken for, and what is wrong."""
    return import_answer(here, id_)


@router.put("/imports/{id_}/description")
def write_description(here: Here, id_: str, asked: DescriptionTold) -> ImportAnswer:
    """Correct the description; what follows from it is told at once."""
    folder = here.store.import_folder(id_)
    found = arrived(folder)
    if found.described:
        raise Refusal(409, "described", "The files brought a session.toml, which counts.")
    description.corrected(folder, found, asked)
    return import_answer(here, id_)


@router.put("/imports/{id_}/map")
def choose_map(here: Here, id_: str, asked: MapChosen) -> ImportAnswer:
    """Describe the files anew, with a map of the clinic or without any."""
    folder = here.store.import_folder(id_)
    description.proposed(folder, arrived(folder), here.store, map_name=asked.name, fitting=False)
    return import_answer(here, id_)


@router.get("/imports/{id_}/preview", response_class=Response, responses=WINDOW_ANSWER)
def read_preview(
    here: Here,
    id_: str,
    trial: str,
    channels: Channels,
    start_s: Seconds = None,
    stop_s: Seconds = None,
    columns: Columns = 1000,
) -> Response:
    """Traces of a trial with the columns as they are described now."""
    folder = here.store.import_folder(id_)
    found = arrived(folder)
    known = None if found.described else description.kept(folder)
    seen = look(here, id_, found, known.told if known else None)
    data = seen.window(trial, channels.split(","), (start_s, stop_s), columns)
    return Response(data, media_type=MEDIA_TYPE)


@router.post("/imports/{id_}/confirm")
def confirm_import(here: Here, id_: str, asked: ImportConfirmed) -> JobAnswer:
    """Make a session of it; the job names the session. 422 where something is still missing."""
    check_ready(here, id_)
    if asked.save_map_as is not None:
        checked_name(asked.save_map_as, "the map")
    if asked.patient is not None:
        here.store.patient(asked.patient)
    job = here.jobs.start(f"bringing in {id_}", partial(bring_in, here, id_, asked))
    return here.jobs.answer(job.id)


@router.delete("/imports/{id_}", status_code=204)
def drop_import(here: Here, id_: str) -> None:
    """Remove an import that was not confirmed, with its files."""
    check_removable(here.store.import_folder(id_))
    here.previews.forget(id_)
    here.store.discard_import(id_)
