"""Simulated sessions with known truth, for the tests of the estimators and for benchmarks."""

from dataclasses import replace
from datetime import date
from typing import Any

import numpy as np

from slowphase.cli.simulated_session import session_from
from slowphase.physiology.labyrinth import Direction
from slowphase.physiology.person import Person
from slowphase.physiology.protocol import standard_protocol
from slowphase.physiology.scenario import Scenario, run, scenario_from
from slowphase.physiology.simulate import SimulatedTrial, TrialTruth
from slowphase.recording.session import Patient, Session

Table = dict[str, Any]


def _direction(gain: float, decay_s: float, **more: Any) -> Table:
    return {"gain": gain, "dynamics": {"decay_s": decay_s}} | more


def _sides(right: Table, left: Table) -> Table:
    return {"right": right, "left": left}


def _both(**keys: Any) -> Table:
    return {"reflex": _sides(keys, keys)}


def _rate(sampling_hz: float) -> Table:
    return {"equipment": {"sampling_hz": sampling_hz}}


def _person(**keys: Any) -> Table:
    return {"person": keys}


_ACUTE_RIGHT = _sides(
    _direction(0.22, 6.0, inhibited_share=0.8, cutoff_deg_s=80.0), _direction(0.45, 9.0)
)
_ACUTE_LEFT = _sides(_ACUTE_RIGHT["left"], _ACUTE_RIGHT["right"])
_SILENT = _sides(_direction(0.0, 5.0), _direction(0.0, 5.0))

_SMALL_QUICK_PHASES = {"busy_per_s": 6.0, "busy_deg_s": 10.0, "small_share": 0.6}
_DARK = tuple(plan.id for plan in standard_protocol() if plan.vision == "dark")

