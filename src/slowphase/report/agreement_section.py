"""“Do the tests agree?” as a section of the page and as a block of the terminal."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, Any

from slowphase.reading.agreement.compare import agreement_texts
from slowphase.report.agreement_figure import agreement_figure
from slowphase.report.drawing import at_once, inline
from slowphase.report.terminal_parts import heading, plain

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from rich.console import RenderableType

    from slowphase.analysis.result import Analysis
    from slowphase.reading.agreement import Comparison
    from slowphase.report.drawing import Drawn

TITLE = "Do the tests agree?"
MARKS = {"agree": "=", "disagree": "≠", "cannot_tell": "?", "not_tested": "·"}


def agreement_rows(
    analysis: Analysis,
    evidence: Callable[[Comparison], list[dict[str, Any]]],
    *,
    drawn: Drawn = at_once,
) -> list[dict[str, Any]]:
    """The comparisons of a page, with their pictures; what was not tested has none.

    ``evidence`` gives the entries of a comparison's evidence with their links.
    """
    return [
        {
            "found": found,
            "shown": verdict_words(found),
            "figure": inline(drawn(f"agreement-{found.code}", partial(agreement_figure, found))),
            "evidence": evidence(found),
            "open": found.heed,
        }
        for found in analysis.agreements
        if found.verdict != "not_tested"
    ]


def not_tested(analysis: Analysis) -> list[str]:
    """The titles of what was not tested, with the reason."""
    return [f"{f.title}: {f.text}" for f in analysis.agreements if f.verdict == "not_tested"]


def verdict_words(found: Comparison) -> str:
    """A verdict as it is shown."""
    return str(agreement_texts()["shown"][found.verdict])


def agreement_terminal(analysis: Analysis) -> Iterator[RenderableType]:
    """Disagreements and red herrings in full, the rest in one line for each verdict.

    What stands at the head of the text, since it concerns every number, is only named here.
    """
    if not analysis.agreements:
        return
    yield heading(TITLE)
    told = {found.code for found in analysis.incoherences}
    for found in analysis.agreements:
        if found.heed:
            yield plain(f"{MARKS[found.verdict]} {found.title} – {verdict_words(found)}",
                        style="bold")  # fmt: skip
            above = found.code in told
            yield plain("See “Where the trials do not agree”." if above else found.text, indent=2)
    for verdict in ("agree", "cannot_tell", "not_tested"):
        titles = [f.title for f in analysis.agreements if f.verdict == verdict and not f.heed]
        if titles:
            words = str(agreement_texts()["shown"][verdict])
            yield plain(f"{MARKS[verdict]} {words[:1].upper()}{words[1:]}: {'; '.join(titles)}.")
