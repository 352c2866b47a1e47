from dataclasses import replace
from datetime import date

import numpy as np
import pytest
from made_traces import measured, recorded, result_of, times, trial
from scipy.optimize import curve_fit

import slowphase
from slowphase.cli.simulated_session import session_from
from slowphase.measures.kinds import measure_groups
from slowphase.measures.settings import MeasureSettings
from slowphase.physiology.optokinetic import Optokinetic
from slowphase.physiology.person import Person
from slowphase.physiology.protocol import optokinetic
from slowphase.physiology.recorder import Equipment
from slowphase.physiology.simulate import simulate
from slowphase.physiology.spontaneous import Spontaneous
from slowphase.recording.session import Patient

# --- the project's own simulator ---------------------------------------------------------------


def simulated(seed, person=None, directions=("right", "left")):
    plans = [optokinetic(direction) for direction in directions]
    made = simulate(person or Person(), plans, Equipment(), seed=seed)
    session = session_from(made, Patient("T"), date(2026, 3, 2))
    return list(zip(session.trials, (trial.truth for trial in made), strict=True))


def test_steady_gain_and_after_nystagmus_of_simulated_trials_come_back():
    gains, starts, decays = [], [], []
    for seed in range(6):
        for one, truth in simulated(seed):
            found = measured(one)
            way = "rightward" if "right" in one.id else "leftward"
            gains.append(found[f"{way}/gain"].value - truth.measures["gain"])
            starts.append(found["after/velocity"].value - truth.measures["after/velocity"])
            known = found["after/time_constant"].value
            decays.append(known / truth.measures["after/time_constant"])
    assert np.abs(gains).max() < 0.05
    assert np.median(np.abs(starts)) < 1.0
    assert 0.6 < np.median(decays) < 1.3


def test_intervals_cover_the_simulated_truth():
    hits = []
    for seed in range(8):
        for one, truth in simulated(seed):
            for measure in measured(one).values():
                key = f"after/{measure.name}" if measure.of == "after" else measure.name
                if key in truth.measures and measure.value is not None:
                    hits.append(measure.low <= truth.measures[key] <= measure.high)
    assert len(hits) > 40
    assert np.mean(hits) >= 0.83


def test_scenes_to_both_sides_make_one_group_with_their_asymmetry():
    results = tuple(result_of(one) for one, _ in simulated(3))
    groups = measure_groups(results, MeasureSettings())
    assert [group.trials for group in groups] == [("optokinetic-right", "optokinetic-left")]
    asymmetry = groups[0].measures[0]
    assert asymmetry.low < 0.0 < asymmetry.high
    assert abs(asymmetry.value) < 5.0
    other = replace(results[1], stimulus=dict(results[1].stimulus) | {"velocity_deg_s": 60.0})
    assert measure_groups((results[0], other), MeasureSettings()) == ()


def test_a_patient_without_a_store_has_no_after_nystagmus():
    person = Person(optokinetic=Optokinetic(stored=0.0), spontaneous=Spontaneous(bias_deg_s=0.0))
    found = measured(simulated(1, person)[0][0])
    assert found["after/time_constant"].why[0] == "no_after_nystagmus"
    assert abs(found["after/velocity"].value) < 1.5


@pytest.mark.parametrize("bias", [8.0, 25.0])
def test_after_nystagmus_beside_a_spontaneous_nystagmus_comes_back_within_its_interval(bias):
    person = Person(spontaneous=Spontaneous(bias_deg_s=bias))
    apart, hits = [], []
    for seed in range(8):
        for one, truth in simulated(seed, person):
            found = measured(one)
            for name in ("after/velocity", "after/time_constant"):
                measure, known = found[name], truth.measures[name]
                assert measure.value is not None
                assert measure.grade != "unusable"
                hits.append(measure.low <= known <= measure.high)
            velocity, known = found["after/velocity"].value, truth.measures["after/velocity"]
            assert np.sign(velocity) == np.sign(known)
            apart.append(abs(velocity - known))
    assert np.mean(hits) >= 0.85
    assert np.max(apart) < 2.0
    assert np.median(apart) < 0.6


# --- an eye made for the tests alone -----------------------------------------------------------

STEADY, STORED, CHARGING_S, DECAY_S = 24.0, 6.0, 8.0, 12.0


