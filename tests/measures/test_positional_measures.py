"""Positional nystagmus: against simulated truth, an independent generator, and bad input."""

from dataclasses import replace

import numpy as np
import pytest
from gazes import following
from irrigations import RATE_HZ, wander
from made_traces import by_name, measured, result_of

from slowphase.cli.simulated_session import session_from
from slowphase.measures.kinds import measure_groups
from slowphase.measures.settings import MeasureSettings
from slowphase.physiology.person import Person
from slowphase.physiology.positional import Positional
from slowphase.physiology.protocol import positional
from slowphase.physiology.recorder import Equipment
from slowphase.physiology.simulate import simulate
from slowphase.recording.session import Patient
from slowphase.recording.trial import Recording, Trial

PLANS = tuple(positional(side, rising=up) for side in ("right", "left") for up in (False, True))


def simulated(seed, canals, *, plans=PLANS, equipment=None):
    person = Person(positional=canals)
    trials = simulate(person, plans, equipment or Equipment(), seed=seed)
    session = session_from(trials, Patient("invented", 50.0, "unknown"), None)
    return tuple(result_of(t) for t in session.trials), [t.truth.measures for t in trials]


def lying(
    *, up=0.0, turn=0.0, across=0.0, begins_s=4.0, peak_s=5.0, seed=0, length_s=55.0,
    reached_s=3.0, name="lying", steady=False, **keys,
):  # fmt: skip
    """A burst tⁿ·exp(−t) of another shape and nystagmus than the simulator's, ``peak_s`` from its
    beginning, which is ``begins_s`` after the position; ``steady``: it stays at its peak."""
    rng = np.random.default_rng(seed)
    time_s = np.arange(round(length_s * RATE_HZ)) / RATE_HZ
    since = np.maximum(time_s - reached_s - begins_s, 0.0) / peak_s
    course = since * np.exp(1.0 - since)
    if steady:
        course = np.where(since > 1.0, 1.0, course)
    channels = {}
    for role, peak, noise in (("h", across, 0.06), ("v", up, 0.06), ("t", turn, 0.12)):
        slow = peak * course + wander(time_s.size, rng)
        eye = following(np.zeros(time_s.size), 0.0, 0.0, slow, rng)
        channels[f"eye_{role}_right"] = eye + rng.normal(0.0, noise, time_s.size)
    stimulus = {"position": "right, head hanging", "positioned_s": reached_s, **keys}
    known = {key: value for key, value in stimulus.items() if value is not None}
    recording = Recording(time_s, RATE_HZ, channels)
    return Trial(id=name, kind="positional", vision="dark", stimulus=known, recording=recording)


@pytest.fixture(scope="module")
def many():
    rng = np.random.default_rng(2)
    rows = []
    for seed in range(10):
        canals = Positional(
            right=rng.uniform(0.3, 1.0),
            left=rng.uniform(0.3, 1.0),
            onset_s=rng.uniform(2.0, 8.0),
            growing_s=rng.uniform(1.0, 4.0),
            fading_s=rng.uniform(5.0, 12.0),
        )
        rows += list(zip(*simulated(seed, canals), strict=True))
    return [(by_name(result), truth) for result, truth in rows]


@pytest.mark.parametrize("plane", ["vertical", "torsional"])
def test_simulated_peaks_come_back(many, plane):
    errors = [
        abs(found[f"{plane}/peak"].value - truth[f"{plane}/peak"])
        / max(1.0, 0.1 * abs(truth[f"{plane}/peak"]))
        for found, truth in many
    ]
    assert np.median(errors) < 0.5
    assert np.percentile(errors, 90) < 1.1


def test_simulated_latencies_and_decays_come_back_and_intervals_cover(many):
    large = [(f, t) for f, t in many if abs(t["vertical/peak"]) > 6.0]
    late = [abs(found["latency"].value - true["latency"]) for found, true in large]
    fade = [
        abs(found["decay"].value / true["decay"] - 1.0)
        for found, true in large
        if found["decay"].value is not None
    ]
    assert len(fade) >= 0.9 * len(large) >= 20
    assert np.percentile(late, 90) < 1.2
    assert np.median(fade) < 0.1
    assert np.percentile(fade, 90) < 0.3
    inside = [
        found["latency"].low <= true["latency"] <= found["latency"].high for found, true in large
    ]
    assert np.mean(inside) >= 0.85


def test_the_right_canal_beats_up_and_toward_the_right_and_turns_on_rising():
    results, _ = simulated(3, Positional(right=0.8))
    down, risen, *_ = (by_name(result) for result in results)
    assert down["vertical/peak"].value < -10.0
    assert down["torsional/peak"].value < -5.0
    assert risen["vertical/peak"].value > 5.0
    (group,) = measure_groups(results, MeasureSettings())
    turned = {m.of: m for m in group.measures}["position-right"]
    assert turned.value == pytest.approx(50.0, abs=10.0)
    assert turned.low < 50.0 < turned.high
    assert "reverses_on_rising" in turned.why


