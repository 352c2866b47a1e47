"""Where a value stands in a reference set."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class RunnerUp:
    """A set of the same measure that was not chosen, and what it lacks for this one, in words."""

    set: str
    mark: str
    lacks: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Placement:
    """Where a measure stands among the healthy.

    ``set`` is the id of the reference set, ``percentile`` (0–100) the value's place in it and
    ``z`` the same in standard deviations from the mean (the normal score of the percentile where
    the set holds percentiles). Beyond the outermost percentile that the set holds both are None,
    and ``below`` or ``above`` is that percentile. ``lower`` and ``upper`` are the limits in the
    measure's unit (one may be None for a one-sided limit), ``between`` the percentiles that they
    are, None for limits that are no percentiles; ``quartiles`` are the 25th, 50th and 75th, where
    the set tells them. ``beyond_limit`` is the probability, given the
    measure's own interval, that the true value lies outside those limits. ``mark`` is how the set
    is known: ``read``, ``memory``, ``practice``, ``computed`` or ``local``; ``note`` what the
    reader must know of it. ``n`` is the number of people; ``unstated`` names what the set does not
    tell of itself, so that the place is only about right. ``why`` says in words why this set was
    chosen, ``runners_up`` which others hold this measure and what they lack.
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
    z: float | None = None
    below: float | None = None
    above: float | None = None
    between: tuple[float, float] | None = None
    quartiles: tuple[float, float, float] | None = None
    why: tuple[str, ...] = ()
    runners_up: tuple[RunnerUp, ...] = ()
