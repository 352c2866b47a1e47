"""The reading: every rule applied to the findings of one session."""

from slowphase.reading.findings import Findings
from slowphase.reading.rule import apply
from slowphase.reading.rules import RULES
from slowphase.reading.statement import Statement


def read(findings: Findings) -> tuple[Statement, ...]:
    """The statements of a session, in the order in which a clinician reads them.

    Findings that the session has no trial for are left out, except the spontaneous nystagmus,
    on which the others depend: without a trial of it the reading says that it cannot tell.
    """
    return apply(RULES, findings)