TABLES: dict[str, Table] = {
    "healthy-60": _rate(60.0),
    "healthy-120": _rate(120.0),
    "healthy-250": _rate(250.0),
    "healthy-500": _rate(500.0),
    "healthy-1000": _rate(1000.0),
    "coarse-noise": {"equipment": {"sampling_hz": 100.0, "noise_deg": 0.4, "quantum_deg": 0.05}},
    "electrodes": {
        "equipment": {
            "sampling_hz": 200.0,
            "method": "electrodes",
            "noise_deg": 0.35,
            "eyes": ["right"],
            "losses_per_min": 0.0,
        }
    },
    "acute-right-loss": _person(
        reflex=_ACUTE_RIGHT, spontaneous={"bias_deg_s": 18.0, "vertical_deg_s": -1.0}
    ),
    "acute-left-loss": _person(
        reflex=_ACUTE_LEFT,
        spontaneous={"bias_deg_s": -12.0},
        oculomotor={"gaze_leak_per_s": 0.05},
    ),
    "compensated": _person(
        reflex=_sides(_direction(0.5, 8.0), _direction(0.6, 10.0)),
        spontaneous={"bias_deg_s": 1.5},
    ),
    "bilateral-severe": _person(
        reflex=_sides(_direction(0.08, 3.5), _direction(0.06, 3.0)), blinking={"per_min": 14.0}
    ),
    "bilateral-partial": _person(reflex=_sides(_direction(0.3, 5.0), _direction(0.35, 6.0))),
    "no-response": _person(
        reflex=_SILENT, blinking={"per_min": 15.0}, oculomotor={"drift_deg_s": 0.6}
    ),
    "prolonged-storage": _person(reflex=_sides(_direction(0.7, 36.0), _direction(0.68, 32.0))),
    "poor-suppression": _person(fixation={"strength": 0.35}),
    "lapses": _person(alertness={"lapses_per_min": 0.8}),
    "drowsy-throughout": _person(
        alertness={"throughout": 0.6, "lapses_per_min": 0.4},
        oculomotor={
            "drift_deg_s": 0.8,
            "quick": {"busy_per_s": 2.5, "sequence": {"peak_deg_s": 360.0, "scale_deg": 9.0}},
        },
    ),
    "many-blinks": {
        "person": {"blinking": {"per_min": 40.0}},
        "equipment": {"losses_per_min": 6.0, "sampling_hz": 120.0},
    },
    "one-eye": {"equipment": {"eyes": ["right"], "vertical": False, "sampling_hz": 120.0}},
    "eye-lost-for-a-while": {"equipment": {"eye_lost_s": [20.0, 60.0]}},
    "saturation": _person(**_both(gain=0.7, saturation_deg_s=70.0)),
    "two-stage": _person(**_both(dynamics={"decay_s": 18.0, "cupula_s": 5.0, "store_weight": 0.8})),
    "adaptation-40": _person(**_both(dynamics={"decay_s": 15.0, "adaptation_s": 40.0})),
    "adaptation-200": _person(**_both(dynamics={"decay_s": 15.0, "adaptation_s": 200.0})),
    "fading-nystagmus": _person(
        spontaneous={"bias_deg_s": -2.0, "fading_deg_s": -6.0, "fading_s": 500.0}
    ),
    "dead-zone": _person(**_both(dead_zone_deg_s=3.0)),
    "square-wave-jerks": _person(oculomotor={"jerks_per_min": 25.0}),
    "leaky-gaze": _person(oculomotor={"gaze_leak_per_s": 0.1}, spontaneous={"bias_deg_s": 4.0}),
    "wavering": _person(alertness={"waver": 0.08}),
    "correlated-noise": {"equipment": {"wander_deg": 0.25, "wander_s": 0.4}},
    "electrodes-acute": {
        "person": {"reflex": _ACUTE_LEFT, "spontaneous": {"bias_deg_s": -9.0}},
        "equipment": {
            "sampling_hz": 120.0,
            "method": "electrodes",
            "noise_deg": 0.25,
            "eyes": ["right"],
            "losses_per_min": 0.0,
        },
    },
    "poor-suppression-bilateral": _person(
        reflex=_sides(_direction(0.4, 6.0), _direction(0.36, 5.0)), fixation={"strength": 0.2}
    ),
    "weak-chair": {"trial": [{"id": f"sin-{f:g}", "delivered": 0.85} for f in (0.16, 0.32, 0.64)]},
    "recorded-late": {
        "trial": [
            {"id": "sin-0.01", "recorded_from_s": 28.0},
            {"id": "sin-0.02", "recorded_from_s": 40.5},
            {"id": "sin-0.08", "recorded_from_s": 11.0},
            {"id": "sin-0.32", "recorded_from_s": 5.3},
        ]
    },
    "no-head-channel": {"equipment": {"head_recorded": False, "sampling_hz": 100.0}},
    "uneven-clock": {"equipment": {"sampling_hz": 100.0, "jitter": 0.15, "dropped": 0.01}},
}
HARD_TABLES: dict[str, Table] = {
    "goggle-slip": {"equipment": {"slip": {"per_min": 2.0, "step_deg": 4.0}}},
    "goggle-slip-one-eye": {
        "equipment": {"slip": {"at_s": [25.0], "step_deg": 5.0, "gain": 0.85, "eyes": ["left"]}}
    },
    "goggle-gain": {"equipment": {"slip": {"session_at_s": 500.0, "gain": 0.85}}},
    "half-closed-lids": {"equipment": {"half_lids": {"per_min": 4.0}, "sampling_hz": 120.0}},
    "half-closed-lid-of-one-eye": {
        "equipment": {"half_lids": {"per_min": 6.0, "noise_times": 6.0, "eyes": ["left"]}}
    },
    "one-bad-eye": {"equipment": {"bad_tracking": {"per_min": 3.0, "noise_times": 12.0}}},
    "one-bad-eye-throughout": {
        "equipment": {"bad_tracking": {"per_min": 60.0, "lasting_s": 30.0, "noise_times": 6.0}}
    },
    "chair-vibration": {"equipment": {"vibration": {"eye_deg": 0.15}}},
    "chair-vibration-strong": {
        "equipment": {"vibration": {"eye_deg": 0.3, "hz": 9.0}, "sampling_hz": 120.0}
    },
    "blinks-kept": {
        "person": {"blinking": {"per_min": 20.0}},
        "equipment": {"keeps_lost": True, "sampling_hz": 120.0},
    },
    "light-leak": {"trial": [{"id": id_, "light_leak": 0.4} for id_ in _DARK]},
    "light-leak-bilateral": {
        "person": {"reflex": _sides(_direction(0.2, 4.0), _direction(0.24, 5.0))},
        "trial": [{"id": id_, "light_leak": 0.6} for id_ in _DARK],
    },
    "calibration-high": {"equipment": {"calibration": 1.6}},
    "calibration-low": {"equipment": {"calibration": 0.6}},
    "late-head-clock": {"equipment": {"head_late_s": 0.04}},
    "early-head-clock": {"equipment": {"head_late_s": -0.04}},
    "roving-eyes": _person(
        alertness={
            "throughout": 0.65,
            "lapses_per_min": 0.5,
            "roving_deg": 7.0,
            "quick_rate": 0.6,
            "quick_speed": 0.7,
        }
    ),
    "small-quick-phases": {
        "person": {"oculomotor": {"quick": _SMALL_QUICK_PHASES}},
        "equipment": {"noise_deg": 0.15},
    },
    "small-quick-phases-bilateral": {
        "person": {
            "reflex": _sides(_direction(0.2, 5.0), _direction(0.22, 6.0)),
            "oculomotor": {"quick": _SMALL_QUICK_PHASES},
        },
        "equipment": {"noise_deg": 0.1},
    },
    "catch-up-saccades": _person(
        fixation={"strength": 0.8}, oculomotor={"catch_up_deg": 0.6}, spontaneous={"bias_deg_s": 6}
    ),
    "glissades": _person(oculomotor={"oscillation": 0.12, "glissade": 0.1}),
    "noise-1deg-60": {"equipment": {"sampling_hz": 60.0, "noise_deg": 1.0}},
    "noise-0.5deg-120": {"equipment": {"sampling_hz": 120.0, "noise_deg": 0.5}},
    "50-hz": {"equipment": {"sampling_hz": 50.0}},
}
NAMES = tuple(TABLES)  # those in which every estimator has to meet the bars of its tests
HARD_NAMES = tuple(HARD_TABLES)  # recordings to be survived: less accurate, or flagged
TABLES |= HARD_TABLES


