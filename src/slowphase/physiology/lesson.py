"""What a lesion does to every trace and every number, without noise and quick phases, at once.

The same person, protocol and formulas as in the simulator, at a lower rate: every trial of the
chair, the four irrigations and an impulse to either side in some tens of milliseconds.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from slowphase.foundation.arrays import FloatArray
from slowphase.physiology.alertness import draw_lapses
from slowphase.physiology.caloric import BODY_C, caloric_velocity
from slowphase.physiology.impulse import Pulse, area_gain, eye_velocity, pulse_velocity
from slowphase.physiology.person import Person
from slowphase.physiology.protocol import TrialPlan, full_protocol, head_velocity
from slowphase.physiology.short_form import ShortForm, person_of
from slowphase.physiology.simulate import wanted_velocity
from slowphase.physiology.spontaneous import bias_at
from slowphase.physiology.truth import (
    Measures,
    sinusoid_truth,
    spontaneous_truth,
    step_truth,
    suppression_truth,
)

LESSON_HZ = 50.0
IMPULSE_HZ = 1000.0
STRONGEST_S = 10.0  # a caloric peak is the mean of so many seconds: common practice
PULSE_DEG_S, PULSE_S = 200.0, 0.175  # the middle of what is done by hand: common practice
LAPSES_SEED = 20
CHAIR = ("spontaneous", "sinusoid", "step")

Side = Literal["right", "left"]


@dataclass(frozen=True, slots=True)
class Shown:
    """One trial of a lesson: chair or head (deg/s) and slow phase (deg/s), shape (n,), and truths.

    Times in s from the start of the recording. ``measures`` are those that a perfect estimator
    would return; None where no such number exists.
    """

    plan: TrialPlan
    time_s: FloatArray
    head_velocity_deg_s: FloatArray
    slow_phase_deg_s: FloatArray
    measures: Measures


def lesson(short: ShortForm, protocol: Sequence[TrialPlan] | None = None) -> tuple[Shown, ...]:
    """Every chair trial, irrigation and impulse of a protocol (the full one) for one person.

    Lapses of a drowsy person are drawn with one seed, so that they stay where they are while a
    slider moves.
    """
    person = person_of(short)
    plans = full_protocol() if protocol is None else protocol
    found = [shown for plan in plans for shown in _shown(person, plan)]
    return tuple(_with_suppression(found))


def _shown(person: Person, plan: TrialPlan) -> Iterator[Shown]:
    if plan.kind in CHAIR:
        yield _of_chair(person, plan)
    elif plan.kind == "caloric":
        yield _of_ear(person, plan)
    elif plan.kind == "impulse":
        yield from (_of_impulse(person, plan, side) for side in ("right", "left"))


def _grid(plan: TrialPlan) -> FloatArray:
    return np.arange(int(plan.length_s * LESSON_HZ)) / LESSON_HZ


def _of_chair(person: Person, plan: TrialPlan) -> Shown:
    time_s = _grid(plan)
    head = head_velocity(plan, time_s)
    lapses = draw_lapses(person.alertness, plan.length_s, np.random.default_rng(LAPSES_SEED))
    slow = wanted_velocity(person, plan, head, lapses, sampling_hz=LESSON_HZ)
    return Shown(plan, time_s, head, slow, _chair_measures(person, plan))


def _chair_measures(person: Person, plan: TrialPlan) -> Measures:
    if plan.kind == "sinusoid":
        return sinusoid_truth(person, plan, 0.0)
    if plan.kind == "step":
        return step_truth(person, plan, 0.0)
    return spontaneous_truth(person, plan, 0.0, (0.0, 0.0))


def _of_ear(person: Person, plan: TrialPlan) -> Shown:
    time_s = _grid(plan)
    alone = caloric_velocity(
        person.caloric,
        plan.ear,
        plan.temperature_c,
        plan.medium,
        plan.irrigation_s,
        time_s - plan.lead_s,
    )
    bias = bias_at(person.spontaneous, time_s)
    alert = person.alertness.throughout
    measures: Measures = {
        "velocity": alert * _strongest(alone, alone + bias),
        "response": _expected(plan) * alert * _strongest(alone, alone),
    }
    return Shown(plan, time_s, np.zeros(time_s.size), alert * (alone + bias), measures)


def _expected(plan: TrialPlan) -> float:
    """The sign of a healthy slow phase: warm on the left and cool on the right drive it right."""
    warm = plan.temperature_c > BODY_C
    return 1.0 if warm == (plan.ear == "left") else -1.0


def _strongest(alone: FloatArray, shown: FloatArray) -> float:
    """The mean of ``shown`` over the ten seconds in which ``alone`` is strongest."""
    length = int(STRONGEST_S * LESSON_HZ)
    means = np.convolve(alone, np.full(length, 1.0 / length), mode="valid")
    begun = int(np.argmax(np.abs(means)))
    return float(np.mean(shown[begun : begun + length]))


def _of_impulse(person: Person, plan: TrialPlan, side: Side) -> Shown:
    pulse = Pulse(0.05, 1 if side == "right" else -1, PULSE_DEG_S, PULSE_S)
    time_s = np.arange(int(0.35 * IMPULSE_HZ)) / IMPULSE_HZ
    return Shown(
        plan=replace(plan, id=f"{plan.id}-{side}"),
        time_s=time_s,
        head_velocity_deg_s=pulse_velocity(pulse, time_s),
        slow_phase_deg_s=eye_velocity(person.impulses, pulse, time_s),
        measures={f"{side} lateral/gain": area_gain(person.impulses, pulse)},
    )


def _with_suppression(found: Sequence[Shown]) -> Iterator[Shown]:
    dark = {
        shown.plan.frequency_hz: shown.measures
        for shown in found
        if shown.plan.kind == "sinusoid" and shown.plan.vision == "dark"
    }
    for shown in found:
        partner = dark.get(shown.plan.frequency_hz)
        if shown.plan.vision == "head-fixed target" and partner is not None:
            yield replace(
                shown, measures=shown.measures | suppression_truth(partner, shown.measures)
            )
        else:
            yield shown
