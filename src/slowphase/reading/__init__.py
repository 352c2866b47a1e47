"""Statements about the session, each with its evidence, limits and sources."""

from slowphase.reading.cautions import session_cautions, standing_cautions
from slowphase.reading.read import read
from slowphase.reading.statement import EvidenceItem, Statement, Verdict

__all__ = ["EvidenceItem", "Statement", "Verdict", "read", "session_cautions", "standing_cautions"]
