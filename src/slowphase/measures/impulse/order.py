"""Whether a patient could know when the next impulse comes, and to which side."""

from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from slowphase.measures.impulse.impulse import Impulse
from slowphase.measures.impulse.settings import ImpulseSettings


def predictable(impulses: Sequence[Impulse], settings: ImpulseSettings) -> tuple[str, ...]:
    """Reasons of a trial whose impulses could be foreseen.

    ``side_foreseen`` where the side always, or nearly, is that of the one before, or the other;
    ``time_foreseen`` where they come in a rhythm.
    """
    if len(impulses) < settings.order_impulses_min:
        return ()
    side = ("side_foreseen",) if side_foreseen(impulses, settings) else ()
    return (*side, *(("time_foreseen",) if in_rhythm(impulses, settings) else ()))


def side_foreseen(impulses: Sequence[Impulse], settings: ImpulseSettings) -> bool:
    """Whether each side follows from the one before; one side alone may be a choice of the file."""
    canals = [one.canal for one in impulses]
    if len(set(canals)) < 2:
        return in_rhythm(impulses, settings)
    same = float(np.mean([a == b for a, b in pairwise(canals)]))
    return max(same, 1.0 - same) >= settings.order_share


def in_rhythm(impulses: Sequence[Impulse], settings: ImpulseSettings) -> bool:
    """Whether the times between impulses are nearly alike; one pause may be longer."""
    between = np.diff([one.onset_s for one in impulses])
    middle = float(np.median(between))
    spread = 1.4826 * float(np.median(np.abs(between - middle)))
    return spread < settings.rhythm_spread * middle
