"""A window of traces as bytes: a header in JSON, then low, high and missing of each channel.

Little-endian throughout:

    uint32    length of the header, a multiple of 4
    header    UTF-8, padded with spaces: start_s, step_s, columns, exact, bucket, channels
    channels  in the header's order: float32 low[columns], float32 high[columns],
              uint8 missing[columns], padded with zeros to a multiple of 4

Buckets lie at whole multiples of their size from the trace's first sample, so that a picture does
not flicker while it is moved.
"""

from __future__ import annotations

import json
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from slowphase.workbench.traces.pyramid import FACTOR, Level, Pyramid, grouped

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from slowphase.workbench.traces.grid import Grid

MEDIA_TYPE = "application/vnd.slowphase.traces"
COLUMNS_MOST = 8192
CHANNELS_MOST = 32
ON_A_SAMPLE = 1e-6  # of a step: a moment so near is that of the sample


@dataclass(frozen=True, slots=True)
class Cut:
    """Which buckets a window shows: ``size`` samples each, from bucket ``first`` to ``stop``."""

    size: int
    first: int
    stop: int


def cut(grid: Grid, start_s: float, stop_s: float, columns: int) -> Cut:
    """The buckets that show a window in about ``columns``, with a sample more at either end."""
    first = math.floor((start_s - grid.start_s) / grid.step_s + ON_A_SAMPLE)
    stop = math.ceil((stop_s - grid.start_s) / grid.step_s - ON_A_SAMPLE) + 1
    first, stop = max(first, 0), min(stop, grid.samples)
    if stop <= first:
        return Cut(1, 0, 0)
    wanted = math.ceil((stop - first) / columns)
    level = level_of(wanted)
    unit = FACTOR**level
    size = unit * math.ceil(wanted / unit)
    return Cut(size, first // size, -(-stop // size))


def level_of(samples: int) -> int:
    """The highest level whose buckets hold no more than so many samples."""
    level = 0
    while FACTOR ** (level + 1) <= samples:
        level += 1
    return level


def shown(pyramid: Pyramid, part: Cut) -> Level:
    """The buckets of one channel."""
    level = min(level_of(part.size), len(pyramid.levels) - 1)
    together = part.size // FACTOR**level
    own = pyramid.levels[level]
    inside = slice(part.first * together, part.stop * together)
    return grouped(own.part(inside), together)


def window_bytes(
    grid: Grid,
    channels: Mapping[str, Pyramid],
    span: tuple[float, float],
    columns: int,
) -> bytes:
    """A window of some channels of one grid; see the module."""
    part = cut(grid, *span, columns)
    header = {
        "start_s": grid.start_s + part.first * part.size * grid.step_s,
        "step_s": part.size * grid.step_s,
        "columns": part.stop - part.first,
        "exact": part.size == 1 and all(pyramid.one_valued for pyramid in channels.values()),
        "bucket": part.size,
        "channels": list(channels),
    }
    text = json.dumps(header, allow_nan=False).encode()
    text += b" " * (-len(text) % 4)
    parts = [len(text).to_bytes(4, "little"), text]
    for pyramid in channels.values():
        parts.extend(_bytes(shown(pyramid, part)))
    return b"".join(parts)


def _bytes(level: Level) -> Iterator[bytes]:
    yield level.low.astype("<f4", copy=False).tobytes()
    yield level.high.astype("<f4", copy=False).tobytes()
    yield level.missing.astype(np.uint8).tobytes() + b"\0" * (-level.missing.size % 4)
