"""The wanted columns of a Parquet trace as arrays."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from slowphase.foundation.arrays import FloatArray
from slowphase.recording.readers.encoding import unreadable
from slowphase.recording.readers.layout import (
    MAX_VALUES,
    MISSING_MARKS,
    Fault,
    Layout,
    TextCell,
    TraceTable,
)

if TYPE_CHECKING:
    import polars as pl


def read_parquet_table(path: Path, layout: Layout, wanted: Sequence[int]) -> TraceTable | Fault:
    """Columns ``wanted`` (places from 0) of a Parquet file; time stamps and durations in s."""
    import polars as pl

    names = [layout.names[column] for column in wanted]
    try:
        n_rows = int(pl.scan_parquet(path).select(pl.len()).collect().item())
        if n_rows * max(len(wanted), 1) > MAX_VALUES:
            return _too_many_rows(n_rows)
        frame = pl.read_parquet(path, columns=names)
    except (pl.exceptions.PolarsError, OSError, ValueError) as error:
        return unreadable(f"not a whole Parquet file: {str(error)[:80]}")
    columns: dict[int, FloatArray] = {}
    texts: list[TextCell] = []
    for place, name in zip(wanted, names, strict=True):
        columns[place], found = _numbers(frame[name], place)
        texts += found
    return TraceTable(columns, n_rows, tuple(texts))


def _numbers(series: "pl.Series", place: int) -> tuple[FloatArray, list[TextCell]]:
    import polars as pl

    if series.dtype.is_temporal():
        return _floats(series.cast(pl.Int64), _ticks_per_s(series.dtype)), []
    numbers = series.cast(pl.Float64, strict=False) if series.dtype != pl.Null else None
    if numbers is None:
        return np.full(len(series), np.nan), []
    bad = _texts(series, numbers, place) if series.dtype == pl.String else []
    return _floats(numbers, 1.0), bad


def _texts(series: "pl.Series", numbers: "pl.Series", place: int) -> list[TextCell]:
    known = series.str.strip_chars().str.to_lowercase().is_in(list(MISSING_MARKS))
    rows = np.flatnonzero((numbers.is_null() & series.is_not_null() & ~known).to_numpy())
    return [TextCell(int(row), place, None, str(series[int(row)])) for row in rows]


def _ticks_per_s(dtype: "pl.DataType") -> float:
    unit = getattr(dtype, "time_unit", None)
    return {"ms": 1e3, "us": 1e6, "ns": 1e9}.get(str(unit), 1e9)


def _floats(series: "pl.Series", ticks: float) -> FloatArray:
    import polars as pl

    numbers = series.cast(pl.Float64).fill_null(float("nan"))
    values = np.array(numbers.to_numpy(), dtype=np.float64) / ticks
    values[np.isinf(values)] = np.nan
    return values


def _too_many_rows(n_rows: int) -> Fault:
    return Fault(
        "file_too_large",
        f"the file has {n_rows} rows",
        expected=f"at most {MAX_VALUES} samples in the columns used",
        remedy="export each trial alone",
        found=f"{n_rows} rows",
    )
