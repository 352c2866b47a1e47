"""Trials, groups and findings of a few words."""

from slowphase.measures.measure import Measure
from slowphase.measures.result import GroupResult, Quality, TrialResult
from slowphase.reading.findings import Findings
from tests.reading.sessions import ALERTED


def found(*parts, pairs=(), conditions=None):
    """Findings from trials and groups in any order."""
    trials = tuple(part for part in parts if isinstance(part, TrialResult))
    groups = tuple(part for part in parts if isinstance(part, GroupResult))
    told = ALERTED if conditions is None else conditions
    return Findings(trials, tuple(pairs), groups=groups, conditions=told)


def value(id_, name, number, half=None, unit="1", of=None, why=(), **more):
    """One measure; without a number it is unusable."""
    low, high = (None, None) if number is None or half is None else (number - half, number + half)
    grade = {"grade": "unusable"} if number is None else {}
    return Measure(f"{id_}/{of}/{name}", name, number, low, high, unit, of=of, why=why,
                   **grade, **more)  # fmt: skip


def trial(id_, kind, *measures, vision=None, quality_why=None, **stimulus):
    quality = None if quality_why is None else Quality(90.0, "unusable", quality_why)
    return TrialResult(id_, kind, vision, stimulus, "done", None, quality, measures)


def group(id_, kind, *measures, trials=()):
    return GroupResult(id_, kind, tuple(trials), measures)