def made(sign=1.0, *, seed=0, rest_s=40.0, nystagmus=0.0, **keys):
    """A slow phase that rises to 24 deg/s while a scene of 30 deg/s moves for 40 s, then decays."""
    time_s = times(45.0 + rest_s)
    since = time_s - 5.0
    lit = (since >= 0) & (since < 40.0)
    dark = since >= 40.0
    velocity = np.full(time_s.size, nystagmus)
    velocity[lit] += STEADY - STORED * np.exp(-since[lit] / CHARGING_S)
    velocity[dark] += STORED * np.exp(-(since[dark] - 40.0) / DECAY_S)
    stimulus = {"velocity_deg_s": 30.0, "direction": "right" if sign > 0 else "left",
                "moving_s": [5.0, 45.0]} | keys  # fmt: skip
    recording = recorded(sign * velocity, None, time_s, seed=seed)
    return trial("optokinetic", recording, vision="light", **stimulus), sign * velocity


@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_gain_store_and_decay_of_an_eye_that_somebody_else_made_come_back(sign):
    found = measured(made(sign)[0])
    way = "rightward" if sign > 0 else "leftward"
    assert found[f"{way}/gain"].value == pytest.approx(STEADY / 30.0, abs=0.01)
    assert found["after/velocity"].value == pytest.approx(sign * STORED, abs=0.4)
    assert found["after/time_constant"].value == pytest.approx(DECAY_S, rel=0.12)


def test_the_decay_agrees_with_the_curve_fit_of_scipy():
    one, velocity = made(seed=2, nystagmus=0.8)
    time_s = one.recording.time_s
    dark = time_s > 46.0

    def model(t, rest, start, decay):
        return rest + start * np.exp(-(t - 45.0) / decay)

    known = curve_fit(model, time_s[dark], velocity[dark], p0=[0.0, 5.0, 10.0])[0]
    found = measured(one)
    assert found["after/velocity"].value == pytest.approx(known[1], abs=0.4)
    assert found["after/time_constant"].value == pytest.approx(known[2], rel=0.15)


@pytest.mark.parametrize("nystagmus", [-25.0, 25.0])
def test_a_strong_nystagmus_is_not_called_stored(nystagmus):
    found = measured(made(nystagmus=nystagmus, rest_s=30.0)[0])
    assert found["after/velocity"].value == pytest.approx(STORED, abs=0.6)
    assert found["after/velocity"].grade == "sound"
    assert found["after/time_constant"].value == pytest.approx(DECAY_S, rel=0.15)


def still_before(one):
    """The trial with an eye that stands still until the scene moves, as at a target."""
    eye, time_s = one.recording.channels["eye_h_right"].copy(), one.recording.time_s
    before = time_s < 5.0
    eye[before] = eye[before.sum()] + np.random.default_rng(5).normal(0.0, 0.03, before.sum())
    return replace(one, recording=replace(one.recording, channels={"eye_h_right": eye}))


def test_a_target_before_the_scene_does_not_hide_the_nystagmus_of_the_dark():
    found = measured(still_before(made(nystagmus=25.0)[0]))
    assert found["after/velocity"].value == pytest.approx(STORED, abs=0.6)
    assert found["after/velocity"].why == ("rest_before_differs",)
    assert found["after/velocity"].grade == "caution"


def test_a_weak_nystagmus_that_a_target_hid_before_the_scene_leaves_the_interval_true():
    person = Person(spontaneous=Spontaneous(bias_deg_s=3.0))
    apart, hits = [], []
    for seed in range(8):
        for one, truth in simulated(seed, person):
            eyes = {}
            for role, trace in one.recording.channels.items():
                before = one.recording.time_s < one.stimulus["moving_s"][0]
                noise = np.random.default_rng(seed).normal(0.0, 0.03, before.size)
                held = trace[before.sum()] + noise
                eyes[role] = np.where(before & role.startswith("eye_h"), held, trace)
            seen = replace(one, recording=replace(one.recording, channels=eyes))
            velocity, known = measured(seen)["after/velocity"], truth.measures["after/velocity"]
            hits.append(velocity.low <= known <= velocity.high)
            apart.append(abs(velocity.value - known))
    assert np.mean(hits) >= 0.8
    assert np.median(apart) < 0.9


