"""The measures of an analysis as a table."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from slowphase.measures.result import GroupResult, PairResult

if TYPE_CHECKING:
    import polars as pl

    from slowphase.analysis.result import Analysis, Part
    from slowphase.measures.measure import Measure

TEXT = (
    "patient", "trial", "kind", "vision", "id", "name", "of", "exciting", "unit", "definition",
    "grade", "why", "reference",
)  # fmt: skip
NUMBERS = ("value", "low", "high", "percentile", "z", "beyond_limit")


def to_polars(analysis: Analysis) -> pl.DataFrame:
    """One row for each measure, in order; missing numbers are null, ``why`` is joined by spaces.

    A pair's ``trial`` is its dark and its fixation trial, joined by ``~``, and a group's all that
    took part.
    """
    import polars as pl

    rows = [_row(analysis, part, m) for part in analysis.parts() for m in part.measures]
    schema: dict[str, Any] = dict.fromkeys(TEXT, pl.String)
    schema |= dict.fromkeys(NUMBERS, pl.Float64) | {"date": pl.Date}
    return pl.DataFrame(rows, schema=schema)


def _row(analysis: Analysis, part: Part, measure: Measure) -> dict[str, Any]:
    placement = analysis.placements.get(measure.id)
    trial, vision = _place(part)
    return {
        "patient": analysis.patient.code,
        "date": analysis.date,
        "trial": trial,
        "kind": part.kind,
        "vision": vision,
        "id": measure.id,
        "name": measure.name,
        "of": measure.of,
        "exciting": measure.exciting,
        "value": measure.value,
        "low": measure.low,
        "high": measure.high,
        "unit": measure.unit,
        "definition": measure.definition,
        "grade": measure.grade,
        "why": " ".join(measure.why),
        "reference": placement.set if placement else None,
        "percentile": placement.percentile if placement else None,
        "z": placement.z if placement else None,
        "beyond_limit": placement.beyond_limit if placement else None,
    }


def _place(part: Part) -> tuple[str, str | None]:
    if isinstance(part, PairResult):
        return f"{part.dark}~{part.fixation}", None
    if isinstance(part, GroupResult):
        return "~".join(part.trials), None
    return part.id, part.vision
