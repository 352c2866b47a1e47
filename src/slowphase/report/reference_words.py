"""What the report says of reference sets that were not chosen."""

from collections.abc import Iterable, Mapping

from slowphase.reference.placement import Placement, RunnerUp


def others_text(placement: Placement) -> list[str]:
    """The sets of the same measure that were not chosen, each with what it lacks."""
    return [runner_up_text(other) for other in placement.runners_up]


def unplaced_text(unplaced: Mapping[str, Iterable[RunnerUp]]) -> list[tuple[str, list[str]]]:
    """Measures without a reference, together where the same sets lack the same."""
    found: dict[tuple[str, ...], list[str]] = {}
    for id_, others in unplaced.items():
        found.setdefault(tuple(runner_up_text(other) for other in others), []).append(id_)
    return [(", ".join(ids), list(told)) for told, ids in found.items()]


def runner_up_text(other: RunnerUp) -> str:
    """``yu-2022: age outside 20–59 years``."""
    return f"{other.set}: {'; '.join(other.lacks)}"
