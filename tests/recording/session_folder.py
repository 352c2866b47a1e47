"""A small builder of session folders for the tests."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from slowphase.foundation.problem import Problem
from slowphase.recording.session import Session
from slowphase.recording.trial import Trial

COLUMNS = """\
[columns]
time          = { name = "t", unit = "s" }
head_velocity = { name = "chair", unit = "deg/s" }
eye_h_right   = { name = "Rx", unit = "deg" }
eye_v_right   = { name = "Ry", unit = "deg" }
eye_h_left    = { name = "Lx", unit = "deg" }
eye_v_left    = { name = "Ly", unit = "deg" }
"""
HEAD = """\
schema = 1

[patient]
code = "K-0417"
age_years = 57
sex = "female"

[session]
date = 2026-03-02

"""


def sinusoid_trace(
    *,
    frequency_hz: float = 0.16,
    peak_velocity_deg_s: float = 60.0,
    duration_s: float = 25.0,
    sampling_hz: float = 100.0,
) -> dict[str, NDArray[np.float64]]:
    """Chair and eyes of a sinusoid: gain 0.5, no lead, a little noise on the eyes."""
    time_s = np.arange(round(duration_s * sampling_hz)) / sampling_hz
    angle = 2 * np.pi * frequency_hz * time_s
    noise = np.random.default_rng(1).normal(0.0, 0.05, (4, time_s.size))
    eye = 0.5 * peak_velocity_deg_s / (2 * np.pi * frequency_hz) * np.cos(angle)
    return {
        "t": time_s,
        "chair": peak_velocity_deg_s * np.sin(angle),
        "Rx": eye + noise[0],
        "Ry": noise[1],
        "Lx": eye + noise[2],
        "Ly": noise[3],
    }


def rest_trace() -> dict[str, NDArray[np.float64]]:
    """The eyes of the sinusoid with a chair that stands."""
    trace = sinusoid_trace()
    return {**trace, "chair": np.zeros_like(trace["t"])}


def step_trace(*, velocity_deg_s: float = 100.0) -> dict[str, NDArray[np.float64]]:
    """Chair and eyes of a spin: 2 s rest, 1 s ramp, 20 s spin, 1 s stop, 20 s rest."""
    trace = sinusoid_trace(duration_s=44.0)
    corners = [0.0, 2.0, 3.0, 23.0, 24.0, 44.0]
    speeds = [0.0, 0.0, velocity_deg_s, velocity_deg_s, 0.0, 0.0]
    return {**trace, "chair": np.interp(trace["t"], corners, speeds)}


def as_csv(
    trace: Mapping[str, NDArray[np.float64]],
    *,
    delimiter: str = ",",
    decimal: str = ".",
    digits: int = 4,
    header: bool = True,
) -> str:
    """A trace as text."""
    rows = np.column_stack(list(trace.values()))
    lines = [delimiter.join(trace)] if header else []
    lines += [delimiter.join(f"{value:.{digits}f}" for value in row) for row in rows]
    text = "\n".join(lines) + "\n"
    return text.replace(".", decimal) if decimal != "." else text


@dataclass
class SessionFolder:
    """A session folder that is written bit by bit; ``path`` is its place."""

    path: Path
    head: str = HEAD
    columns: str = COLUMNS
    trials: list[str] = field(default_factory=list)

    def write_file(self, name: str, content: str | bytes) -> None:
        target = self.path / name
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_bytes(content if isinstance(content, bytes) else content.encode())

    def add_trial(self, *lines: str) -> None:
        self.trials.append("\n".join(("[[trial]]", *lines, "")))

    def add_sinusoid(
        self, name: str, *extra: str, content: str | bytes | None = None, file: str | None = None
    ) -> None:
        file = file or f"trials/{name}.csv"
        self.write_file(file, as_csv(sinusoid_trace()) if content is None else content)
        self.add_trial(*sinusoid_keys(name, file), *extra)

    def text(self) -> str:
        return self.head + self.columns + "\n" + "\n".join(self.trials)

    def write(self) -> Path:
        self.write_file("session.toml", self.text())
        return self.path

    def line_of(self, text: str) -> int:
        """The line (from 1) of session.toml that holds ``text``."""
        lines: Sequence[str] = self.text().splitlines()
        return next(number for number, line in enumerate(lines, start=1) if text in line)


def sinusoid_keys(name: str, file: str) -> tuple[str, ...]:
    return (
        f'id = "{name}"',
        'kind = "sinusoid"',
        f'file = "{file}"',
        'vision = "dark"',
        "frequency_hz = 0.16",
        "peak_velocity_deg_s = 60",
    )


REST = as_csv(rest_trace())


def trial_of(session: Session, name: str) -> Trial:
    """The trial of that id."""
    return next(trial for trial in session.trials if trial.id == name)


def the_one_problem(session: Session, code: str | None = None) -> Problem:
    """The only problem of a session, a sentence in one line, with the sound trial still there."""
    assert len(session.problems) == 1, session.problems
    assert trial_of(session, "sound").recording is not None
    problem = session.problems[0]
    assert code in (None, problem.code)
    assert problem.message.count("\n") == 0
    assert problem.message.endswith(".")
    return problem
