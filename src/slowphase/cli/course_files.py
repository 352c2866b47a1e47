"""What the command ``course`` reads and writes."""

from __future__ import annotations

from typing import TYPE_CHECKING

from slowphase.cli.sessions import analyze_folder
from slowphase.cli.writing import as_text, put, show, write_text
from slowphase.foundation.errors import UsageError

if TYPE_CHECKING:
    from argparse import Namespace
    from collections.abc import Iterable
    from pathlib import Path

    from slowphase.analysis.result import Analysis
    from slowphase.cli.sessions import Say
    from slowphase.course.retest_build import Built
    from slowphase.course.timeline import Course


def analyze_folders(folders: Iterable[Path], say: Say) -> list[Analysis]:
    """Every session folder analysed; raises ``InputError`` where one cannot be used at all."""
    return [analyze_folder(folder, _of_folder(say, folder.name)) for folder in folders]


def _of_folder(say: Say, name: str) -> Say:
    return lambda what, part: say(f"{name}: {what}", part)


def course_of(asked: Namespace, say: Say) -> Course:
    """The course that the command was asked for."""
    from slowphase.course.events import read_events
    from slowphase.course.retest_file import read_retest
    from slowphase.course.timeline import follow

    retest = read_retest(asked.retest) if asked.retest else None
    events = read_events(asked.events) if asked.events else ()
    return follow(
        analyze_folders(asked.folders, say),
        retest=retest,
        events=events,
        between=tuple(asked.between) if asked.between else None,
        different_patients=asked.different_patients,
    )


def deliver_course(course: Course, *, as_json: bool, output: Path | None) -> None:
    """Print the summary or the document, or write it to a file."""
    from slowphase.analysis.document import to_json
    from slowphase.course.document import course_document
    from slowphase.report.course_terminal import course_view

    if as_json:
        put(to_json(course_document(course)), output)
    elif output is None:
        show(course_view(course))
    else:
        put(as_text(course_view(course)), output)


def write_course_report(course: Course, file: Path) -> None:
    """Write the page of a course."""
    from slowphase.report.course_page import render_course

    write_text(file, render_course(course))


def build_retest_file(asked: Namespace, say: Say) -> Built:
    """Build the clinic's retests from pairs of sessions and write them. Raises ``UsageError``."""
    from slowphase.course.retest_build import build_retest
    from slowphase.course.retest_file import retest_text

    if asked.output is None:
        raise UsageError("--build-retest needs a file to write: -o retest.toml")
    if asked.json or asked.report or asked.retest or asked.events or asked.between:
        raise UsageError("--build-retest goes with folders and -o alone")
    source = f"own retests: {asked.source}" if asked.source else "own retests"
    built = build_retest(analyze_folders(asked.folders, say), source=source)
    write_text(
        asked.output, retest_text(built.retest, ("Built by slowphase course --build-retest.",))
    )
    return built


def write_demo_courses(folder: Path, say: Say) -> list[Path]:
    """Write the invented courses, their pages and documents; returns the pages."""
    from slowphase.analysis.document import to_json
    from slowphase.cli.demo_courses import COURSES, EVENTS, RETEST, write_demo_course
    from slowphase.course.document import course_document
    from slowphase.course.events import read_events
    from slowphase.course.retest_file import read_retest
    from slowphase.course.timeline import follow

    pages = []
    for name in COURSES:
        say("making", name)
        target = write_demo_course(name, folder)
        folders = sorted(path for path in target.iterdir() if path.is_dir())
        course = follow(
            analyze_folders(folders, say),
            retest=read_retest(target / RETEST),
            events=read_events(target / EVENTS),
        )
        pages.append(folder / f"{target.name}.html")
        write_course_report(course, pages[-1])
        write_text(folder / f"{target.name}.json", to_json(course_document(course)))
    return pages
