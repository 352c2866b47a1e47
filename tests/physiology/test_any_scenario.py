"""Whatever a scenario within its ranges asks for is simulated, or refused with a reason."""

from dataclasses import fields, is_dataclass

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from slowphase.foundation.errors import UsageError
from slowphase.physiology.field_check import ranges
from slowphase.physiology.person import Person
from slowphase.physiology.protocol import TrialPlan, standard_protocol
from slowphase.physiology.protocol_choice import ProtocolChoice
from slowphase.physiology.recorder import Equipment
from slowphase.physiology.scenario import run, scenario_from
from slowphase.physiology.session_truth import session_truth
from slowphase.physiology.short_form import ShortForm

DROPPED = [{"id": plan.id, "drop": True} for plan in standard_protocol()]


def _numbers(record):
    for field in fields(record):
        value = getattr(record, field.name)
        if is_dataclass(value):
            yield from _numbers(value)
        elif not isinstance(value, bool | str) and field.name not in ("eyes", "id"):
            yield field.name


@pytest.mark.parametrize(
    "record",
    [Person(), Equipment(), ShortForm(), ProtocolChoice(), TrialPlan(id="x", kind="step")],
    ids=lambda record: type(record).__name__,
)
def test_every_number_of_a_scenario_has_a_range_that_holds_its_default(record):
    words = ("reason", "repeat_of")
    names = {name for name in _numbers(record) if name not in words}
    assert names <= set(ranges())
    for name, allowed in ranges().items():
        assert allowed.low < allowed.high, name


def _within(name, high=None):
    allowed = ranges()[name]
    return st.floats(allowed.low, min(allowed.high, high) if high else allowed.high)


def _some(**keys):
    return st.fixed_dictionaries({}, optional=keys)


PEOPLE = _some(**{name: _within(name) for name in ShortForm.__dataclass_fields__})
EQUIPMENT = _some(
    sampling_hz=_within("sampling_hz", 500.0),
    method=st.sampled_from(["video", "electrodes"]),
    head_recorded=st.booleans(),
    jitter=_within("jitter"),
    keeps_lost=st.booleans(),
)
NUMBERS = {
    "duration_s": 25.0,
    "peak_velocity_deg_s": 300.0,
    "velocity_deg_s": 300.0,
    "rotation_s": 15.0,
    "rest_s": 15.0,
    "lead_s": 5.0,
    "tail_s": 3.0,
    "hold_s": 3.0,
    "eccentricity_deg": 40.0,
    "temperature_c": 60.0,
    "irrigation_s": 40.0,
    "stopped_after_s": 40.0,
    "recorded_from_s": 3.0,
}
KINDS = (
    "calibration",
    "gaze",
    "saccade",
    "pursuit",
    "optokinetic",
    "caloric",
    "impulse",
    "head-shaking",
)
TRIAL = _some(
    **{name: _within(name, high) for name, high in NUMBERS.items()},
    fixation_s=st.tuples(st.floats(0.0, 30.0), st.floats(0.0, 60.0)),
)


def _understood(table):
    try:
        return scenario_from(table), ""
    except UsageError as error:
        return None, str(error)


@settings(max_examples=60, deadline=None)
@given(
    PEOPLE,
    EQUIPMENT,
    TRIAL,
    st.sampled_from((*KINDS, "spontaneous", "sinusoid", "step")),
    st.sampled_from(["dark", "light", "head-fixed target"]),
    st.lists(_within("targets_deg"), max_size=4),
    st.integers(0, 1000),
)
def test_a_scenario_is_simulated_or_refused(person, equipment, trial, kind, vision, targets, seed):
    entry = {"id": "x", "kind": kind, "vision": vision, "targets_deg": targets} | trial
    entry |= {"frequency_hz": 0.3, "cycles": 2.5, "impulses": 3}
    table = {"person": person, "equipment": equipment, "trial": [*DROPPED, entry], "seed": seed}
    scenario, refused = _understood(table)
    if scenario is None:
        assert 'trial "x": ' in refused
        return
    trials = run(scenario)
    (done,) = trials
    assert np.isfinite(done.truth.position_deg).all()
    assert np.isfinite(done.truth.slow_phase_deg_s).all()
    values = [*done.truth.measures.values(), *session_truth(trials).values()]
    assert all(value is None or np.isfinite(value) for value in values)
