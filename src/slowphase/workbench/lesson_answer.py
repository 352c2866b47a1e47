"""A lesson as one binary answer: a header in JSON, then every trace as 32-bit floats.

    uint32 n | header, n bytes | float32 head[samples], slow[samples] of each trial in turn

Little-endian; the header is padded with spaces so that the floats begin at a multiple of 4.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from slowphase.measures.measure import Measure
from slowphase.physiology.lesson import Shown, lesson
from slowphase.physiology.short_form import ShortForm
from slowphase.report.labels import measure_label, word
from slowphase.workbench.shapes.teaching import LessonHeader, LessonMeasure, LessonTrial

if TYPE_CHECKING:
    from collections.abc import Iterator

    from slowphase.physiology.protocol import TrialPlan
    from slowphase.workbench.shapes.teaching import LessonAsked

MEDIA_TYPE = "application/vnd.slowphase.lesson"
MOVED = ("sinusoid", "step")
UNITS = {
    "velocity": "deg/s",
    "gain": "1",
    "phase": "deg",
    "bias": "deg/s",
    "offset": "deg/s",
    "gain_right": "1",
    "gain_left": "1",
    "asymmetry": "%",
    "gaze_slope": "/s",
    "suppression": "%",
    "time_constant": "s",
    "decay": "s",
    "response": "deg/s",
}


def lesson_bytes(asked: LessonAsked) -> bytes:
    """Every trial of the lesson, traces and numbers."""
    shown = lesson(ShortForm(**asked.model_dump()))
    header = LessonHeader(trials=list(_trials(shown)))
    text = header.model_dump_json().encode()
    text += b" " * (-len(text) % 4)
    traces = [
        trace.astype("<f4").tobytes()
        for one in shown
        for trace in (one.head_velocity_deg_s, one.slow_phase_deg_s)
    ]
    return b"".join([len(text).to_bytes(4, "little"), text, *traces])


def _trials(shown: tuple[Shown, ...]) -> Iterator[LessonTrial]:
    offset = 0
    for one in shown:
        yield _trial(one, offset)
        offset += 2 * one.time_s.size


def _trial(one: Shown, offset: int) -> LessonTrial:
    plan = one.plan
    return LessonTrial(
        id=plan.id,
        kind=plan.kind,
        vision=plan.vision,
        title=_title(plan),
        frequency_hz=plan.frequency_hz if plan.kind == "sinusoid" else None,
        direction=plan.direction if plan.kind == "step" else None,
        moves_at_s=plan.lead_s if plan.kind in MOVED else None,
        start_s=float(one.time_s[0]),
        step_s=float(np.mean(np.diff(one.time_s))),
        samples=one.time_s.size,
        offset=offset,
        measures=[_measure(key, value) for key, value in one.measures.items()],
    )


def _title(plan: TrialPlan) -> str:
    """The kind of trial, and what sets it apart from its like."""
    told = {
        "sinusoid": f"{plan.frequency_hz:g} Hz",
        "step": f"to the {plan.direction}",
        "caloric": f"{plan.ear} ear, {plan.temperature_c:g} °C",
        "impulse": "to the " + plan.id.rpartition("-")[2],
    }.get(plan.kind, "")
    seen = "" if plan.vision == "dark" or plan.kind == "impulse" else str(plan.vision)
    return ", ".join(part for part in (word("kind", plan.kind), told, seen) if part)


def _measure(key: str, value: float | None) -> LessonMeasure:
    of, _, name = key.rpartition("/")
    unit = UNITS[name]
    measure = Measure(key, name, value, None, None, unit, of=of or None)
    return LessonMeasure(
        name=name, of=of or None, label=measure_label(measure), value=value, unit=unit
    )
