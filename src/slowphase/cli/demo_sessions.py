"""Three invented patients as session folders that a user can open and imitate."""

import tomllib
from collections.abc import Mapping
from importlib.resources import files
from pathlib import Path
from typing import Any

from slowphase.cli.scenario_description import layout_from
from slowphase.cli.simulated_session import session_from
from slowphase.physiology.scenario import run, scenario_from
from slowphase.recording.session import Patient, Session
from slowphase.recording.write import write_session

PATIENTS = ("healthy", "one_sided", "two_sided")


def write_demo_sessions(folder: Path) -> list[Path]:
    """Write each patient's session into a folder of its own; the same bytes every time."""
    return [write_demo_session(demo_table(name), Path(folder)) for name in PATIENTS]


def demo_table(name: str) -> dict[str, Any]:
    """The scenario file of one invented patient."""
    source = files("slowphase.cli") / "demo" / f"{name}.toml"
    return tomllib.loads(source.read_text(encoding="utf-8"))


def demo_session(table: Mapping[str, Any]) -> Session:
    """The patient's session in memory."""
    session = table["session"]
    return session_from(
        run(scenario_from(table)),
        Patient(**table["patient"]),
        session["date"],
        notes={key: text for key, text in session.items() if key != "date"},
        conditions=table["conditions"],
    )


def write_demo_session(table: Mapping[str, Any], folder: Path) -> Path:
    """Write one patient's session into a folder of its own in ``folder``; returns it."""
    target = folder / table["folder"]
    write_session(demo_session(table), target, layout=layout_from(table.get("layout", {})))
    return target
