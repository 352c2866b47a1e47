"""Which trials a session has, in a few keys."""

from dataclasses import dataclass, replace
from typing import Literal

from slowphase.physiology.protocol import (
    PEAK_DEG_S,
    PRACTICE_FREQUENCIES_HZ,
    STEP_DEG_S,
    TrialPlan,
    check_protocol,
    full_protocol,
    sinusoid,
    standard_protocol,
)

PROTOCOLS = {"standard": standard_protocol, "full": full_protocol, "check": check_protocol}


@dataclass(frozen=True, slots=True)
class ProtocolChoice:
    """The keys of ``[protocol]``.

    ``trials`` is ``standard`` (spontaneous, sinusoids, suppression, steps) or ``full`` (also
    calibration, saccades, gaze, pursuit, optokinetic, head shaking, impulses and calorics) or
    ``check`` (chair and recorder with an artificial eye).
    ``frequencies_hz`` are those of the sinusoids in the dark, ``peak_velocity_deg_s`` the peak of
    all sinusoids, ``step_velocity_deg_s`` the speed of the spins, ``light_leak`` the share (0–1)
    by which the
    room is seen in the trials in the dark.
    """

    trials: Literal["standard", "full", "check"] = "standard"
    frequencies_hz: tuple[float, ...] = PRACTICE_FREQUENCIES_HZ
    peak_velocity_deg_s: float = PEAK_DEG_S
    step_velocity_deg_s: float = STEP_DEG_S
    light_leak: float = 0.0


def plans_of(choice: ProtocolChoice) -> tuple[TrialPlan, ...]:
    """The trials in their order."""
    plans = _with_frequencies(PROTOCOLS[choice.trials](), choice.frequencies_hz)
    return tuple(_with_choice(plan, choice) for plan in plans)


def _with_frequencies(
    plans: tuple[TrialPlan, ...], frequencies_hz: tuple[float, ...]
) -> tuple[TrialPlan, ...]:
    """The plans with the sinusoids in the dark replaced, where the first of them stood."""
    if frequencies_hz == PRACTICE_FREQUENCIES_HZ:
        return plans
    usual = [plan for plan in plans if plan.kind == "sinusoid" and plan.vision == "dark"]
    if not usual:
        return plans
    place = plans.index(usual[0])
    rest = [plan for plan in plans if plan not in usual]
    return (*rest[:place], *map(sinusoid, frequencies_hz), *rest[place:])


def _with_choice(plan: TrialPlan, choice: ProtocolChoice) -> TrialPlan:
    leak = choice.light_leak if plan.vision == "dark" else 0.0
    if plan.kind == "sinusoid":
        return replace(plan, peak_velocity_deg_s=choice.peak_velocity_deg_s, light_leak=leak)
    if plan.kind == "step":
        return replace(plan, velocity_deg_s=choice.step_velocity_deg_s, light_leak=leak)
    return replace(plan, light_leak=leak)
