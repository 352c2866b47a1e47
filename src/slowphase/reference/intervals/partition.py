"""Whether two groups need limits of their own (Harris, Boyd 1990, from memory).

z = |difference of means| / standard error of it; groups part when z exceeds 3·√(people/240), which
grows with their number so that the same difference decides in every study, or when one standard
deviation is more than 1.5 times the other.
"""

from dataclasses import dataclass

import numpy as np

from slowphase.foundation.arrays import FloatArray
from slowphase.reference.intervals.symmetry import symmetry

LARGEST_RATIO = 1.5
CRITICAL, CRITICAL_PEOPLE = 3.0, 240


@dataclass(frozen=True, slots=True)
class Partition:
    """How two groups differ: by what, their names and numbers, z, its limit, ratio of SDs."""

    by: str
    names: tuple[str, str]
    counts: tuple[int, int]
    z: float
    critical_z: float
    sd_ratio: float

    @property
    def needed(self) -> bool:
        """Whether each group needs its own limits: strictly beyond the limits of the rule."""
        return self.z > self.critical_z or self.sd_ratio > LARGEST_RATIO


def partition(by: str, names: tuple[str, str], first: FloatArray, second: FloatArray) -> Partition:
    """How two groups of people differ, their values made symmetric together."""
    way = symmetry(np.concatenate([first, second]))
    groups = [way.to(first), way.to(second)]
    spreads = [float(group.std(ddof=1)) for group in groups]
    error = np.sqrt(sum(sd**2 / g.size for sd, g in zip(spreads, groups, strict=True)))
    return Partition(
        by,
        names,
        (first.size, second.size),
        float(abs(groups[0].mean() - groups[1].mean()) / error) if error > 0.0 else 0.0,
        CRITICAL * float(np.sqrt((first.size + second.size) / CRITICAL_PEOPLE)),
        max(spreads) / min(spreads) if min(spreads) > 0.0 else float("inf"),
    )
