"""The fast forward model of the teaching bench against the simulator, which it must not leave."""

import numpy as np
import pytest

from slowphase.physiology.lesson import LESSON_HZ, lesson
from slowphase.physiology.oculomotor import GRID_HZ
from slowphase.physiology.protocol import full_protocol, head_velocity
from slowphase.physiology.recorder import Equipment
from slowphase.physiology.short_form import ShortForm, person_of
from slowphase.physiology.simulate import simulate, wanted_velocity

LESIONS = {
    "healthy": ShortForm(),
    "acute right": ShortForm(right=0.0),
    "compensated left": ShortForm(left=0.2, compensated=0.9),
    "both": ShortForm(right=0.1, left=0.15),
    "storage lost": ShortForm(storage=0.4),
}


def mirrored(short):
    return ShortForm(
        right=short.left, left=short.right, compensated=short.compensated, storage=short.storage
    )


@pytest.mark.parametrize("name", LESIONS)
def test_the_slow_phase_is_that_of_the_simulator_s_fine_grid(name):
    person = person_of(LESIONS[name])
    for shown in lesson(LESIONS[name]):
        if shown.plan.kind not in ("spontaneous", "sinusoid", "step"):
            continue
        fine_s = np.arange(int(shown.plan.length_s * GRID_HZ)) / GRID_HZ
        fine = wanted_velocity(person, shown.plan, head_velocity(shown.plan, fine_s))
        expected = fine[:: round(GRID_HZ / LESSON_HZ)][: shown.time_s.size]
        away = np.abs(shown.slow_phase_deg_s[: expected.size] - expected)
        assert np.median(away) < 0.05
        assert np.max(away) < 1.0  # at the end of a ramp


@pytest.mark.parametrize("name", LESIONS)
def test_the_measures_are_the_simulator_s_truths(name):
    plans = [p for p in full_protocol() if p.kind in ("sinusoid", "step", "caloric")]
    plans = [p for p in plans if getattr(p, "frequency_hz", 1.0) >= 0.08 or p.kind != "sinusoid"]
    trials = simulate(person_of(LESIONS[name]), plans, Equipment(), seed=1)
    truths = {trial.plan.id: trial.truth.measures for trial in trials}
    for shown in lesson(LESIONS[name], plans):
        for key, value in shown.measures.items():
            told = truths[shown.plan.id][key]
            if key == "response":  # the lesson tells it in the expected direction
                told = abs(told)
            assert value == (None if told is None else pytest.approx(told, rel=0.01, abs=0.05))


PARTNERS = {
    "spontaneous-dark": "spontaneous-dark",
    "step-right": "step-left",
    "step-left": "step-right",
    "caloric-right-warm": "caloric-left-warm",
    "caloric-left-cool": "caloric-right-cool",
    "impulse-horizontal-right": "impulse-horizontal-left",
}


def test_mirroring_the_lesion_mirrors_every_trace():
    short = LESIONS["acute right"]
    other = {shown.plan.id: shown for shown in lesson(mirrored(short))}
    seen = [shown for shown in lesson(short) if shown.plan.id in PARTNERS]
    assert len(seen) == len(PARTNERS)
    for shown in seen:
        partner = other[PARTNERS[shown.plan.id]]
        np.testing.assert_allclose(shown.slow_phase_deg_s, -partner.slow_phase_deg_s, atol=1e-9)


def test_the_lost_side_has_the_lower_impulse_gain_and_the_weaker_calorics():
    found = {
        key: v for shown in lesson(LESIONS["acute right"]) for key, v in shown.measures.items()
    }
    assert found["right lateral/gain"] < found["left lateral/gain"]
    responses = {s.plan.id: s.measures["response"] for s in lesson(LESIONS["acute right"])
                 if s.plan.kind == "caloric"}  # fmt: skip
    assert abs(responses["caloric-right-warm"]) < 0.3 * responses["caloric-left-warm"]


def test_every_healthy_ear_answers_in_the_expected_direction():
    responses = [s.measures["response"] for s in lesson(ShortForm()) if s.plan.kind == "caloric"]
    assert len(responses) == 4
    assert min(responses) > 15.0


def test_drowsiness_shortens_the_time_constant_and_the_same_lesson_gives_the_same_lapses():
    def constant(alertness):
        by_id = {s.plan.id: s for s in lesson(ShortForm(alertness=alertness))}
        return by_id["step-right"]

    alert, drowsy = constant(1.0), constant(0.2)
    assert drowsy.measures["per/time_constant"] < 0.8 * alert.measures["per/time_constant"]
    np.testing.assert_array_equal(drowsy.slow_phase_deg_s, constant(0.2).slow_phase_deg_s)
