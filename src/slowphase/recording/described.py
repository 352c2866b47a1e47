"""A session in words before it is one: what ``session.toml`` will say, made of what was found.

`describe` looks into trace files that came without a ``session.toml``: columns are proposed from
the first, trials are recognised from the chair and from the files' names. A person corrects it;
`described_toml` writes it down.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from pathlib import Path

from slowphase.foundation.errors import InputError
from slowphase.foundation.problem import Problem
from slowphase.recording.propose import ProposedColumn, propose_columns
from slowphase.recording.read import read_session
from slowphase.recording.recognise import Recognised, recognise
from slowphase.recording.trial import KINDS
from slowphase.recording.write import toml_table, toml_value

SESSION_FILE = "session.toml"
NAMED_SURE = 0.6  # of a kind that a file's name tells, where the chair tells none
LIT = {"light": "light", "lit": "light", "fix": "head-fixed target", "vvor": "earth-fixed scene"}
ASKED = {  # what only a person can add, by kind
    "caloric": ("ear", "temperature_c"),
    "gaze": ("eccentricity_deg",),
    "calibration": ("targets_deg",),
}


@dataclass(frozen=True, slots=True)
class DescribedColumn:
    """One column of the map; ``confidence`` (0–1) and ``reasons`` where it was proposed."""

    role: str
    name: str | int
    unit: str | None = None
    positive: str | None = None
    scale: float | None = None
    offset: float | None = None
    confidence: float | None = None
    reasons: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class DescribedTrial:
    """One trial: its keys, and why it is taken for one of this kind."""

    id: str
    kind: str
    file: str | None
    vision: str | None = None
    start_s: float | None = None
    stop_s: float | None = None
    stimulus: Mapping[str, object] = field(default_factory=dict)
    confidence: float | None = None
    reason: str = ""


@dataclass(frozen=True, slots=True)
class Description:
    """Everything that ``session.toml`` will say; ``day`` is None until a person gives it."""

    code: str = ""
    age_years: float | None = None
    sex: str = "unknown"
    day: date | None = None
    notes: Mapping[str, str] = field(default_factory=dict)
    conditions: Mapping[str, str | float] = field(default_factory=dict)
    sampling_hz: float | None = None
    columns: tuple[DescribedColumn, ...] = ()
    trials: tuple[DescribedTrial, ...] = ()


def described_toml(told: Description) -> str:
    """The text of ``session.toml``."""
    rate = {} if told.sampling_hz is None else {"sampling_hz": told.sampling_hz}
    patient = {"code": told.code, "age_years": told.age_years, "sex": told.sex}
    tables = [
        toml_table("schema = 1", rate),
        toml_table("[patient]", patient),
        toml_table("[session]", {"date": told.day, **told.notes}),
        columns_toml(told.columns),
        toml_table("[conditions]", told.conditions) if told.conditions else "",
        *(toml_table("[[trial]]", _trial_keys(trial)) for trial in told.trials),
    ]
    return "\n".join(table for table in tables if table)


def columns_toml(columns: Sequence[DescribedColumn]) -> str:
    """The ``[columns]`` table."""
    lines = [f"{toml_value(column.role)} = {_column(column)}" for column in columns]
    return "\n".join(["[columns]", *lines]) + "\n"


def _column(column: DescribedColumn) -> str:
    keys = ("name", "unit", "positive", "scale", "offset")
    known = ((key, getattr(column, key)) for key in keys)
    inside = ", ".join(f"{key} = {toml_value(one)}" for key, one in known if one is not None)
    return "{ " + inside + " }"


def _trial_keys(trial: DescribedTrial) -> dict[str, object]:
    own = {"id": trial.id, "kind": trial.kind, "file": trial.file, "vision": trial.vision}
    return {**own, "start_s": trial.start_s, "stop_s": trial.stop_s, **trial.stimulus}


def describe(
    folder: Path,
    files: Sequence[str],
    *,
    columns: Sequence[DescribedColumn] | None = None,
    sampling_hz: float | None = None,
    progress: Callable[[str], None] | None = None,
) -> tuple[Description, tuple[Problem, ...]]:
    """A first description of trace files, paths relative to ``folder``, and what is wrong.

    ``columns`` is a map that is known already, with its ``sampling_hz``. A file that cannot be
    read has its problem and no trial.
    """
    problems: list[Problem] = []
    if columns is None:
        columns, sampling_hz = _proposed(folder, files, problems)
    told = Description(columns=tuple(columns), sampling_hz=sampling_hz)
    trials: list[DescribedTrial] = []
    for file in files:
        if progress is not None:
            progress(file)
        trials += _trials_of(folder, file, told, problems)
    return replace(told, trials=tuple(_distinct(trials))), tuple(problems)


def _proposed(
    folder: Path, files: Sequence[str], problems: list[Problem]
) -> tuple[tuple[DescribedColumn, ...], float | None]:
    """The columns of the first file that holds a table of numbers."""
    for file in files:
        try:
            found = propose_columns(folder / file)
        except InputError as error:
            problems += error.problems
            continue
        return tuple(_described(column) for column in found.columns), found.sampling_hz
    return (), None


def _described(column: ProposedColumn) -> DescribedColumn:
    return DescribedColumn(
        role=column.role,
        name=column.name,
        unit=column.unit,
        positive=column.positive,
        confidence=column.confidence,
        reasons=column.reasons,
    )


def _trials_of(
    folder: Path, file: str, told: Description, problems: list[Problem]
) -> Iterator[DescribedTrial]:
    """The trials of one file, as its chair shows them or its name says."""
    whole = DescribedTrial(id=Path(file).stem, kind="other", file=file)
    found, wrong = _recognised(folder, whole, told)
    problems += wrong
    named = kind_in(whole.id)
    vision = vision_in(whole.id)
    if len(found) == 1:
        yield replace(_named(whole, found[0], named), vision=vision)
        return
    for number, one in enumerate(found):
        part = replace(
            whole, id=f"{whole.id}-{number + 1}", start_s=round(one.start_s, 3),
            stop_s=round(one.stop_s, 3), vision=vision,
        )  # fmt: skip
        yield _named(part, one, None)
    if not found and not wrong:
        reason = "no chair or head velocity: say what it is"
        kind = named or "other"
        yield replace(whole, kind=kind, vision=vision, confidence=0.3, reason=reason)


def _named(trial: DescribedTrial, found: Recognised, named: str | None) -> DescribedTrial:
    """A trial as it was recognised; where the chair only rests, as the file's name says."""
    if found.kind == "spontaneous" and named is not None and named != "spontaneous":
        reason = f"the chair rests, and the file is named like {named}"
        return replace(trial, kind=named, confidence=NAMED_SURE, reason=reason)
    return replace(
        trial, kind=found.kind, stimulus=found.stimulus, confidence=found.confidence,
        reason=found.reason,
    )  # fmt: skip


