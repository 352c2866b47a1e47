"""The reading: every rule applied to the findings of one session."""

from collections.abc import Iterable, Mapping

from slowphase.measures.result import GroupResult, PairResult, TrialResult
from slowphase.reading.findings import Findings
from slowphase.reading.rule import apply
from slowphase.reading.rules import RULES
from slowphase.reading.statement import Statement
from slowphase.recording.session import Patient
from slowphase.reference.placement import Placement


def read(
    trials: Iterable[TrialResult],
    pairs: Iterable[PairResult],
    placements: Mapping[str, Placement],
    patient: Patient,
    conditions: Mapping[str, str | float] | None = None,
    *,
    groups: Iterable[GroupResult] = (),
) -> tuple[Statement, ...]:
    """The statements of a session, in the order in which a clinician reads them.

    Findings that the session has no trial for are left out, except the spontaneous nystagmus,
    on which the others depend: without a trial of it the reading says that it cannot tell.
    """
    findings = Findings(
        tuple(trials), tuple(pairs), placements, patient, conditions or {}, tuple(groups)
    )
    return apply(RULES, findings)
