"""Read a session folder: every trial that can be read, and every problem met."""

import hashlib
from collections import deque
from collections.abc import Callable, Generator, Iterable, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing
from dataclasses import replace
from pathlib import Path

from slowphase.foundation.errors import InputError
from slowphase.foundation.problem import Problem
from slowphase.recording.key_times import with_times_checked
from slowphase.recording.plan import SessionPlan, TrialPlan
from slowphase.recording.read_trial import read_trial
from slowphase.recording.readers.layout import Fault
from slowphase.recording.report_problem import SESSION_FILE
from slowphase.recording.session import Session
from slowphase.recording.session_file import parse_session_file, unusable
from slowphase.recording.trace_file import TraceFile, open_trace
from slowphase.recording.trial import Recording

_FAULTS_OF_THE_MAP = (
    "unknown_column",
    "unit_contradicts",
    "no_clock",
    "shared_column",
)
FILES_AT_ONCE = 2  # parsing leaves the interpreter to others; more only share two cores
TRACE_SUFFIXES = (".csv", ".tsv", ".txt", ".parquet")
Progress = Callable[[str], None]


def read_session(
    path: str | Path, *, text: str | None = None, progress: Progress | None = None
) -> Session:
    """Read a session from its folder, or from the session.toml in it.

    ``text`` stands for the session.toml of a folder that has none yet. ``progress`` is told the
    name of each trace file when its turn comes.

    Returns the session with all its trials; a trial whose samples cannot be used has no
    recording, and ``problems`` says why. Raises InputError, which carries all problems, when the
    folder or its session.toml cannot be used at all or not one trial can.
    """
    folder, content = _open_session(Path(path)) if text is None else (Path(path), text.encode())
    plan = parse_session_file(content, folder)
    if not plan.trials:
        raise unusable(
            "no_trials",
            "the session has no trials",
            expected="at least one [[trial]]",
            remedy="add a [[trial]] with id, kind and file",
        )
    recordings, found, digests = _read_files(plan, progress or _say_nothing)
    session = _session(plan, recordings, found, _digest(content, digests))
    if not any(_counts(trial.kind, trial.outcome, trial.recording) for trial in session.trials):
        raise InputError(session.problems)
    return session


def _open_session(path: Path) -> tuple[Path, bytes]:
    try:
        folder = path.parent if path.is_file() else path
        file = path if path.is_file() else path / SESSION_FILE
        if path.is_file() and path.suffix.lower() in TRACE_SUFFIXES:
            raise _is_trace(path)
        if not file.is_file():
            raise _no_session(path)
        return folder, file.read_bytes()
    except (OSError, ValueError) as error:
        raise _no_session(path) from error


def _is_trace(path: Path) -> InputError:
    return unusable(
        "missing_session_file",
        f"{path.name} is a trace file",
        expected="a folder with a session.toml, or that file",
        remedy="name the session's folder; `slowphase columns` proposes a column map for a trace",
    )


def _no_session(path: Path) -> InputError:
    try:
        is_folder = path.is_dir()
    except (OSError, ValueError):
        is_folder = False
    what = f"the folder {path.name} holds no readable session.toml"
    return unusable(
        "missing_session_file",
        what if is_folder else f"there is no folder {path.name}",
        expected="a folder with a session.toml",
        remedy="write one as docs/session-folder.md says",
    )


def _say_nothing(_message: str) -> None:
    return None


Found = dict[int, tuple[Problem, ...]]


def _read_files(
    plan: SessionPlan, progress: Progress
) -> tuple[dict[int, Recording], Found, dict[str, bytes]]:
    """The recordings and problems by the number of the trial, and a digest for each file."""
    recordings: dict[int, Recording] = {}
    problems: Found = {}
    digests: dict[str, bytes] = {}
    with closing(_opened(_by_file(plan.trials), progress)) as opened:
        for trials, trace in opened:
            if isinstance(trace, Fault):
                problems[trials[0].index] = _file_problem(trace, trials)
                continue
            digests[str(trials[0].trial.file)] = trace.sha256
            for trial in trials:
                recording, problems[trial.index] = read_trial(trial, trace)
                if recording is not None:
                    recordings[trial.index] = recording
    return recordings, problems, digests


def _opened(
    groups: dict[Path, list[TrialPlan]], progress: Progress
) -> Generator[tuple[list[TrialPlan], TraceFile | Fault], None, None]:
    """The trials of each file and what is in it, in order; the next files are read meanwhile.

    Who stops before the end waits for the files that are being read, and for no others.
    """
    readers = ThreadPoolExecutor(FILES_AT_ONCE)
    try:
        ahead = deque(
            (trials, readers.submit(open_trace, path, trials)) for path, trials in groups.items()
        )
        while ahead:
            trials, trace = ahead.popleft()
            progress(str(trials[0].trial.file))
            yield trials, trace.result()
    finally:
        readers.shutdown(cancel_futures=True)


def _by_file(trials: Sequence[TrialPlan]) -> dict[Path, list[TrialPlan]]:
    groups: dict[Path, list[TrialPlan]] = {}
    for trial in trials:
        if trial.path is not None and trial.readable:
            groups.setdefault(trial.path, []).append(trial)
    return groups


def _file_problem(fault: Fault, trials: Sequence[TrialPlan]) -> tuple[Problem, ...]:
    problem = fault.problem(file=trials[0].trial.file, trial=trials[0].trial.id)
    return (_with_others(problem, [trial.trial.id for trial in trials[1:]]),)


def _session(
    plan: SessionPlan, recordings: dict[int, Recording], found: Found, digest: str
) -> Session:
    checked = [
        with_times_checked(replace(trial.trial, recording=recordings.get(trial.index)))
        for trial in plan.trials
    ]
    problems = [problem for index in sorted(found) for problem in found[index]]
    problems += [problem for _, outside in checked for problem in outside]
    return Session(
        patient=plan.patient,
        date=plan.date,
        trials=tuple(trial for trial, _ in checked),
        problems=(*plan.problems, *_once_each(problems)),
        notes=plan.notes,
        conditions=plan.conditions,
        input_digest=digest,
    )


def _once_each(problems: Iterable[Problem]) -> list[Problem]:
    """The same fault of the column map in several files is one problem."""
    groups: dict[object, list[Problem]] = {}
    for problem in problems:
        shared = problem.code in _FAULTS_OF_THE_MAP
        same = (problem.code, problem.key, problem.found, problem.expected)
        groups.setdefault(same if shared else id(problem), []).append(problem)
    return [_with_others(group[0], [str(p.trial) for p in group[1:]]) for group in groups.values()]


def _with_others(problem: Problem, others: Sequence[str]) -> Problem:
    if not others:
        return problem
    names = ", ".join(f'"{other}"' for other in others)
    message = f"{problem.message.removesuffix('.')} (the same holds for {names})."
    return replace(problem, message=message)


def _digest(content: bytes, files: dict[str, bytes]) -> str:
    """SHA-256 over session.toml and, by name, the SHA-256 of each trace file that was read."""
    digest = hashlib.sha256(content)
    for name in sorted(files):
        digest.update(name.encode() + b"\0" + files[name])
    return digest.hexdigest()


def _counts(kind: str, outcome: str, recording: Recording | None) -> bool:
    """Whether a trial carries something: samples, numbers, or why it was not done."""
    return recording is not None or kind == "values" or outcome == "not done"
