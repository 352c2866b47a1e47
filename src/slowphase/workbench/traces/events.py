"""What happens in a trial: quick phases, samples not used, cycles of the chair, its changes."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from slowphase.analysis.document import rounded, unused_runs
from slowphase.eye.trace import USED
from slowphase.report.folding import binned, cycle_phase
from slowphase.report.step_figure import change_indices

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from slowphase.eye.trace import EyeTrace
    from slowphase.measures.result import Evidence, TrialResult
    from slowphase.recording.trial import ByHand

Json = dict[str, Any]
FOLD_BINS = 72


def planes(evidence: Evidence | None) -> Iterator[tuple[str, EyeTrace]]:
    """The planes that were measured, with their traces; none of them without any eye in it."""
    if evidence is None:
        return
    for name, trace in (("horizontal", evidence.horizontal), ("vertical", evidence.vertical)):
        if trace is not None and np.isfinite(trace.position_deg).any():
            yield name, trace


def quick_phases(evidence: Evidence | None, by_hand: ByHand) -> list[Json]:
    """Quick phases in each plane in order; those that a person added say so."""
    return [row for plane, trace in planes(evidence) for row in _quick(plane, trace, by_hand)]


def _quick(plane: str, trace: EyeTrace, by_hand: ByHand) -> Iterator[Json]:
    events = trace.quick_phases
    columns = (events.onset_s, events.offset_s, events.amplitude_deg, events.peak_velocity_deg_s)
    for start, stop, amplitude, peak in zip(*(c.tolist() for c in columns), strict=True):
        yield {
            "start_s": start,
            "stop_s": stop,
            "amplitude_deg": rounded(amplitude),
            "peak_velocity_deg_s": rounded(peak),
            "plane": plane,
            "by_hand": _meets(start, stop, by_hand.quick),
        }


def _meets(start_s: float, stop_s: float, spans: Sequence[tuple[float, float]]) -> bool:
    return any(start_s < stop and stop_s > start for start, stop in spans)


def unused(evidence: Evidence | None) -> list[Json]:
    """Runs of samples that are not used, with the reason, in each plane."""
    return [
        {
            "start_s": float(trace.time_s[start]),
            "stop_s": float(trace.time_s[min(stop, trace.time_s.size - 1)]),
            "reason": reason,
            "plane": plane,
        }
        for plane, trace in planes(evidence)
        for start, stop, reason in unused_runs(trace)
    ]


def by_hand_entry(by_hand: ByHand) -> Json:
    """What a person said of the samples."""
    return {
        "excluded": [_span(span) for span in by_hand.excluded],
        "quick": [_span(span) for span in by_hand.quick],
        "not_quick_s": list(by_hand.not_quick),
    }


def _span(span: tuple[float, float]) -> Json:
    return {"start_s": span[0], "stop_s": span[1]}


def cycles(result: TrialResult | None) -> list[Json]:
    """Whole cycles of a sinusoid, each from a rise of the chair's velocity through zero."""
    phase, length_s = cycle_phase(result) if result else None, cycle_s(result)
    if result is None or result.evidence is None or phase is None or length_s is None:
        return []
    time_s, moving = result.evidence.horizontal.time_s, np.flatnonzero(np.isfinite(phase))
    wraps = np.flatnonzero(np.diff(phase) < -180.0) + 1
    starts = time_s[wraps] - phase[wraps] / 360.0 * length_s
    ends = starts + length_s
    inside = ends <= (time_s[moving[-1]] if moving.size else 0.0) + 0.01 * length_s
    return [
        {"number": number, "start_s": start, "stop_s": stop}
        for number, (start, stop) in enumerate(
            zip(starts[inside].tolist(), ends[inside].tolist(), strict=True), start=1
        )
    ]


def cycle_s(result: TrialResult | None) -> float | None:
    """How long a cycle of a sinusoid is; None for other kinds."""
    told = result.stimulus.get("frequency_hz") if result and result.kind == "sinusoid" else None
    return 1.0 / told if isinstance(told, int | float) and told > 0 else None


def changes(result: TrialResult | None) -> list[Json]:
    """Changes of chair velocity of a step: when, of which spin, and which side they excite."""
    evidence = result.evidence if result else None
    if result is None or result.kind != "step" or evidence is None:
        return []
    head = evidence.head_velocity_deg_s
    return [
        {
            "at_s": float(evidence.horizontal.time_s[index]),
            "of": "per" if order % 2 == 0 else "post",
            "exciting": "right" if sign > 0 else "left",
        }
        for order, (index, sign) in enumerate(change_indices(head) if head is not None else ())
    ]


def folded(result: TrialResult | None) -> Json:
    """All cycles by the phase of the chair: quartiles of the slow phase, medians of the others."""
    phase = cycle_phase(result) if result else None
    if result is None or result.evidence is None or phase is None:
        names = ("phase", "low", "middle", "high", "fit", "head")
        return {_folded_name(name): [] for name in names}
    evidence, trace = result.evidence, result.evidence.horizontal
    slow = np.where(trace.use == USED, trace.velocity_deg_s, np.nan)
    centre, quartiles = binned(phase, slow, [25, 50, 75], FOLD_BINS)
    rows = zip(("low", "middle", "high"), quartiles, strict=True)
    told: Json = {"phase_deg": rounded(centre.tolist())}
    told |= {_folded_name(name): rounded(row.tolist()) for name, row in rows}
    others = {"fit": evidence.fit_deg_s, "head": evidence.head_velocity_deg_s}
    for name, values in others.items():
        told[_folded_name(name)] = _middles(phase, values, told["phase_deg"])
    return told


def _folded_name(name: str) -> str:
    return "phase_deg" if name == "phase" else f"{name}_deg_s"


def _middles(phase: Any, values: Any, wanted_deg: list[float]) -> list[float | None]:
    """The medians of a line in the same parts of the cycle; None where it has none."""
    if values is None:
        return [None for _ in wanted_deg]
    centre, found = binned(phase, values, [50], FOLD_BINS)
    known = dict(zip(rounded(centre.tolist()), rounded(found[0].tolist()), strict=True))
    return [known.get(degrees) for degrees in wanted_deg]
