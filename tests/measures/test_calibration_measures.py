from dataclasses import replace

import numpy as np
import pytest
from made_targets import calibration_trial, recorded, two_planes
from made_traces import by_name, measured, result_of

from slowphase.cli.simulated_session import session_from
from slowphase.physiology.person import Person
from slowphase.physiology.protocol import targets
from slowphase.physiology.recorder import Equipment
from slowphase.physiology.simulate import simulate
from slowphase.physiology.target_saccade import TargetSaccades
from slowphase.recording.session import Patient

# --- the project's own simulator ---------------------------------------------------------------

FAR = (0.0, -10.0, 10.0, -20.0, 20.0) * 6
EXACT = Person(saccades=TargetSaccades(corrected_beyond_deg=0.05))  # eyes that end on the target


def simulated(seed, places=FAR, person=None, calibration=1.0):
    plan = replace(targets("calibration"), targets_deg=places)
    equipment = Equipment(calibration=calibration)
    made = simulate(person or Person(), [plan], equipment, seed=seed)
    return session_from(made, Patient("T"), None).trials[0]


def gain_errors(person, calibration, seeds=10):
    """Relative errors of both eyes' gains, whose mismatch is a hundredth, and whether covered."""
    errors, covered = [], []
    for seed in range(seeds):
        found = measured(simulated(seed, person=person, calibration=calibration))
        for side, way in (("right", 1.0), ("left", -1.0)):
            gain, true = found[f"{side}/horizontal/gain"], calibration * (1.0 + 0.005 * way)
            errors.append(gain.value / true - 1.0)
            covered.append(gain.low <= true <= gain.high)
    return np.array(errors), np.array(covered)


@pytest.mark.parametrize("calibration", [0.8, 1.0, 1.3])
def test_gain_is_within_half_a_percent_where_eyes_end_on_the_target(calibration):
    errors, covered = gain_errors(EXACT, calibration)
    assert np.median(np.abs(errors)) < 0.005
    assert covered.mean() >= 0.9


def test_eyes_that_stop_short_cost_little_more_and_are_in_the_interval():
    errors, covered = gain_errors(Person(), 1.0)
    assert np.median(np.abs(errors)) < 0.01
    assert covered.mean() >= 0.9


def test_six_fixations_know_the_gain_roughly_and_say_so():
    found = measured(simulated(1, places=(0.0, -10.0, 10.0, -10.0, 10.0, 0.0)))
    gain = found["right/horizontal/gain"]
    assert 0.01 < (gain.high - gain.low) / 2 < 0.15
    assert gain.low < 1.005 < gain.high


# --- an eye made for the tests alone -----------------------------------------------------------

PLACES = [(0, 0), (-10, 0), (10, 0), (0, 10), (0, -10), (-20, 0), (20, 0), (-10, 8), (10, -8),
          (0, 0), (15, 5), (-15, -5), (10, 10), (-10, -10), (0, 0)]  # fmt: skip


def made(bend=0.0, squint=0.0, seed=0):
    """Both eyes in degrees; the recorder bends far positions, the left eye may wander off alone."""
    time_s, target, eye = two_planes(PLACES, 1.6, np.random.default_rng(seed))
    noise = np.random.default_rng(seed + 50).normal(0.0, 0.04, (2, *eye.shape))
    across = eye[:, 0] - bend * eye[:, 0] ** 3 / 400.0
    own = np.random.default_rng(seed + 9).normal(0.0, squint, len(PLACES) + 1)
    wander = own[np.minimum(((time_s - 1.0) / 1.6).astype(int), len(PLACES))]
    channels = {
        "eye_h_right": across + noise[0, :, 0],
        "eye_v_right": eye[:, 1] + noise[0, :, 1],
        "eye_h_left": across + wander + noise[1, :, 0],
        "eye_v_left": eye[:, 1] + noise[1, :, 1],
        "target_h": target[:, 0],
        "target_v": target[:, 1],
    }
    return calibration_trial(recorded(time_s, channels))


def test_a_recorder_that_bends_is_not_linear():
    straight, bent = measured(made()), measured(made(bend=0.35))
    assert straight["right/horizontal/linearity"].value < 0.3
    assert straight["right/horizontal/gain"].grade == "sound"
    assert bent["right/horizontal/linearity"].value > 2.0
    assert "not_linear" in bent["right/horizontal/gain"].why
    assert "not_linear" not in bent["right/vertical/gain"].why


def test_eyes_that_part_are_not_conjugate():
    together, apart = measured(made()), measured(made(squint=0.8))
    assert together["horizontal/conjugacy"].value < 0.1
    found = apart["horizontal/conjugacy"]
    assert found.low < 0.8 < found.high
    assert apart["vertical/conjugacy"].value < 0.1


def test_one_plane_of_targets_tells_nothing_of_the_other_gain():
    found = measured(simulated(2))
    assert found["right/vertical/gain"].why == ("targets_in_one_plane",)
    assert found["right/vertical/offset"].value is not None
    assert found["right/vertical/crosstalk"].unit == "%"


def test_a_refused_calibration_has_every_measure_with_its_reason():
    one = made()
    still = {
        r: c * (0.01 if r.startswith("eye") else 1.0) for r, c in one.recording.channels.items()
    }
    result = result_of(replace(one, recording=replace(one.recording, channels=still)))
    found = by_name(result)
    assert {found[f"{s}/horizontal/gain"].why for s in ("right", "left")} == {("did_not_look",)}
    assert result.quality.grade == "unusable"
    nothing = result_of(replace(one, recording=None))
    assert all(m.value is None and m.why for m in nothing.measures)


def test_a_calibration_with_one_eye_chosen_measures_that_eye_alone():
    found = measured(replace(made(), eye="left"))
    assert "left/horizontal/gain" in found
    assert "right/horizontal/gain" not in found
