"""Where a value stands in a reference set."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Placement:
    """Where a measure stands among the healthy.

    ``set`` is the id of the reference set, ``percentile`` (0–100) the value's place in it,
    ``lower`` and ``upper`` the central 95 % of the set in the measure's unit (one may be None
    for a one-sided limit), ``beyond_limit`` the probability, given the measure's own interval,
    that the true value lies outside those limits. ``mark`` is how the set is known: ``read``,
    ``memory``, ``practice``, ``computed`` or ``local``; ``note`` what the reader must know of it.
    ``n`` is the number of people; ``unstated`` names what the set does not tell of itself, so that
    the place is only about right.
    """

    set: str
    percentile: float | None
    lower: float | None
    upper: float | None
    beyond_limit: float | None
    mark: str
    source: str
    note: str = ""
    n: int | None = None
    unstated: tuple[str, ...] = ()
