"""How much a measure of a stable person differs from one day to another, and who says so.

    standard error of measurement   SEM = SD of paired differences / √2   (or SD·√(1 − ICC))
    smallest detectable change      MDC95 = 1.96·√2·SEM

An SD of paired differences holds both the day-to-day variation of the person and the errors of
both measurements. ``measurement_error`` is the root mean square standard error of a single
measurement in those retests: with it the two can be told apart (``change.py``).

An entry with ``illustration`` never decides: it is arithmetic from two different studies, which may
not fit each other.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING

from slowphase.course.key import Key, stimuli_alike
from slowphase.measures.interval import Z95

if TYPE_CHECKING:
    from collections.abc import Sequence

    from slowphase.foundation.arrays import FloatArray


@dataclass(frozen=True, slots=True)
class Retest:
    """The retest variability of one measure, in the measure's unit.

    ``sd_difference`` is the SD of paired differences, ``effect`` their mean (second less first: the
    practice effect), ``n`` the number of pairs (None: as good as known), ``measurement_error`` the
    RMS standard error of one measurement (None: not known). ``icc`` with its 95 % interval,
    ``bias_slope`` the change of the difference by the mean and ``spread_slope`` the growth of its
    size by the mean, each with interval, are shown and do not decide. ``mark`` is a key of the
    table of marks. ``index`` is the place in the set's correlation.
    """

    key: Key
    sd_difference: float
    source: str
    mark: str
    effect: float = 0.0
    n: int | None = None
    measurement_error: float | None = None
    icc: tuple[float, float | None, float | None] | None = None
    bias_slope: tuple[float, float, float] | None = None
    spread_slope: tuple[float, float, float] | None = None
    illustration: bool = False
    index: int | None = None

    @property
    def sem(self) -> float:
        """Standard error of measurement."""
        return self.sd_difference / 2.0**0.5

    @property
    def mdc95(self) -> float:
        """Smallest detectable change by the published formula: 1.96·√2·SEM."""
        return Z95 * 2.0**0.5 * self.sem

    @property
    def proportional(self) -> bool:
        """Whether the difference, or its size, changes with the measure: one limit is rough."""
        slopes = (self.bias_slope, self.spread_slope)
        return any(s is not None and (s[1] > 0.0 or s[2] < 0.0) for s in slopes)


@dataclass(frozen=True, slots=True)
class RetestSet:
    """Entries with what goes with all of them.

    ``correlation`` has shape (m, m), that of the paired differences of the entries by ``index``;
    None where it is not known. ``settings_digest`` and ``version`` are those that the retests were
    measured with, empty where a person typed the values.
    """

    source: str
    entries: tuple[Retest, ...]
    correlation: FloatArray | None = None
    settings_digest: str = ""
    version: str = ""
    n_pairs: int | None = None
    days_apart: float | None = None

    def of(self, key: Key) -> Retest | None:
        """The entry that fits a measure; one that may decide goes before an illustration."""
        fitting = [entry for entry in self.entries if fits(entry, key)]
        return min(fitting, key=lambda entry: entry.illustration, default=None)

    def between(self, entries: Sequence[Retest]) -> FloatArray | None:
        """The correlation of some entries, shape (k, k); None unless it is known of all."""
        places = [entry.index for entry in entries]
        known = [place for place in places if place is not None]
        if self.correlation is None or len(known) < len(places):
            return None
        picked: FloatArray = self.correlation[known][:, known]
        return picked


def fits(entry: Retest, key: Key) -> bool:
    """Whether an entry is about a measure; what an illustration does not say is any."""
    own = entry.key
    exact = (own.level, own.kind, own.name, own.unit) == (key.level, key.kind, key.name, key.unit)
    details = ("of", "exciting", "definition", "vision")
    if not exact:
        return False
    if entry.illustration:
        said = dict(own.stimulus)
        asked = {name: value for name, value in key.stimulus if name in said}
        return stimuli_alike(said, asked) and all(
            getattr(own, name) in (None, getattr(key, name)) for name in details
        )
    same = all(getattr(own, name) == getattr(key, name) for name in details)
    return same and stimuli_alike(dict(own.stimulus), dict(key.stimulus))


@cache
def illustration() -> RetestSet:
    """What is shipped: arithmetic from published values, which never decides."""
    from slowphase.course.retest_file import parse_retest

    text = (files(__package__) / "illustration.toml").read_text(encoding="utf-8")
    return parse_retest(text, "illustration.toml")


def with_illustration(own: RetestSet | None) -> RetestSet:
    """The clinic's own retests, and the illustration behind them for what they do not hold."""
    shipped = illustration()
    if own is None:
        return shipped
    return RetestSet(
        source=own.source,
        entries=(*own.entries, *shipped.entries),
        correlation=own.correlation,
        settings_digest=own.settings_digest,
        version=own.version,
        n_pairs=own.n_pairs,
        days_apart=own.days_apart,
    )
