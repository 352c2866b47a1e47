"""The reading: every rule applied to the findings of one session."""

from dataclasses import replace

from slowphase.reading.cautions import caution
from slowphase.reading.conditions import condition_table
from slowphase.reading.findings import Findings
from slowphase.reading.rule import apply
from slowphase.reading.rules import RULES
from slowphase.reading.statement import Statement

CALIBRATION = "calibration_fits_not"


def read(findings: Findings) -> tuple[Statement, ...]:
    """The statements of a session, in the order in which a clinician reads them.

    Findings that the session has no trial for are left out, except the spontaneous nystagmus,
    on which the others depend: without a trial of it the reading says that it cannot tell. Where
    a calibration does not fit, statements on sizes and speeds of eye movements say so.
    """
    statements = apply(RULES, findings)
    if not any(s.code == CALIBRATION and s.verdict == "holds" for s in statements):
        return statements
    return tuple(_doubted(s) if _is_scaled(s) else s for s in statements)


def _is_scaled(statement: Statement) -> bool:
    """Whether a wrong size of eye movements changes what is stated."""
    return statement.code in condition_table()["scale"]["statements"]


def _doubted(statement: Statement) -> Statement:
    return replace(statement, cautions=(*statement.cautions, caution("scale")))
