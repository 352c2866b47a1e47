"""A new signed version of a reading: its page, and the record that covers it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from slowphase.report.drawing import at_once
from slowphase.report.page import render_page
from slowphase.signing.record import freeze, seal, signed_reading, since

if TYPE_CHECKING:
    from collections.abc import Callable

    from slowphase.analysis.result import Analysis
    from slowphase.report.clinic import Clinic
    from slowphase.report.drawing import Drawn
    from slowphase.signing.decisions import Decisions
    from slowphase.signing.record import Record
    from slowphase.signing.signature import Signature


@dataclass(frozen=True, slots=True)
class NewVersion:
    """A version that is made and not kept yet."""

    signature: Signature
    page: str
    record_text: str


def sign_reading(
    analysis: Analysis,
    decisions: Decisions,
    signature: Signature,
    last: Record | None,
    *,
    clinic: Clinic | None = None,
    progress: Callable[[str], None] | None = None,
    drawn: Drawn = at_once,
) -> NewVersion:
    """Freeze a reading and make its page; ``last`` is the version that it replaces.

    The rest is as in `render_page`.

    Raises `UsageError` where a decision does not fit the reading.
    """
    if last is not None:
        signature = since(last, analysis, decisions, signature)
    frozen = freeze(analysis, decisions, signature)
    page = render_page(
        analysis,
        clinic=clinic,
        signed=signed_reading(frozen, decisions, signature),
        progress=progress,
        drawn=drawn,
    )
    return NewVersion(signature, page, seal(frozen, page))
