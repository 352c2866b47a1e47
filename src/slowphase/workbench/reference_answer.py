"""Reference sets as they are told and checked, and made of the clinic's healthy sessions."""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING, Any

from slowphase.foundation.errors import UsageError
from slowphase.foundation.version import __version__
from slowphase.reference.library import PREFERENCES, References, references_from
from slowphase.reference.sets import marks, reference_sets
from slowphase.report.labels import measure_name
from slowphase.report.reference_words import entry_stimulus, entry_values
from slowphase.workbench.shapes.references import (
    ReferenceEntryAnswer,
    ReferenceFile,
    ReferencesAnswer,
    ReferenceSetAnswer,
)

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from slowphase.reference.entry import ReferenceEntry
    from slowphase.reference.intervals.healthy import HealthySession
    from slowphase.workbench.house import House
    from slowphase.workbench.jobs import Job
    from slowphase.workbench.shapes.references import IntervalsAsked, ReferenceChecked

NO_MEASURE = "none of these sessions has a usable measure: choose others"


def references_answer(here: House) -> ReferencesAnswer:
    """All sets with their provenance, and the clinic's files."""
    known = here.room.references()
    return _answer(known, [
        ReferenceFile(name=file.name, text=file.text, added_at=file.at, added_by=file.by)
        for file in here.store.reference_files()
    ])  # fmt: skip


def checked(here: House, asked: ReferenceChecked) -> ReferencesAnswer:
    """The sets as they would be with one more file; raises `InputError` with all its faults."""
    texts = {file.name: file.text for file in here.store.reference_files()}
    texts[asked.name] = asked.text
    return _answer(together(texts), [])


def check_without(here: House, name: str) -> None:
    """Raises `InputError` where the other files cannot be read without this one."""
    texts = {file.name: file.text for file in here.store.reference_files()}
    if texts.pop(name, None) is not None:
        together(texts)


def together(texts: Mapping[str, str]) -> References:
    """The shipped sets and files of the clinic."""
    own = {name: text for name, text in texts.items() if name != PREFERENCES}
    return references_from(own, preferences=texts.get(PREFERENCES))


def _answer(known: References, files: list[ReferenceFile]) -> ReferencesAnswer:
    return ReferencesAnswer(prefer=list(known.prefer), sets=list(_sets(known)), files=files)


def _sets(known: References) -> Iterator[ReferenceSetAnswer]:
    shipped = {entry.set for entry in reference_sets()}
    for id_, entries in groupby(known.entries, key=lambda entry: entry.set):
        own = list(entries)
        yield ReferenceSetAnswer(
            id=id_,
            own=id_ not in shipped,
            source=own[0].source,
            population=own[0].population,
            mark=own[0].mark,
            mark_words=marks()[own[0].mark].text,
            entries=[_entry(entry) for entry in own],
        )


def _entry(entry: ReferenceEntry) -> ReferenceEntryAnswer:
    return ReferenceEntryAnswer(
        measure=entry.measure,
        label=measure_name(entry.measure, entry.definition),
        kind=entry.kind,
        of=entry.of,
        definition=entry.definition,
        values=entry_values(entry),
        stimulus=entry_stimulus(entry).lstrip(", "),
        n=entry.n,
        note=entry.note,
        not_placed=entry.not_placed,
    )


def build_intervals(here: House, asked: IntervalsAsked, job: Job) -> dict[str, Any]:
    """The clinic's own intervals of some sessions: the set's text and a page with its pictures."""
    from slowphase.reference.intervals.build import BuildOptions, build
    from slowphase.reference.intervals.healthy import collect
    from slowphase.reference.intervals.set_text import set_text
    from slowphase.report.intervals.page import render_intervals

    collected = collect(list(_healthy(here, asked.sessions, job)))
    if not collected.samples:
        raise UsageError(NO_MEASURE)
    options = BuildOptions(asked.without_outliers, asked.by_age, None, asked.apart)
    built = build(collected, options, progress=lambda m: job.tell(f"limits of {m}"))
    page = render_intervals(
        built, asked.set_id, __version__, progress=lambda m: job.tell(f"drawing {m}")
    )
    text = set_text(built, set_id=asked.set_id, version=__version__)
    return {"name": f"{asked.set_id}.toml", "text": text, "page": page}


def _healthy(here: House, sessions: Iterable[str], job: Job) -> Iterator[HealthySession]:
    from slowphase.reference.intervals.healthy import healthy_session

    wanted = list(dict.fromkeys(sessions))
    for number, session in enumerate(wanted):
        job.tell(f"session {number + 1} of {len(wanted)}", number / (len(wanted) + 1))
        analysis = here.room.analysis(session, job.tell)
        yield healthy_session(
            analysis.trials, analysis.pairs, analysis.groups, analysis.patient,
            day=analysis.date, conditions=analysis.conditions,
        )  # fmt: skip
