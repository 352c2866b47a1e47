"""A nystagmus whose shape is not that of a vestibular jerk nystagmus: nothing else may be read.

Made only where a trial shows such a waveform; not every congenital nystagmus is found.
"""

from collections.abc import Iterator

from slowphase.measures.result import TrialResult
from slowphase.reading.findings import Findings
from slowphase.reading.rule import Judgement, Rule, evidence

CODE = "waveform_not_interpretable"


def judge(findings: Findings) -> Iterator[Judgement]:
    """One judgement for the session, where any trial shows such a waveform."""
    shown = [trial for trial in findings.trials if is_other(trial)]
    if shown:
        measures = [m for t in shown for m in t.measures if m.name == "velocity" and CODE in m.why]
        yield Judgement(
            outcome="other",
            verdict="holds",
            words={"trials": ", ".join(trial.id for trial in shown)},
            strength="moderate",
            evidence=tuple(evidence(m) for m in measures),
        )


def is_other(trial: TrialResult) -> bool:
    """Whether a trial's waveform is none of a vestibular jerk nystagmus."""
    return trial.quality is not None and CODE in trial.quality.why


WAVEFORM = Rule("waveform_other", judge)