def described(name: str, seed: int) -> Scenario:
    """The scenario's person, protocol and equipment; each seed is a slightly other person."""
    base = replace(scenario_from(TABLES[name]), seed=seed)
    return replace(base, person=_varied(base.person, np.random.default_rng([seed, 99])))


def _varied(person: Person, rng: np.random.Generator) -> Person:
    """Gains within 15 %, decays within 20 % and the bias within 25 % of the scenario's."""
    reflex = replace(
        person.reflex,
        right=_varied_side(person.reflex.right, rng),
        left=_varied_side(person.reflex.left, rng),
    )
    bias = person.spontaneous.bias_deg_s * rng.uniform(0.75, 1.25)
    return replace(person, reflex=reflex, spontaneous=replace(person.spontaneous, bias_deg_s=bias))


def _varied_side(side: Direction, rng: np.random.Generator) -> Direction:
    decay_s = side.dynamics.decay_s * rng.uniform(0.8, 1.2)
    gain = side.gain * rng.uniform(0.85, 1.15)
    return replace(side, gain=gain, dynamics=replace(side.dynamics, decay_s=decay_s))


def simulated(name: str, seed: int) -> tuple[SimulatedTrial, ...]:
    """The scenario's trials with everything the simulator knows of them."""
    return run(described(name, seed))


def scenario(name: str, seed: int) -> tuple[Session, dict[str, TrialTruth]]:
    """A session in memory and the truth of each of its trials."""
    trials = simulated(name, seed)
    session = session_from(
        trials, Patient(code=name, age_years=50.0, sex="unknown"), date(2026, 1, 15)
    )
    return session, {trial.plan.id: trial.truth for trial in trials}