def _recognised(
    folder: Path, whole: DescribedTrial, told: Description
) -> tuple[tuple[Recognised, ...], list[Problem]]:
    """What the chair did in one file, and what is wrong with the file."""
    chair = tuple(c for c in told.columns if c.role == "time" or c.role.startswith("head_"))
    asked = replace(told, code="?", day=date(2000, 1, 1), columns=chair, trials=(whole,))
    text = described_toml(asked)
    try:
        session = read_session(folder, text=text)
    except InputError as error:
        return (), list(error.problems)
    recording = session.trials[0].recording if session.trials else None
    if recording is None:
        return (), list(session.problems)
    head = recording.head_velocity_deg_s
    clock_s = recording.time_s + recording.origin_s
    return (() if head is None else recognise(clock_s, head)), []


def kind_in(name: str) -> str | None:
    """The kind of trial that a file's name holds, such as ``Caloric_RW``; None without one."""
    plain = name.casefold()
    return next((kind for kind in KINDS if kind not in ("other", "values") and kind in plain), None)


def vision_in(name: str) -> str | None:
    """The vision that a file's name holds; None without one."""
    plain = name.casefold()
    told = next((vision for word, vision in LIT.items() if word in plain), None)
    return told or ("dark" if "dark" in plain else None)


def _distinct(trials: Sequence[DescribedTrial]) -> Iterator[DescribedTrial]:
    """The trials with ids that differ from one another."""
    seen: dict[str, int] = {}
    for trial in trials:
        count = seen[trial.id] = seen.get(trial.id, 0) + 1
        yield trial if count == 1 else replace(trial, id=f"{trial.id}-{count}")