@pytest.mark.parametrize("seed", range(6))
def test_a_still_eye_has_no_positional_nystagmus(seed):
    found = measured(lying(seed=seed))
    for plane in ("horizontal", "vertical", "torsional"):
        assert "no_positional_nystagmus" in found[f"{plane}/peak"].why
    assert found["latency"].why == ("no_positional_nystagmus",)
    assert found["decay"].value is None


@pytest.mark.parametrize("seed", range(5))
@pytest.mark.parametrize(("up", "turn", "across"), [(-20.0, -10.0, 0.0), (3.0, 0.0, 30.0)])
def test_an_independent_generator_s_burst_comes_back(seed, up, turn, across):
    """x·exp(1 − x) reaches a tenth at x = 0.038 and 4.89, 1/e of its peak at 3.15 (computed)."""
    found = measured(lying(up=up, turn=turn, across=across, seed=seed))
    assert found["vertical/peak"].value == pytest.approx(up, abs=1.5)
    assert found["torsional/peak"].value == pytest.approx(turn, abs=2.0)
    assert found["horizontal/peak"].value == pytest.approx(across, abs=1.5)
    assert found["latency"].value == pytest.approx(4.0 + 0.038 * 5.0, abs=1.2)
    assert found["duration"].value == pytest.approx((4.89 - 0.038) * 5.0, abs=4.0)
    assert found["decay"].value == pytest.approx((3.15 - 1.0) * 5.0, abs=2.5)


def test_mirroring_turns_the_peaks_and_nothing_else():
    trial = lying(up=4.0, across=20.0, seed=2)
    channels = {
        role: -values if "_h_" in role else values
        for role, values in trial.recording.channels.items()
    }
    turned = replace(trial, recording=replace(trial.recording, channels=channels))
    one, other = measured(trial), measured(turned)
    assert other["horizontal/peak"].value == pytest.approx(-one["horizontal/peak"].value, rel=1e-6)
    for name in ("vertical/peak", "latency", "duration", "decay"):
        assert other[name].value == pytest.approx(one[name].value, rel=1e-6)


def test_a_nystagmus_that_stays_has_no_end_and_says_that_it_lasts():
    found = measured(lying(across=12.0, steady=True, length_s=90.0))["duration"]
    assert found.value is None
    assert set(found.why) == {"response_outlasts", "lasting_nystagmus"}
    short = measured(lying(across=12.0, steady=True, length_s=40.0))["duration"]
    assert short.why == ("response_outlasts",)


def test_a_nystagmus_that_is_there_at_once_has_no_latency():
    found = measured(lying(across=15.0, steady=True, begins_s=-8.0, reached_s=3.0))["latency"]
    assert found.value == 0.0
    assert "begins_at_once" in found.why


def test_without_the_time_of_the_position_latency_counts_from_the_start_and_says_so():
    told = measured(lying(up=-20.0))["latency"]
    found = measured(lying(up=-20.0, positioned_s=None))["latency"]
    assert found.value == pytest.approx(told.value + 3.0, abs=0.7)
    assert found.why == ("position_time_unknown",)
    assert found.grade == "caution"


def test_a_position_that_is_not_there_leaves_the_reversal_without_its_partner():
    risen = result_of(lying(up=10.0, name="risen", sits_up_from="nobody"))
    (group,) = measure_groups((risen,), MeasureSettings())
    found = group.measures[-1]
    assert found.value is None
    assert found.why == ("partner_missing",)


def test_a_nystagmus_that_goes_on_the_same_way_is_no_reversal():
    trials = lying(up=-20.0), lying(up=-10.0, seed=1, name="risen", sits_up_from="lying")
    (group,) = measure_groups(tuple(result_of(t) for t in trials), MeasureSettings())
    assert group.measures[-1].value == pytest.approx(-50.0, abs=12.0)
    assert "reverses_on_rising" not in group.measures[-1].why


def test_positions_with_a_nystagmus_are_counted():
    trials = lying(up=-20.0), lying(seed=1, name="still")
    (group,) = measure_groups(tuple(result_of(t) for t in trials), MeasureSettings())
    (count,) = group.measures
    assert (count.name, count.value) == ("positions_beating", 1.0)


def test_too_little_of_an_eye_leaves_every_measure_present_and_missing():
    trial = lying(up=-20.0)
    for channel in trial.recording.channels.values():
        channel[450:] = np.nan
    result = result_of(trial)
    assert {m.name for m in result.measures} >= {"peak", "latency", "duration", "decay"}
    assert all(m.value is None and m.why for m in result.measures)


def test_without_vertical_and_torsional_channels_the_horizontal_plane_is_measured():
    trial = lying(across=20.0)
    channels = {"eye_h_right": trial.recording.channels["eye_h_right"]}
    found = measured(replace(trial, recording=replace(trial.recording, channels=channels)))
    assert found["horizontal/peak"].value == pytest.approx(20.0, abs=1.5)
    assert "vertical/peak" not in found
