import numpy as np
import pytest
import scenarios

from slowphase.foundation.errors import UsageError
from slowphase.physiology.person import Person
from slowphase.physiology.protocol import standard_protocol
from slowphase.physiology.scenario import changed, scenario_from


def test_an_empty_table_is_the_healthy_person_with_the_standard_protocol():
    scenario = scenario_from({})
    assert scenario.person == Person()
    assert scenario.protocol == standard_protocol()


def test_tables_change_fields_within_fields_and_leave_the_rest():
    scenario = scenario_from({"person": {"reflex": {"right": {"dynamics": {"decay_s": 7.0}}}}})
    assert scenario.person.reflex.right.dynamics.decay_s == 7.0
    assert scenario.person.reflex.right.gain == Person().reflex.right.gain
    assert scenario.person.reflex.left == Person().reflex.left


def test_an_unknown_key_is_named_with_those_that_exist():
    with pytest.raises(UsageError, match=r"unknown 'biass'.*bias_deg_s"):
        changed(Person(), {"spontaneous": {"biass": 3.0}})


def test_trials_can_be_changed_dropped_and_repeated():
    entries = [
        {"id": "sin-0.02", "drop": True},
        {"id": "step-left", "delivered": 0.9},
        {"id": "again", "like": "sin-0.04", "after": "sin-0.04", "repeat_of": "sin-0.04"},
    ]
    plans = {plan.id: plan for plan in scenario_from({"trial": entries}).protocol}
    assert "sin-0.02" not in plans
    assert plans["step-left"].delivered == 0.9
    assert plans["again"].frequency_hz == 0.04
    order = list(plans)
    assert order.index("again") == order.index("sin-0.04") + 1


def test_lists_become_tuples():
    assert scenario_from({"equipment": {"eyes": ["left"]}}).equipment.eyes == ("left",)


def test_named_scenarios_vary_with_the_seed_and_repeat_with_it():
    one, again, other = (scenarios.described("compensated", seed) for seed in (1, 1, 2))
    assert one == again
    assert one.person.reflex.right.gain != other.person.reflex.right.gain


def test_hard_scenarios_are_apart_from_those_with_bars_to_meet():
    assert set(scenarios.NAMES) | set(scenarios.HARD_NAMES) == set(scenarios.TABLES)
    assert not set(scenarios.NAMES) & set(scenarios.HARD_NAMES)


@pytest.mark.parametrize("name", scenarios.TABLES)
def test_every_named_scenario_gives_a_truth_for_each_of_its_trials(name):
    session, truth = scenarios.scenario(name, 1)
    assert [trial.id for trial in session.trials] == list(truth)
    for trial in session.trials:
        assert trial.recording.time_s.shape == truth[trial.id].slow_phase_deg_s.shape
        assert np.isfinite(truth[trial.id].slow_phase_deg_s).all()
        assert all(
            mask.shape == trial.recording.time_s.shape for mask in truth[trial.id].bad.values()
        )
