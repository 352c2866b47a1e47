"""The trials of session.toml: their keys, their files, and how they refer to one another."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from difflib import get_close_matches
from pathlib import Path

from slowphase.foundation.problem import Problem
from slowphase.recording.check_keys import Checked, Place, check_table, missing_key
from slowphase.recording.columns import Column, MapPlace, parse_columns
from slowphase.recording.contradictions import without_contradictions
from slowphase.recording.keys import Key, KeyTable, key_tables, kind_tables, value_tables
from slowphase.recording.plan import TrialPlan
from slowphase.recording.references import check_references
from slowphase.recording.report_problem import make_problem, quote
from slowphase.recording.toml_lines import TomlLines
from slowphase.recording.trial import Trial

_FREE_KINDS = ("other", "values")
_DECIDING = {"start_s", "stop_s", "eye", "file", "plane"}  # wrong, the trial means something else


@dataclass(frozen=True, slots=True)
class TrialDefaults:
    """What the session says for all its trials."""

    columns: Mapping[str, Column]
    lost_roles: frozenset[str]
    sampling_hz: float | None
    folder: Path
    lines: TomlLines


def plan_trials(
    tables: object, defaults: TrialDefaults
) -> tuple[tuple[TrialPlan, ...], tuple[Problem, ...]]:
    """The plan of every ``[[trial]]``, and what is wrong with them."""
    plans: list[TrialPlan] = []
    problems: list[Problem] = []
    entries = tables if isinstance(tables, list) else []
    for index, entry in enumerate(entries):
        plan, found = _plan_trial(entry, index, defaults)
        plan, duplicate = _with_unique_id(plan, plans, defaults.lines)
        plans.append(plan)
        problems += (*found, *duplicate)
    checked = [check_references(plan, plans, defaults.lines) for plan in plans]
    return tuple(plan for plan, _ in checked), (
        *problems,
        *(p for _, found in checked for p in found),
    )


def _plan_trial(
    entry: object, index: int, defaults: TrialDefaults
) -> tuple[TrialPlan, tuple[Problem, ...]]:
    table: Mapping[str, object] = entry if isinstance(entry, Mapping) else {}
    name = _name_of(table, index)
    place = Place(defaults.lines, "trial", index, name)
    kind, checked = _check_trial(table, place)
    trial = _trial(name, kind, checked.values)
    columns, column_problems = _columns(checked.values, defaults, place)
    path, path_problems = _path_of(trial, defaults.folder, place)
    problems = (*checked.problems, *column_problems, *path_problems, *_bad_part(trial, place))
    plan = TrialPlan(
        trial=trial,
        columns=columns,
        sampling_hz=_rate(checked.values) or defaults.sampling_hz,
        path=path,
        readable=not _forbidding(checked) and not _bad_part(trial, place),
        index=index,
        lost_roles=(defaults.lost_roles - columns.keys()) | _lost_roles(column_problems),
    )
    return plan, problems


def _lost_roles(problems: tuple[Problem, ...]) -> frozenset[str]:
    return frozenset(problem.key for problem in problems if problem.key)


def _name_of(table: Mapping[str, object], index: int) -> str:
    name = table.get("id")
    return name if isinstance(name, str) and name.strip() else f"trial-{index + 1}"


def _check_trial(table: Mapping[str, object], place: Place) -> tuple[str, Checked]:
    """The kind, and every key checked against those of all trials and those of the kind."""
    shared = key_tables()["trial"]
    kind = table.get("kind")
    if not isinstance(kind, str) or kind not in kind_tables():
        checked = check_table(
            table, KeyTable(shared.keys, open=True, guarded=tuple(shared.keys)), place
        )
        problem = () if "kind" in checked.missing else (_unknown_kind(kind, place),)
        return "other", Checked(checked.values, (*checked.problems, *problem), ("kind",))
    if kind == "values":
        return kind, _check_values(table, place)
    own = kind_tables()[kind]
    guarded = () if kind in _FREE_KINDS else (*shared.keys, *own.keys)
    known = KeyTable({**shared.keys, **own.keys}, own.open, guarded)
    if table.get("outcome") == "not done":
        known = _nothing_required(known)
    return kind, without_contradictions(kind, check_table(table, known, place), place)


def _check_values(table: Mapping[str, object], place: Place) -> Checked:
    """Typed values: the keys of their test, and no others."""
    shared = key_tables()["trial"].keys
    test = Key("test", "text", words=tuple(value_tables()), required=True)
    own = value_tables().get(str(table.get("test")), KeyTable({}, open=True))
    known = KeyTable({**shared, "test": test, **own.keys}, own.open)
    if table.get("outcome") == "not done":
        known = _nothing_required(known)
    return _with_its_units(check_table(table, known, place), table)


def _with_its_units(checked: Checked, table: Mapping[str, object]) -> Checked:
    """A unit that is not known stays beside its numbers: without it they would be of another."""
    wrong = [p.key for p in checked.problems if p.key and p.key.endswith("_unit")]
    units = {key: str(table[key]) for key in wrong if key in table}
    return replace(checked, values={**checked.values, **units})


def _nothing_required(known: KeyTable) -> KeyTable:
    needed = ("id", "kind")
    keys = {name: replace(k, required=name in needed) for name, k in known.keys.items()}
    return KeyTable(keys, known.open, known.guarded)


def _unknown_kind(kind: object, place: Place) -> Problem:
    near = get_close_matches(str(kind).lower(), kind_tables(), n=1)
    return make_problem(
        "unknown_kind",
        f"found kind {quote(kind)}",
        expected="one of " + ", ".join(kind_tables()),
        remedy=f'write kind = "{near[0]}"'
        if near
        else 'write kind = "other" to keep it unmeasured',
        found=kind,
        trial=place.trial,
        line=place.line("kind"),
        key="kind",
    )


def _forbidding(checked: Checked) -> bool:
    """Whether a missing or wrong key leaves the trial without a meaning."""
    wrong = {problem.key for problem in checked.problems if problem.code != "unknown_key"}
    return bool(set(checked.missing) - {"id"}) or bool(wrong & _DECIDING)


def _trial(name: str, kind: str, values: Mapping[str, object]) -> Trial:
    shared = key_tables()["trial"].keys
    return Trial(
        id=name,
        kind=kind,
        vision=_text(values, "vision"),
        stimulus={key: value for key, value in values.items() if key not in shared},
        file=_text(values, "file"),
        start_s=_number(values, "start_s"),
        stop_s=_number(values, "stop_s"),
        outcome=_text(values, "outcome") or "done",
        reason=_text(values, "reason"),
        repeat_of=_text(values, "repeat_of"),
        eye=_text(values, "eye") or "both",
        notes=_text(values, "notes"),
    )


def _text(values: Mapping[str, object], key: str) -> str | None:
    value = values.get(key)
    return None if value is None else str(value)


def _number(values: Mapping[str, object], key: str) -> float | None:
    value = values.get(key)
    return None if value is None else float(str(value))


def _rate(values: Mapping[str, object]) -> float | None:
    return _number(values, "sampling_hz")


def _columns(
    values: Mapping[str, object], defaults: TrialDefaults, place: Place
) -> tuple[dict[str, Column], tuple[Problem, ...]]:
    if "columns" not in values:
        return dict(defaults.columns), ()
    where = MapPlace(defaults.lines, "trial.columns", place.index, place.trial)
    own, problems = parse_columns(values["columns"], where)
    return {**defaults.columns, **own}, problems


def _path_of(trial: Trial, folder: Path, place: Place) -> tuple[Path | None, tuple[Problem, ...]]:
    if not needs_file(trial):
        return None, ()
    if trial.file is None:
        key = Key("file", "text")
        return None, () if _has_bad_file(place) else (missing_key(key, place),)
    try:
        path = (folder / trial.file.replace("\\", "/")).resolve()
        inside = path.is_relative_to(folder.resolve())
    except (OSError, ValueError, RuntimeError):
        inside = False
    return (path, ()) if inside else (None, (_outside(trial.file, place),))


def needs_file(trial: Trial) -> bool:
    """Whether a trial of this kind and outcome has samples."""
    return trial.outcome != "not done" and trial.kind != "values"


def _has_bad_file(place: Place) -> bool:
    """A file key that is there but wrong has its problem already."""
    return ("trial", place.index, "file") in place.lines.lines


def _outside(file: str, place: Place) -> Problem:
    return make_problem(
        "file_outside_session",
        f"the path {quote(file)} leaves the session folder",
        expected="a path inside the folder, such as trials/sin-0.04.csv",
        remedy="copy the file into the folder",
        found=file,
        trial=place.trial,
        line=place.line("file"),
        key="file",
    )


def _bad_part(trial: Trial, place: Place) -> tuple[Problem, ...]:
    start, stop = trial.start_s, trial.stop_s
    if start is None or stop is None or start < stop:
        return ()
    problem = make_problem(
        "wrong_part",
        f"the part starts at {start:g} s and stops at {stop:g} s",
        expected="stop_s greater than start_s",
        remedy="correct one of them",
        found=f"{start:g} to {stop:g}",
        trial=trial.id,
        line=place.line("stop_s"),
        key="stop_s",
    )
    return (problem,)


def _with_unique_id(
    plan: TrialPlan, earlier: list[TrialPlan], lines: TomlLines
) -> tuple[TrialPlan, tuple[Problem, ...]]:
    """A second trial of the same name is kept under another one, without its samples or values."""
    taken = {other.trial.id for other in earlier}
    if plan.trial.id not in taken:
        return plan, ()
    number = next(n for n in range(2, len(taken) + 3) if f"{plan.trial.id} ({n})" not in taken)
    problem = make_problem(
        "duplicate_trial_id",
        f"the id {quote(plan.trial.id)} is used by an earlier trial",
        expected="an id of its own for every trial",
        remedy="rename this trial (repeat_of joins repeats); it was not read",
        found=plan.trial.id,
        trial=plan.trial.id,
        line=lines.of("trial", "id", index=plan.index),
        key="id",
    )
    typed = plan.trial.kind == "values"
    stimulus = {} if typed else plan.trial.stimulus  # typed values are its samples
    trial = replace(plan.trial, id=f"{plan.trial.id} ({number})", stimulus=stimulus)
    return replace(plan, trial=trial, readable=False), (problem,)
