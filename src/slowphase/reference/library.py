"""The reference sets of a clinic: the shipped ones, its own files, and which it prefers."""

import hashlib
import tomllib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from slowphase.foundation.errors import InputError
from slowphase.foundation.problem import Problem
from slowphase.recording.report_problem import make_problem, quote
from slowphase.recording.toml_lines import find_lines
from slowphase.reference.entry import ReferenceEntry
from slowphase.reference.set_check import PROBLEM
from slowphase.reference.sets import read_set, reference_digest, reference_sets

PREFERENCES = "references.toml"


@dataclass(frozen=True, slots=True)
class References:
    """The sets that measures are held against.

    ``prefer`` holds ids of sets, the first tried first; sets that it does not name come after,
    best known first. A set that it names is used whatever its mark: naming it is asking for it.
    ``digest`` is a SHA-256 of every byte that these sets came from.
    """

    entries: tuple[ReferenceEntry, ...]
    prefer: tuple[str, ...] = ()
    digest: str = ""


def shipped() -> References:
    """The sets that come with Slowphase, without a preference."""
    return References(reference_sets(), (), reference_digest())


def read_references(path: str | Path) -> References:
    """The shipped sets and a clinic's own: one file, or a folder of them.

    In a folder every ``*.toml`` is a set, but ``references.toml`` holds the clinic's order:
    ``prefer = ["my-set", "su-2000"]``. Raises `InputError` that names the file, the line and the
    key when something is wrong with any of them.
    """
    path = Path(path)
    texts = {file.name: _text(file) for file in _files(path)}
    order = path / PREFERENCES
    return references_from(texts, preferences=_text(order) if order.is_file() else None)


def references_from(texts: Mapping[str, str], *, preferences: str | None = None) -> References:
    """The shipped sets and a clinic's own as texts by the names of their files, in that order.

    ``preferences`` is the text of ``references.toml``. Raises as `read_references` does.
    """
    own = {name: read_set(text, name) for name, text in texts.items()}
    _check_ids(own)
    entries = (*reference_sets(), *(entry for found in own.values() for entry in found))
    known = {entry.set for entry in entries}
    prefer = () if preferences is None else _prefer(preferences, known)
    return References(entries, prefer, _digest(texts, prefer))


def _files(path: Path) -> tuple[Path, ...]:
    if path.is_file():
        return (path,)
    found = sorted(path.glob("*.toml")) if path.is_dir() else []
    if not found:
        raise _wrong(path, "no reference set is there",
                     expected="a file my-set.toml, or a folder of such files")  # fmt: skip
    return tuple(file for file in found if file.name != PREFERENCES)


def _text(file: Path) -> str:
    try:
        return file.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError as error:
        raise _wrong(file, f"byte {error.start} is no UTF-8 text", expected="UTF-8") from error
    except OSError as error:
        reason = error.strerror or type(error).__name__
        raise _wrong(file, f"it cannot be read: {reason}", expected="a readable file") from error


def _wrong(file: Path, what: str, *, expected: str) -> InputError:
    return InputError(
        [make_problem(PROBLEM, what, expected=expected, remedy="correct it", file=str(file))]
    )


def _check_ids(own: Mapping[str, Sequence[ReferenceEntry]]) -> None:
    problems, homes = [], dict.fromkeys((e.set for e in reference_sets()), "a set of Slowphase")
    for file, entries in own.items():
        name = entries[0].set
        if name in homes:
            problems.append(_taken(file, name, homes[name]))
        homes.setdefault(name, file)
    if problems:
        raise InputError(problems)


def _taken(file: str, name: str, home: str) -> Problem:
    return make_problem(
        PROBLEM, f"the id {quote(name)} is that of {home}", expected="an id of its own",
        remedy="choose another id", file=file, key="set, id", found=name,
    )  # fmt: skip


def _prefer(text: str, known: set[str]) -> tuple[str, ...]:
    try:
        table = tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        what = f"this is not valid TOML: {error}"
        raise _wrong(Path(PREFERENCES), what, expected='prefer = ["…"]') from error
    problems = tuple(_wrong_preferences(table, known, PREFERENCES, text))
    if problems:
        raise InputError(problems)
    return tuple(table.get("prefer", ()))


def _wrong_preferences(
    table: Mapping[str, object], known: set[str], file: str, text: str
) -> Iterator[Problem]:
    lines = find_lines(text)
    for key in table:
        if key != "prefer":
            yield make_problem(PROBLEM, "the key is not known", expected='"prefer"',
                               remedy="remove it", file=file, line=lines.of("", key),
                               key=key)  # fmt: skip
    names = table.get("prefer", [])
    for name in names if isinstance(names, list) else [names]:
        if not isinstance(names, list):
            what, expected = f"found {quote(name)}", 'a list in brackets, such as ["my-set"]'
        elif not isinstance(name, str):
            what, expected = f"found {quote(name)}", "ids in quotes"
        elif name not in known:
            what = f"there is no set {quote(name)}"
            expected = "a list of ids among " + ", ".join(sorted(known))
        else:
            continue
        yield make_problem(
            PROBLEM, what, remedy="correct it", file=file, key="prefer", expected=expected,
            line=lines.of("", "prefer"), found=name,
        )  # fmt: skip


def _digest(texts: Mapping[str, str], prefer: Sequence[str]) -> str:
    digest = hashlib.sha256(reference_digest().encode())
    for name, text in texts.items():
        digest.update(f"{name}\0{text}\0".encode())
    digest.update("\0".join(prefer).encode())
    return digest.hexdigest()
