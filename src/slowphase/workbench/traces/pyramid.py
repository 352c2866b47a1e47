"""A trace at every zoom: the least and largest value of ever larger buckets, and what is missing.

Level k holds buckets of 8^k samples. A bucket is missing something when any of its samples is
lost, so that a drop-out of a fifth of a second is seen in a picture of half an hour.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeVar

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Float32 = NDArray[np.float32]
    Flags = NDArray[np.bool_]

T = TypeVar("T", bound=np.generic)

FACTOR = 8
TOP = 64  # a level of fewer buckets needs none above it


@dataclass(frozen=True, slots=True)
class Samples:
    """A trace on an even grid, arrays (n,): one value a sample, NaN where it is lost.

    ``high`` and ``missing`` are there where a clock crowds several samples into one.
    """

    low: Float32
    high: Float32 | None = None
    missing: Flags | None = None


@dataclass(frozen=True, slots=True)
class Level:
    """Buckets of one size: ``low`` and ``high`` are NaN where all is lost; arrays (m,).

    ``lost`` tells which miss anything; None where those are the ones that miss all.
    """

    low: Float32
    high: Float32
    lost: Flags | None = None

    @property
    def missing(self) -> Flags:
        """Which buckets miss anything, shape (m,)."""
        return np.isnan(self.low) if self.lost is None else self.lost

    def part(self, inside: slice) -> Level:
        """Some of the buckets."""
        lost = None if self.lost is None else self.lost[inside]
        return Level(self.low[inside], self.high[inside], lost)


@dataclass(frozen=True, slots=True)
class Pyramid:
    """All levels of one trace, the samples themselves first."""

    levels: tuple[Level, ...]

    @property
    def samples(self) -> int:
        """How many samples the trace has."""
        return int(self.levels[0].low.size)

    @property
    def one_valued(self) -> bool:
        """Whether each sample has one value: a clock that crowds samples may give it two."""
        return self.levels[0].low is self.levels[0].high

    @property
    def nbytes(self) -> int:
        """Memory held."""
        own = [part for level in self.levels for part in (level.low, level.high, level.lost)]
        return sum(part.nbytes for part in {id(p): p for p in own if p is not None}.values())


def make_pyramid(samples: Samples | Float32) -> Pyramid:
    """The pyramid of a trace, shape (n,), NaN where it is lost."""
    own = samples if isinstance(samples, Samples) else Samples(samples)
    high = own.low if own.high is None else own.high
    level = Level(own.low, high, own.missing)
    levels = [level]
    while level.low.size > TOP:
        level = grouped(level, FACTOR)
        levels.append(level)
    return Pyramid(tuple(levels))


def grouped(level: Level, size: int) -> Level:
    """Buckets of ``size`` buckets; the last may hold fewer."""
    if size == 1:
        return level
    return Level(
        _reduced(level.low, size, np.fmin),
        _reduced(level.high, size, np.fmax),
        _reduced(level.missing, size, np.logical_or),
    )


def _reduced(values: NDArray[T], size: int, least: np.ufunc) -> NDArray[T]:
    """One value for each bucket; every ``size``-th value at once, which is fast on long arrays."""
    buckets = -(-values.size // size)
    whole = values.size // size
    found = np.empty(buckets, dtype=values.dtype)
    parts = values[: whole * size].reshape(whole, size)
    if whole:
        found[:whole] = parts[:, 0]
        for column in range(1, size):
            least(found[:whole], parts[:, column], out=found[:whole])
    if buckets > whole:
        found[whole] = least.reduce(values[whole * size :])
    return found
