"""The wanted columns of a text trace as arrays, with every text that stands where a number should.

A block whose cells are all numbers or known missing marks takes polars' typed reader. Only a block
where that fails is read as text, to find the cells and lines that are at fault.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from slowphase.foundation.arrays import BoolArray, FloatArray, IntArray
from slowphase.recording.readers.blocks import Block, read_blocks
from slowphase.recording.readers.cut import LINES_BEFORE, cut_fault
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

MAX_TEXT_CELLS = 100_000
MAX_FOOTER_LINES = 20


@dataclass(slots=True)
class _BadCells:
    """Rows of a block with text in a number column, and the first texts."""

    rows: IntArray
    texts: list[str]


@dataclass(slots=True)
class _Gathered:
    """The parts of the columns while the blocks go by."""

    parts: dict[int, list[FloatArray]]
    n_rows: int = 0
    n_bytes: int = 0
    text_cells: list[TextCell] = field(default_factory=list)
    n_text_cells: int = 0
    truncated: Fault | None = None
    codes: dict[str, float] = field(default_factory=dict)
    clock_from_text: bool = False
    lines_before: list[str] = field(default_factory=list)


def read_text_table(
    path: Path, layout: Layout, wanted: Sequence[int], *, clock: int | None, coded: Sequence[int]
) -> TraceTable | Fault:
    """Columns ``wanted`` (places from 0). ``clock`` may hold times of day, ``coded`` words.

    Words of coded columns are numbered from 1 in the order in which they come. Rows in which all
    wanted cells are empty are left out where there is a clock.
    """
    gathered = _Gathered({column: [] for column in wanted})
    for block in read_blocks(path, layout):
        if isinstance(block, Fault):
            return block
        if block.content:
            _add_block(block, layout, gathered, clock=clock, coded=coded)
        if gathered.n_text_cells > MAX_TEXT_CELLS:
            return _all_text(gathered)
        gathered.n_bytes += len(block.content)
        expected_rows = gathered.n_rows * _size(path, layout) / max(gathered.n_bytes, 1)
        if expected_rows * max(len(wanted), 1) > MAX_VALUES:
            return _too_many(round(expected_rows))
    columns = {column: _joined(parts) for column, parts in gathered.parts.items()}
    n_rows = gathered.n_rows - _footer_rows(columns, gathered)
    return TraceTable(
        columns={column: values[:n_rows] for column, values in columns.items()},
        n_rows=n_rows,
        text_cells=tuple(cell for cell in gathered.text_cells if cell.row < n_rows),
        truncated=gathered.truncated,
        clock_from_text=gathered.clock_from_text,
    )


def _add_block(
    block: Block, layout: Layout, gathered: _Gathered, *, clock: int | None, coded: Sequence[int]
) -> None:
    block = _without_cut_line(block, layout, gathered)
    if not block.content:
        return
    wanted = tuple(gathered.parts)
    values, bad = _parse_numbers(block.content, layout, wanted), _no_cells(wanted)
    if values is None:
        texts = _parse_texts(block.content, layout, wanted)
        values, bad = _numbers_of_texts(texts, wanted, clock, coded, gathered.codes)
        gathered.clock_from_text |= clock is not None and _holds_clocks(texts, clock)
    keep = _kept_rows(block.content, values, clock)
    for cells in bad.values():
        keep[cells.rows] = True
    _note_text_cells(bad, keep, block, gathered)
    for column in wanted:
        gathered.parts[column].append(values[column] if keep.all() else values[column][keep])
    gathered.n_rows += int(keep.sum())


def _no_cells(wanted: Sequence[int]) -> dict[int, _BadCells]:
    return {column: _BadCells(np.empty(0, dtype=np.int64), []) for column in wanted}


def _parse_numbers(
    content: bytes, layout: Layout, wanted: Sequence[int]
) -> dict[int, FloatArray] | None:
    import polars as pl

    try:
        frame = _read(content, layout, wanted, pl.Float64(), layout.marks)
    except (pl.exceptions.PolarsError, ValueError):
        return None
    return _float_columns(frame, wanted)


def _float_columns(frame: "pl.DataFrame", wanted: Sequence[int]) -> dict[int, FloatArray]:
    """The columns as arrays that lie one behind the other: one copy of the frame serves all."""
    values: FloatArray = frame.to_numpy(order="fortran", writable=True)
    return {column: _finite_or_nan(values[:, place]) for place, column in enumerate(wanted)}


def _read(
    content: bytes,
    layout: Layout,
    wanted: Sequence[int],
    dtype: "pl.DataType",
    marks: Sequence[str],
) -> "pl.DataFrame":
    """Cells of one type. The first row sets the columns: where it is not full, one is put there."""
    import polars as pl

    separator = layout.delimiter or "\x1f"
    end = content.find(b"\n")
    is_full = end > 0 and content.count(separator.encode(), 0, end) == layout.n_columns - 1
    full_row = separator.join(["0"] * layout.n_columns).encode() + b"\n"
    frame = pl.read_csv(
        content if is_full else full_row + content,
        has_header=False,
        schema={_name(place): dtype for place in range(layout.n_columns)},
        columns=[_name(column) for column in wanted],
        separator=separator,
        quote_char=None,
        null_values=list(marks) or None,
        truncate_ragged_lines=True,
        encoding="utf8" if layout.encoding.startswith(("utf-8", "utf-16")) else "utf8-lossy",
    )
    return frame if is_full else frame.slice(1)


def _name(place: int) -> str:
    return f"column_{place + 1}"


def _floats(series: "pl.Series") -> FloatArray:
    return _finite_or_nan(series.to_numpy(writable=True))


def _finite_or_nan(values: FloatArray) -> FloatArray:
    """The same array, in which what is infinite was made NaN."""
    endless = np.isinf(values)
    if endless.any():
        values[endless] = np.nan
    return values


def _parse_texts(content: bytes, layout: Layout, wanted: Sequence[int]) -> "pl.DataFrame":
    import polars as pl

    plain = content.decode("utf-8", errors="replace").encode()
    return _read(plain, layout, wanted, pl.String(), ())


def _numbers_of_texts(
    texts: "pl.DataFrame",
    wanted: Sequence[int],
    clock: int | None,
    coded: Sequence[int],
    codes: dict[str, float],
) -> tuple[dict[int, FloatArray], dict[int, _BadCells]]:
    values: dict[int, FloatArray] = {}
    bad = _no_cells(wanted)
    for column in wanted:
        series = texts[_name(column)].str.strip_chars().fill_null("")
        values[column], left = _cast(series, column == clock)
        if column in coded:
            _number_words(values[column], series, left, codes)
        else:
            bad[column] = _BadCells(left, _texts_at(series, left[:MAX_TEXT_CELLS]))
    return values, bad


def _cast(series: "pl.Series", may_be_clock: bool) -> tuple[FloatArray, IntArray]:
    """Numbers, NaN for missing marks and for the texts whose rows are returned beside them."""
    import polars as pl

    numbers = series.cast(pl.Float64, strict=False)
    unread = (numbers.is_null() & ~series.str.to_lowercase().is_in(list(MISSING_MARKS))).to_numpy()
    values = _floats(numbers)
    rows = np.flatnonzero(unread)
    if may_be_clock and rows.size:
        times = np.array([_seconds(text) for text in _texts_at(series, rows)])
        values[rows] = times
        rows = rows[np.isnan(times)]
    return values, rows


def _texts_at(series: "pl.Series", rows: IntArray) -> list[str]:
    return [str(text) for text in series.gather(rows).to_list()]


def _seconds(text: str) -> float:
    """Seconds of a time of day or of a date with one; NaN when it is neither."""
    day, _, clock = text.replace(" ", "T").rpartition("T")
    parts = clock.removesuffix("Z").replace(",", ".").split(":")
    try:
        seconds = sum(float(part) * 60.0**power for power, part in enumerate(reversed(parts)))
        days = float(np.datetime64(day, "D").astype(np.int64)) if day else 0.0
    except ValueError:
        return float("nan")
    return days * 86400.0 + (seconds if len(parts) == 3 else seconds * 60.0)


def _holds_clocks(texts: "pl.DataFrame", clock: int) -> bool:
    share = texts[_name(clock)].str.contains(r"\d:\d\d").fill_null(value=False).to_numpy()
    return bool(np.mean(share) > 0.5)


def _number_words(
    values: FloatArray, series: "pl.Series", rows: IntArray, codes: dict[str, float]
) -> None:
    for row, text in zip(rows, _texts_at(series, rows), strict=True):
        values[row] = codes.setdefault(text, float(len(codes) + 1))


def _kept_rows(content: bytes, values: dict[int, FloatArray], clock: int | None) -> BoolArray:
    n_rows = len(next(iter(values.values()))) if values else 0
    if clock is not None and not np.isnan(values[clock]).any():
        return np.ones(n_rows, dtype=np.bool_)
    keep = ~_blank_lines(content, n_rows)
    if clock is not None:
        keep &= ~np.all([np.isnan(column) for column in values.values()], axis=0)
    return keep


def _blank_lines(content: bytes, n_rows: int) -> BoolArray:
    blank = np.zeros(n_rows, dtype=np.bool_)
    if b"\n\n" in content or content.startswith(b"\n"):
        ends = np.flatnonzero(np.frombuffer(content, dtype=np.uint8) == ord("\n"))
        empty = np.flatnonzero(np.diff(ends, prepend=-1) == 1)
        blank[empty[empty < n_rows]] = True
    return blank


def _note_text_cells(
    bad: dict[int, _BadCells], keep: BoolArray, block: Block, gathered: _Gathered
) -> None:
    if not any(cells.rows.size for cells in bad.values()):
        return
    rows_before = np.cumsum(keep) - 1 + gathered.n_rows
    for column, cells in bad.items():
        gathered.n_text_cells += len(cells.rows)
        room = max(MAX_TEXT_CELLS - len(gathered.text_cells), 1)
        gathered.text_cells += [
            TextCell(max(int(rows_before[row]), 0), column, block.first_line + row, text)
            for row, text in zip(cells.rows.tolist()[:room], cells.texts, strict=False)
        ]


def _without_cut_line(block: Block, layout: Layout, gathered: _Gathered) -> Block:
    """A last line that ends in the middle of a row is noted and left out."""
    before, gathered.lines_before = gathered.lines_before, _last_lines(block.content)
    if not block.ends_open or layout.n_columns < 2:
        return block
    start = block.content.rfind(b"\n") + 1
    gathered.truncated = cut_fault(
        block.content[start:].decode("utf-8", errors="replace"),
        before,
        layout.delimiter,
        line=block.first_line + block.content.count(b"\n"),
    )
    if gathered.truncated is None:
        return block
    return Block(block.content[:start], block.first_line, True, False)


def _last_lines(content: bytes) -> list[str]:
    """The last whole lines of a block, for what stands after them."""
    end = content[-LINES_BEFORE * 4096 :].decode("utf-8", errors="replace")
    return end.rstrip("\n").rsplit("\n", LINES_BEFORE)[-LINES_BEFORE:]


def _all_text(gathered: _Gathered) -> Fault:
    first = gathered.text_cells[0]
    return Fault(
        "text_in_number_column",
        f'found "{first.text[:60]}" and {gathered.n_text_cells - 1} more texts after it',
        expected="numbers",
        remedy="export the trace again; reading was given up",
        found=first.text[:60],
        line=first.line,
    )


def _size(path: Path, layout: Layout) -> float:
    """Bytes of the file once it is UTF-8."""
    return path.stat().st_size / (2.0 if layout.encoding.startswith("utf-16") else 1.0)


def _too_many(n_rows: int) -> Fault:
    return Fault(
        "file_too_large",
        f"the file has about {n_rows} rows",
        expected=f"at most {MAX_VALUES} samples in the columns used",
        remedy="export each trial alone",
        found=f"{n_rows} rows",
    )


def _footer_rows(columns: dict[int, FloatArray], gathered: _Gathered) -> int:
    """How many rows of words stand below the last number; a few are a footer, many are not."""
    if not gathered.text_cells or not columns:
        return 0
    tail = np.array([values[-MAX_FOOTER_LINES - 1 :] for values in columns.values()])
    numbers = np.flatnonzero(np.isfinite(tail).any(axis=0))
    return tail.shape[1] - 1 - int(numbers[-1]) if numbers.size else 0


def _joined(parts: list[FloatArray]) -> FloatArray:
    """One array of all parts; each part is let go once it is copied, to bound memory."""
    if len(parts) == 1:
        return parts.pop()
    joined = np.empty(sum(part.size for part in parts))
    stop = joined.size
    while parts:
        part = parts.pop()
        joined[stop - part.size : stop] = part
        stop -= part.size
    return joined
