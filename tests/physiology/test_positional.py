"""The simulated burst of a positional nystagmus: course, sides, and what is recorded of it."""

import numpy as np
import pytest

from slowphase.cli.simulated_session import session_from
from slowphase.physiology.person import Person
from slowphase.physiology.positional import Positional, burst, loads, positional_velocity
from slowphase.physiology.protocol import positional
from slowphase.physiology.recorder import Equipment
from slowphase.physiology.scenario import run, scenario_from
from slowphase.physiology.simulate import simulate
from slowphase.recording.session import Patient

TIME_S = np.arange(0.0, 120.0, 0.01)


@pytest.mark.parametrize(("grow", "fade"), [(0.5, 5.0), (2.0, 9.0), (4.0, 30.0)])
def test_a_burst_waits_rises_to_1_and_fades(grow, fade):
    course = burst(Positional(onset_s=6.0, growing_s=grow, fading_s=fade), TIME_S)
    assert np.all(course[TIME_S <= 6.0] == 0.0)
    assert course.max() == pytest.approx(1.0, abs=1e-4)
    late = course[TIME_S > 60.0]
    # Far behind the peak the rise is over: a plain exponential (arithmetic).
    assert late[2000] / late[0] == pytest.approx(np.exp(-20.0 / fade), rel=0.01)


def test_each_side_is_moved_by_its_own_position_and_falls_back_on_rising():
    both = Positional(right=0.8, left=0.4, reversed_share=0.5)
    assert loads(both, "right, head hanging", "") == (0.8, 0.0)
    assert loads(both, "left, head hanging", "") == (0.0, 0.4)
    assert loads(both, "sitting", "right, head hanging") == (-0.4, 0.0)
    assert loads(both, "sitting", "") == (0.0, 0.0)


def test_the_canals_of_both_sides_are_mirror_images():
    right = positional_velocity(Positional(right=1.0), "right", "", TIME_S)
    left = positional_velocity(Positional(left=1.0), "left", "", TIME_S)
    assert np.array_equal(right[0], left[0])
    assert np.array_equal(right[1], -left[1])
    assert right[0].min() < -20.0  # slow phase down: the quick phase beats up


def test_true_measures_follow_from_the_course():
    plans = positional("right"), positional("right", rising=True)
    canals = Positional(right=1.0, onset_s=5.0)
    trials = simulate(Person(positional=canals), plans, Equipment(), seed=1)
    down, risen = (trial.truth.measures for trial in trials)
    assert down["vertical/peak"] == pytest.approx(-25.0, rel=0.02)
    assert risen["vertical/peak"] == pytest.approx(12.5, rel=0.02)
    assert down["torsional/peak"] == pytest.approx(-15.0, rel=0.02)
    assert down["latency"] == 5.0
    assert down["decay"] > 9.0
    still = simulate(Person(), plans, Equipment(), seed=1)[0].truth.measures
    assert set(still.values()) == {None}


def test_torsion_is_recorded_by_video_and_the_keys_tell_the_position():
    plans = positional("left"), positional("left", rising=True)
    person = Person(positional=Positional(left=1.0))
    trials = simulate(person, plans, Equipment(eyes=("right",)), seed=1)
    session = session_from(trials, Patient("invented", 50.0, "unknown"), None)
    first, second = session.trials
    assert "eye_t_right" in first.recording.channels
    assert first.stimulus == {"position": "left, head hanging", "positioned_s": 3.0}
    assert second.stimulus["sits_up_from"] == first.id
    electrodes = Equipment(method="electrodes")
    traces = simulate(person, plans, electrodes, seed=1)[0].traces
    assert not any(role.startswith("eye_t") for role in traces.channels)


def test_a_scenario_may_add_a_position():
    table = {
        "person": {"positional": {"right": 0.7}},
        "protocol": {"frequencies_hz": [0.64]},
        "trial": [
            {"id": "p", "kind": "positional", "position": "right, head hanging", "duration_s": 30.0}
        ],
    }
    trial = next(trial for trial in run(scenario_from(table)) if trial.plan.id == "p")
    assert trial.truth.measures["vertical/peak"] == pytest.approx(-0.7 * 25.0, rel=0.02)
