"""Two invented patients over several sessions, with events and invented retests."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING, Any

from slowphase.cli.demo_sessions import demo_session, demo_table
from slowphase.recording.write import write_session

if TYPE_CHECKING:
    from collections.abc import Iterator

COURSES = ("course_ototoxic", "course_recovery")
EVENTS, RETEST = "events.toml", "retest.toml"


def write_demo_course(name: str, folder: Path) -> Path:
    """Write one patient's session folders, events and retests; returns the patient's folder."""
    table = demo_table(name)
    target = folder / table["folder"]
    for visit in visits(table):
        write_session(demo_session(visit), target / visit["session"]["date"].isoformat())
    (target / EVENTS).write_text(_events_text(table), encoding="utf-8", newline="\n")
    (target / RETEST).write_text(demo_retest_text(), encoding="utf-8", newline="\n")
    return target


def visits(table: dict[str, Any]) -> Iterator[dict[str, Any]]:
    """The scenario of each session of a course."""
    for visit in table["visit"]:
        yield {
            "patient": table["patient"],
            "conditions": table["conditions"],
            "session": {**table["session"], "date": visit["date"]},
            "person": visit["person"],
            "seed": visit["seed"],
        }


def demo_retest_text() -> str:
    """The invented retests."""
    return (files("slowphase.cli") / "demo" / RETEST).read_text(encoding="utf-8")


def _events_text(table: dict[str, Any]) -> str:
    """The events as a file that a user can imitate."""
    return "\n\n".join(
        f'[[event]]\ndate = {e["date"].isoformat()}\nlabel = "{e["label"]}"\nkind = "{e["kind"]}"'
        for e in table["event"]
    ) + "\n"  # fmt: skip
