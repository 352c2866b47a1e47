"""What retests say nothing of: changes beyond the recordings' own intervals, unused retests."""

from __future__ import annotations

from typing import TYPE_CHECKING

from slowphase.course.followed import is_tested
from slowphase.course.retest import fits

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from slowphase.course.change import Change
    from slowphase.course.comparison import Comparison
    from slowphase.course.key import Key
    from slowphase.course.retest import Retest
    from slowphase.course.series import Series

DETAILS = ("unit", "of", "exciting", "definition", "vision")
STOPPING = ("settings_differ", "patients_differ")


def beyond_intervals(comparison: Comparison) -> tuple[Change, ...]:
    """Changes without retests that may decide whose own 95 % interval leaves out no change.

    None where the two sessions' numbers are not comparable at all.
    """
    if set(STOPPING) & set(comparison.why):
        return ()
    return tuple(one for one in comparison.changes if not one.decides and _leaves_out_none(one))


def _leaves_out_none(one: Change) -> bool:
    return one.low is not None and one.high is not None and (one.low > 0.0 or one.high < 0.0)


def judged_in_part(changes: Iterable[Change]) -> bool:
    """Whether some tested measures have retests that may decide, and others have none."""
    return len({one.decides for one in changes if is_tested(one.key)}) == 2


def unused(entries: Iterable[Retest], series: Sequence[Series]) -> tuple[Retest, ...]:
    """The clinic's retests that fit no measure of any session."""
    return tuple(
        entry
        for entry in entries
        if not entry.illustration and not any(fits(entry, one.key) for one in series)
    )


def nearest(entry: Retest, series: Iterable[Series]) -> tuple[tuple[str, str, str], ...]:
    """How an entry differs from the measure nearest to it: name, in the entry, in the sessions.

    Empty where no session holds a measure of that kind and name.
    """
    own = entry.key
    alike = (
        one.key
        for one in series
        if (one.key.level, one.key.kind, one.key.name) == (own.level, own.kind, own.name)
    )
    return min((_differing(own, key) for key in alike), key=len, default=())


def _differing(own: Key, key: Key) -> tuple[tuple[str, str, str], ...]:
    said, found = dict(own.stimulus), dict(key.stimulus)
    pairs = [(name, getattr(own, name), getattr(key, name)) for name in DETAILS]
    pairs += [(name, said.get(name), found.get(name)) for name in {**said, **found}]
    return tuple((name, _shown(a), _shown(b)) for name, a, b in pairs if a != b)


def _shown(value: object) -> str:
    if value is None:
        return "none"
    return f"{value:g}" if isinstance(value, float) else str(value)