def test_short_darkness_that_cannot_part_store_and_nystagmus_says_so():
    one, _ = made(nystagmus=25.0, rest_s=7.0)
    known = measured(one)["after/velocity"]
    assert known.low <= STORED <= known.high
    assert known.grade == "sound"
    inside = one.recording.time_s >= 5.0
    recording = replace(
        one.recording,
        time_s=one.recording.time_s[inside] - 5.0,
        channels={"eye_h_right": one.recording.channels["eye_h_right"][inside]},
    )
    keys = dict(one.stimulus) | {"moving_s": [0.0, 40.0]}
    found = measured(replace(one, recording=recording, stimulus=keys))
    for name in ("after/velocity", "after/time_constant"):
        assert found[name].why == ("poorly_determined",)
        assert found[name].grade == "unusable"


def test_mirroring_the_eye_and_the_scene_mirrors_the_after_nystagmus_alone():
    straight, mirrored = measured(made(1.0)[0]), measured(made(-1.0)[0])
    assert mirrored["leftward/gain"].value == pytest.approx(
        straight["rightward/gain"].value, abs=0.01
    )
    assert mirrored["after/velocity"].value == pytest.approx(
        -straight["after/velocity"].value, abs=0.4
    )


# --- bad input ---------------------------------------------------------------------------------


def test_a_signed_velocity_tells_the_direction_where_no_word_does():
    one, _ = made(-1.0)
    keys = {"velocity_deg_s": -30.0, "moving_s": [5.0, 45.0]}
    found = measured(replace(one, stimulus=keys))
    assert found["leftward/gain"].value == pytest.approx(0.8, abs=0.01)


def test_an_eye_that_goes_against_the_scene_has_a_negative_gain():
    one, _ = made(1.0)
    found = measured(replace(one, stimulus=dict(one.stimulus) | {"direction": "left"}))
    assert found["leftward/gain"].value < -0.5
    assert "wrong_way" in found["leftward/gain"].why
    assert found["leftward/gain"].grade == "unusable"


def test_a_weak_answer_in_either_direction_is_no_wrong_way():
    one, _ = made()
    slow = recorded(np.full(times(85.0).size, -1.5), None, times(85.0), seed=4)
    gain = measured(replace(one, recording=slow))["rightward/gain"]
    assert gain.value == pytest.approx(-0.05, abs=0.02)
    assert "wrong_way" not in gain.why


def test_a_bare_speed_tells_no_direction():
    one, _ = made()
    keys = {"velocity_deg_s": 30.0, "moving_s": [5.0, 45.0]}
    assert measured(replace(one, stimulus=keys))["gain"].why == ("scene_unknown",)


@pytest.mark.parametrize("way", ["up", "down"])
def test_eyes_that_beat_across_the_scene_give_no_gain(way):
    one, _ = made()
    channels = dict(one.recording.channels)
    rng = np.random.default_rng(1)
    channels["eye_v_right"] = rng.normal(0.0, 0.05, one.recording.time_s.size)
    both = replace(one.recording, channels=channels)
    found = measured(replace(one, recording=both, stimulus=dict(one.stimulus) | {"direction": way}))
    gain = found["upward/gain" if way == "up" else "downward/gain"]
    assert "scene_in_other_plane" in gain.why
    assert gain.grade == "unusable"


def test_unknown_scenes_and_missing_darkness_each_get_their_word():
    one, _ = made()
    assert measured(replace(one, stimulus={}))["gain"].why == ("scene_unknown",)
    untimed = {"velocity_deg_s": 30.0, "direction": "right"}
    found = measured(replace(one, stimulus=untimed))
    assert found["rightward/gain"].why == ("scene_not_timed",)
    assert found["rightward/gain"].value is None
    assert found["after/velocity"].value is None
    short = measured(made(rest_s=3.0)[0])
    assert short["after/velocity"].why == ("no_darkness_after",)
    assert short["rightward/gain"].value == pytest.approx(0.8, abs=0.02)


@pytest.mark.parametrize(("bias", "beside"), [(0.0, False), (12.0, True)])
def test_a_gain_beside_a_nystagmus_says_that_some_of_it_is_left_in(bias, beside):
    person = Person(spontaneous=Spontaneous(bias_deg_s=bias))
    plans = (optokinetic("right"), optokinetic("left"))
    session = session_from(simulate(person, plans, Equipment(), seed=3), Patient("X"), None)
    found = {m.id: m for m in slowphase.analyze(session).measures()}
    gains = [m for id_, m in found.items() if id_.endswith("ward/gain")]
    assert len(gains) == 2
    assert all(("nystagmus_in_gain" in m.why) is beside for m in gains)
