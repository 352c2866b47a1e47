"""What a trace file looks like, and what can be wrong with one."""

from dataclasses import dataclass

from slowphase.foundation.arrays import FloatArray
from slowphase.foundation.problem import Problem
from slowphase.recording.report_problem import make_problem

MAX_FILE_BYTES = 2**30
MAX_VALUES = 30_000_000
HEAD_BYTES = 128 * 2**10

_MARKS = """
nan na n/a n.a. #n/a nd -nan -nan(ind) nan(ind) 1.#qnan 1.#ind -1.#ind null none nil - -- --- . ?
* ** x inf -inf +inf infinity -infinity 1.#inf -1.#inf missing lost invalid blink
"""
# What stands for a sample that was not had, in lower case.
MISSING_MARKS = frozenset(("", *_MARKS.split()))


@dataclass(frozen=True, slots=True)
class Fault:
    """Something wrong with a trace file; ``row`` is where it lies among the samples."""

    code: str
    what: str
    expected: str
    remedy: str
    found: str | None = None
    line: int | None = None
    row: int | None = None

    def problem(self, *, file: str | None, trial: str | None) -> Problem:
        """The problem of a trial with this file."""
        return make_problem(
            self.code,
            self.what,
            expected=self.expected,
            remedy=self.remedy,
            found=self.found,
            trial=trial,
            file=file,
            line=self.line,
        )


@dataclass(frozen=True, slots=True)
class Layout:
    """How a trace file is written.

    ``names`` are the header's, empty where there is no header; ``units`` the units row's.
    ``skip_lines`` lines stand before the first sample. ``marks`` are the missing marks met in the
    samples looked at. ``delimiter`` is "" in a file of one column and in Parquet.
    ``unnamed`` columns hold samples beyond the last name of the header.
    """

    names: tuple[str, ...]
    n_columns: int
    units: tuple[str, ...] = ()
    encoding: str = "utf-8"
    delimiter: str = ""
    decimal: str = "."
    skip_lines: int = 0
    marks: tuple[str, ...] = ()
    ragged: bool = False
    is_parquet: bool = False
    unnamed: int = 0


@dataclass(frozen=True, slots=True)
class TextCell:
    """A text where a number belongs: at a sample (from 0), in a column (from 0), on a line."""

    row: int
    column: int
    line: int | None
    text: str


@dataclass(frozen=True, slots=True)
class TraceTable:
    """Columns of one trace file as arrays of shape (n,), by their place in the file from 0.

    ``clock_from_text`` tells that the time column held times of day.
    """

    columns: dict[int, FloatArray]
    n_rows: int
    text_cells: tuple[TextCell, ...] = ()
    truncated: Fault | None = None
    clock_from_text: bool = False
