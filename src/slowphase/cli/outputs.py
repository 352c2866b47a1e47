"""What a call may write to: never its own inputs, the session's files or a signed version."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING

from slowphase.foundation.errors import UsageError

if TYPE_CHECKING:
    from argparse import Namespace
    from collections.abc import Iterable, Iterator

SESSION = "session.toml"
READINGS = "readings"
WRITTEN = ("output", "report", "pdf", "page", "keep")
TABLES = (".csv", ".parquet")
READ = ("checks", "edits", "clinic", "retest", "file", "set")
READ_MANY = ("inputs", "folders")
FOLDERS_WRITTEN = ("demo", "simulate")  # they write into a folder of their own, and look first


def check_outputs(asked: Namespace) -> None:
    """Raise `UsageError` where an output is an input, a session's file, or is named twice."""
    if asked.command.__name__ in FOLDERS_WRITTEN:
        return
    outputs = list(_outputs(asked))
    for number, (option, file) in enumerate(outputs):
        for other, earlier in outputs[:number]:
            if _same(file, earlier) and not _is_device(file):
                raise UsageError(f"{other} and {option} both name {file}: name two files")
    if outputs:
        inputs, readings = list(_inputs(asked)), list(_readings(asked))
        for option, file in outputs:
            _check_one(option, file, inputs, readings)


def _check_one(option: str, file: Path, inputs: Iterable[Path], readings: Iterable[Path]) -> None:
    for folder in readings:
        if file.resolve().is_relative_to(folder.resolve()):
            raise UsageError(
                f"{option} {file} lies in {folder}, which holds signed versions: name another file"
            )
    for read in inputs:
        if _same(file, read):
            raise UsageError(
                f"{option} {file} would overwrite {read}, which this call reads: name another file"
            )


def _outputs(asked: Namespace) -> Iterator[tuple[str, Path]]:
    names = (*WRITTEN, "events") if asked.command.__name__ == "analyze" else WRITTEN
    for name in names:
        file = getattr(asked, name, None)
        if isinstance(file, Path):
            yield "-o" if name == "output" else f"--{name}", file


def _inputs(asked: Namespace) -> Iterator[Path]:
    for path in _named(asked):
        if path.is_dir():
            for file in path.rglob(SESSION):
                yield from _with_its_files(file)
        else:
            yield from _with_its_files(path)
            if path.suffix.lower() in TABLES:
                yield path.with_suffix(".toml")  # explains the columns of a table
    for folder in _own_sets(asked):
        yield from (folder.glob("*.toml") if folder.is_dir() else [folder])


def _named(asked: Namespace) -> Iterator[Path]:
    """Every path that the call reads."""
    names = READ if asked.command.__name__ == "analyze" else (*READ, "events")
    single = [getattr(asked, name, None) for name in names]
    texts = [getattr(asked, "remark", None) or "", *(getattr(asked, "reword", None) or [])]
    for text in texts:
        _, found, name = text.partition("@")
        single += [name] if found else []
    many = [path for name in READ_MANY for path in getattr(asked, name, None) or []]
    yield from (Path(path) for path in (*single, *many, *_sessions(asked)) if path)


def _own_sets(asked: Namespace) -> list[Path]:
    """The clinic's own sets as a call reads them; building one may replace it."""
    if asked.command.__name__ == "build":
        return []
    told = getattr(asked, "references", None) or os.environ.get("SLOWPHASE_REFERENCES")
    return [Path(told)] if told else []


def _sessions(asked: Namespace) -> list[Path]:
    """The session folders that a call names."""
    folder = getattr(asked, "folder", None)
    named = [folder, *(getattr(asked, "folders", None) or [])]
    return [path.parent if path.is_file() else path for path in named if path is not None]


def _readings(asked: Namespace) -> Iterator[Path]:
    for folder in (*_sessions(asked), *(getattr(asked, "inputs", None) or [])):
        yield folder / READINGS
        if folder.is_dir():
            yield from (file.parent / READINGS for file in folder.rglob(SESSION))


def _with_its_files(file: Path) -> Iterator[Path]:
    """A file, and what it names: the traces of a session, the logo of a clinic."""
    yield file
    if file.suffix.lower() != ".toml" or not file.is_file():
        return
    import tomllib

    try:
        table = tomllib.loads(file.read_bytes().decode("utf-8-sig"))
    except (OSError, ValueError, RecursionError):
        # What it names is not known: everything beside it is kept.
        yield from file.parent.rglob("*") if file.name == SESSION else ()
        return
    for text in _texts(table):
        if "\0" not in text:
            yield file.parent / text


def _texts(value: object) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict | list):
        for part in value.values() if isinstance(value, dict) else value:
            yield from _texts(part)


def _same(one: Path, other: Path) -> bool:
    """One file, also by a link or another spelling of its name."""
    try:
        return one.resolve() == other.resolve() or one.samefile(other)
    except OSError:
        return False


def _is_device(file: Path) -> bool:
    return file.exists() and not file.is_file() and not file.is_dir()
