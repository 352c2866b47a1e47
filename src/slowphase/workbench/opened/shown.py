"""What is shown of a session with certain edits: its document, and each trial ready to be drawn."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from slowphase.analysis.document import failure_document, to_document
from slowphase.foundation.version import __version__
from slowphase.recording.trial import NOTHING_BY_HAND
from slowphase.report.session_figures import session_figures
from slowphase.signing.decisions import statement_keys
from slowphase.signing.record import digest_of
from slowphase.workbench.answers import json_text
from slowphase.workbench.traces import events
from slowphase.workbench.traces.grid import Grid
from slowphase.workbench.traces.impulses import impulse_count, impulses
from slowphase.workbench.traces.lines import Lines, lines_of

if TYPE_CHECKING:
    from collections.abc import Mapping

    from slowphase.analysis.result import Analysis
    from slowphase.foundation.errors import InputError
    from slowphase.measures.result import TrialResult
    from slowphase.recording.trial import Trial

Json = dict[str, Any]
GRADES = ("sound", "caution", "unusable")


@dataclass(frozen=True, slots=True)
class Shown:
    """A session as it is shown; plain data, the same whether it was just made or kept.

    ``trials`` maps a trial's id to the name under which what is drawn of it is kept.
    """

    key: str
    document: Json
    document_digest: str
    statement_keys: tuple[str, ...]
    figures: tuple[Json, ...]
    trials: Mapping[str, str]

    def as_kept(self) -> Json:
        """The same as plain data."""
        return {
            "document": self.document,
            "document_digest": self.document_digest,
            "statement_keys": list(self.statement_keys),
            "figures": list(self.figures),
            "trials": dict(self.trials),
        }


def shown_from(key: str, kept: Json) -> Shown:
    """What `Shown.as_kept` made."""
    return Shown(
        key,
        kept["document"],
        kept["document_digest"],
        tuple(kept["statement_keys"]),
        tuple(kept["figures"]),
        kept["trials"],
    )


def shown_of(key: str, analysis: Analysis, trials: Mapping[str, str]) -> Shown:
    """What is shown of an analysis."""
    document = to_document(analysis)
    return Shown(
        key,
        document,
        digest_of(document),
        statement_keys(analysis.statements),
        tuple(figure_entries(analysis)),
        trials,
    )


def shown_of_failure(key: str, error: InputError) -> Shown:
    """What is shown of a session of which nothing can be used: its problems."""
    document = failure_document(error.problems, __version__)
    return Shown(key, document, digest_of(document), (), (), {})


FIGURE = ("name", "label", "caption", "trial", "group")


def figure_entries(analysis: Analysis) -> list[Json]:
    """The figures of a session as `shapes.sessions.FigureEntry` has them."""
    return [{key: getattr(one, key) for key in FIGURE} for one in session_figures(analysis)]


@dataclass(frozen=True, slots=True)
class TrialTold:
    """What is told of one trial: each part as the text that is sent, so that it takes little room.

    ``channels`` are the ids of its lines, which lie on ``grid``.
    """

    name: str
    grid: Grid
    channels: tuple[str, ...]
    parts: Mapping[str, str]

    def as_kept(self) -> Json:
        """The same as plain data."""
        grid = [self.grid.start_s, self.grid.step_s, self.grid.samples]
        return {"grid": grid, "channels": list(self.channels), "parts": dict(self.parts)}


def told_from(name: str, kept: Json) -> TrialTold:
    """What `TrialTold.as_kept` made."""
    return TrialTold(name, Grid(*kept["grid"]), tuple(kept["channels"]), kept["parts"])


@dataclass(frozen=True, slots=True)
class TrialShown:
    """What is drawn of one trial: what is told of it, and its lines."""

    told: TrialTold
    lines: Lines


def trial_shown(name: str, recorded: Trial, used: Trial, result: TrialResult | None) -> TrialShown:
    """One trial: ``recorded`` before anything was left out, ``used`` with every edit."""
    lines = lines_of(recorded, result)
    parts = {
        "answer": _answer(recorded, used, result, lines, name),
        "folded": events.folded(result),
        "impulses": impulses(result),
    }
    texts = {part: json_text(told) for part, told in parts.items()}
    return TrialShown(TrialTold(name, lines.grid, tuple(lines.lines), texts), lines)


def _answer(
    recorded: Trial, used: Trial, result: TrialResult | None, lines: Lines, traces: str
) -> Json:
    """A trial as `shapes.trials.TrialAnswer` has it."""
    recording, grid = recorded.recording, lines.grid
    by_hand = used.recording.by_hand if used.recording else NOTHING_BY_HAND
    evidence = result.evidence if result else None
    changes = events.changes(result)
    found = impulse_count(result)
    return {
        "id": recorded.id,
        "kind": recorded.kind,
        "vision": recorded.vision,
        "outcome": used.outcome,
        "eye": used.eye,
        "traces": traces,
        "channels": [dict(line.told) for line in lines.lines.values()],
        "start_s": grid.start_s,
        "stop_s": grid.stop_s,
        "step_s": grid.step_s,
        "places": grid.samples,
        "sampling_hz": recording.sampling_hz if recording else None,
        "samples": int(recording.time_s.size) if recording else 0,
        "cycle_s": events.cycle_s(result),
        "cycles": events.cycles(result),
        "changes_s": [change["at_s"] for change in changes],
        "changes": changes,
        "impulses": found,
        "quick_phases": events.quick_phases(evidence, by_hand),
        "unused": events.unused(evidence),
        "by_hand": events.by_hand_entry(by_hand),
    }


def grade_counts(document: Json) -> dict[str, int]:
    """How many measures of a document carry each grade."""
    parts = [*document["trials"], *document["pairs"], *document["groups"]]
    found = Counter(measure["grade"] for part in parts for measure in part["measures"])
    return {grade: found[grade] for grade in GRADES}
