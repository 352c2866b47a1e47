from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import approx_fprime

from slowphase.fit import parameters as at
from slowphase.fit.session import session_reflex
from slowphase.fit.settings import FitSettings
from slowphase.fit.whole_session import fit_session
from slowphase.measures.settings import MeasureSettings
from slowphase.physiology.labyrinth import Direction, Reflex
from slowphase.physiology.labyrinths import Labyrinths
from slowphase.physiology.person import Person
from tests.fit.sessions import measured, mirrored, person_of, uneven

SETTINGS = FitSettings()


def carried(results):
    return tuple(result.carried for result in results if result.carried is not None)


def reflex_measures(results):
    reflex = session_reflex(results, SETTINGS, MeasureSettings())
    return {measure.name: measure for measure in reflex.measures}


@pytest.fixture(scope="module")
def fit():
    return fit_session(carried(measured(uneven(), 1)), SETTINGS)


def test_what_each_trial_sees_changes_with_the_parameters_as_scipys_differences_say(fit):
    point = fit.parameters + 0.01
    for place in fit.places:
        exact = place.derivatives(point)
        assert exact == pytest.approx(approx_fprime(point, place.local, 1e-7), abs=1e-5)


def test_the_slow_phase_changes_with_the_reflex_as_scipys_differences_say(fit):
    for place in fit.places:
        local = place.local(fit.parameters)
        model = place.trial.model
        numeric = approx_fprime(local, model, 1e-6)
        assert np.max(np.abs(model.jacobian(local) - numeric)) < 1e-3 * np.max(np.abs(numeric))


def test_an_uneven_reflex_comes_back_within_four_standard_errors(fit):
    person = uneven()
    right, left = person.reflex.right, person.reflex.left
    logs = np.log([right.dynamics.decay_s, left.dynamics.decay_s, right.dynamics.adaptation_s])
    truth = {
        at.RIGHT: right.gain,
        at.LEFT: left.gain,
        at.DECAY: 0.5 * (logs[0] + logs[1]),
        at.RATIO: logs[0] - logs[1],
        at.ADAPT: logs[2],
        at.LATENCY: person.reflex.latency_s,
        at.NYSTAGMUS: -3.0,
        at.CHANGE: 0.0,
        at.GAZE: 0.03,
    }
    assert fit.converged
    for index, true in truth.items():
        assert abs(fit.parameters[index] - true) < 4.0 * fit.standard_errors[index], index


def test_its_errors_are_no_wider_than_they_need_be(fit):
    """Gain within 1 %, time constant within 3 %: twelve trials say more than one."""
    assert np.all(fit.standard_errors[[at.RIGHT, at.LEFT]] < 0.01)
    assert fit.standard_errors[at.DECAY] < 0.03


def test_a_mirrored_patient_gives_mirrored_sides():
    one, other = (reflex_measures(measured(p, 2)) for p in (uneven(), mirrored(uneven())))
    for name in ("gain", "time_constant", "decay"):
        for side, opposite in (("right", "left"), ("left", "right")):
            here, there = one[f"{name}_{side}"], other[f"{name}_{opposite}"]
            assert here.value == pytest.approx(there.value, rel=0.05)
    assert one["nystagmus"].value == pytest.approx(-other["nystagmus"].value, abs=0.3)


@pytest.mark.parametrize(("bias", "least"), [(20.0, 1.5), (30.0, 2.0)])
def test_a_nystagmus_that_spoils_plain_time_constants_leaves_those_of_the_session_alone(
    bias, least
):
    """Of a gain of 0.65 the plain 37 % time of the response that the nystagmus adds to is more than
    half (20 deg/s) or more than twice (30 deg/s) too long: computed in REFERENCES, section 2."""
    side = Direction(gain=0.65)
    person = Person(reflex=Reflex(right=side, left=side))
    person = Person(reflex=person.reflex, spontaneous=type(person.spontaneous)(bias_deg_s=bias))
    results = measured(person, 3)
    found = reflex_measures(results)
    true = reflex_measures(measured(Person(reflex=person.reflex), 3))["time_constant_left"].value
    step = next(result for result in results if result.id == "step-left")
    plain = next(m for m in step.measures if m.id == "step-left/per/time_constant_raw")
    assert plain.value is None or plain.value > least * true
    assert found["time_constant_left"].value == pytest.approx(true, rel=0.1)
    assert found["time_constant_right"].value == pytest.approx(true, rel=0.1)


def test_without_a_response_gains_are_near_0_and_time_constants_are_missing_with_the_reason():
    nothing = Direction(gain=0.0)
    found = reflex_measures(measured(Person(reflex=Reflex(right=nothing, left=nothing)), 4))
    for side in ("right", "left"):
        gain, constant = found[f"gain_{side}"], found[f"time_constant_{side}"]
        assert gain.low <= 0.0 <= gain.high
        assert "no_response" in gain.why
        assert constant.value is None
        assert constant.why == ("no_response",)
    assert found["adaptation"].value is None


def test_without_a_moving_trial_in_the_dark_there_is_no_reflex():
    still = tuple(r for r in measured(uneven(), 1) if r.kind == "spontaneous")
    assert session_reflex(still, SETTINGS, MeasureSettings()) is None


@pytest.mark.parametrize("spoilt", ["unusable", "scene"])
def test_a_trial_that_does_not_show_the_reflex_takes_no_part(spoilt):
    results = measured(uneven(), 1)
    step = results[-1]
    if spoilt == "unusable":
        step = replace(step, quality=replace(step.quality, grade="unusable"))
    else:
        step = replace(step, carried=replace(step.carried, vision="earth-fixed scene"))
    reflex = session_reflex((*results[:-1], step), SETTINGS, MeasureSettings())
    assert reflex.view_of(step.id) is None
    assert reflex.view_of(results[-2].id) is not None


def test_with_one_fast_sinusoid_alone_the_session_says_what_it_cannot_tell():
    few = tuple(r for r in measured(uneven(), 1) if r.id in ("spontaneous-dark", "sin-0.64"))
    reflex = session_reflex(few, SETTINGS, MeasureSettings())
    assert "adaptation" in reflex.not_told
    assert reflex.agreement.p is None
    assert {m.name: m for m in reflex.measures}["gain_right"].value == pytest.approx(0.62, abs=0.05)


def test_the_views_hold_what_the_trials_measure():
    results = measured(uneven(), 1)
    reflex = session_reflex(results, SETTINGS, MeasureSettings())
    for result in results:
        view = reflex.view_of(result.id)
        own = {(m.of, m.name): m for m in result.measures}
        for key, estimate in view.predicted.items():
            measure = own[key]
            if measure.value is None:
                assert measure.why
                continue
            apart = abs(measure.value - estimate.value)
            assert apart < 3.0 * (measure.high - measure.low), (result.id, key)


def test_a_session_of_two_labyrinths_is_healthy_where_they_are():
    found = session_reflex(measured(person_of(Labyrinths()), 5), SETTINGS, MeasureSettings())
    assert {moved.where for moved in found.moved} == {"within"}


@pytest.mark.parametrize("kept", ["sin-0.16", "step-right", "sin-0.01"])
def test_a_single_trial_that_moves_is_fitted_and_the_rest_is_said_not_to_be_told(kept):
    alone = tuple(result for result in measured(uneven(), 1) if result.id == kept)
    reflex = session_reflex(alone, SETTINGS, MeasureSettings())
    assert "nystagmus_change" in reflex.not_told
    assert all(m.value is not None or m.why for m in reflex.measures)
