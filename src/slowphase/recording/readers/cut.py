"""Whether the last line of a text, which has no line end, was cut in the middle of a row."""

from collections.abc import Sequence

from slowphase.recording.readers.layout import Fault

LINES_BEFORE = 60


def cut_fault(last: str, before: Sequence[str], delimiter: str, *, line: int) -> Fault | None:
    """The fault of a last line with fewer columns or decimals than the lines before it all have.

    A cut that falls behind a whole value cannot be told from a file without a last line end.
    """
    rows = [text.split(delimiter) for text in before if text.strip()]
    cells = last.split(delimiter)
    n_columns = min((len(row) for row in rows), default=0)
    if len(cells) < n_columns:
        return _fault(last, f"with {len(cells)} of {n_columns} columns", line)
    decimals = {_decimals(row[-1]) for row in rows}
    if len(rows) < LINES_BEFORE or len(cells) != len(rows[-1]) or len(decimals) != 1:
        return None
    return (
        _fault(last, "in a value cut short", line)
        if _decimals(cells[-1]) < decimals.pop()
        else None
    )


def _decimals(cell: str) -> int:
    return len(cell.partition(".")[2])


def _fault(last: str, how: str, line: int) -> Fault:
    return Fault(
        "truncated_file",
        f'the file ends in the middle of a row, "{last[:60]}" {how}',
        expected="whole rows to the end",
        remedy="copy or export the file again; the rows before it were used",
        found=last[:60],
        line=line,
    )
