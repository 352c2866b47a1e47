"""What must not change, or must change in a known way, from samples to the measures of a session.

Whole simulated sessions go through the whole analysis; `test_properties` holds single trials of
made traces to the same rules.
"""

from dataclasses import replace
from functools import cache
from types import MappingProxyType

import numpy as np
import polars as pl
import pytest
import scenarios
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from slowphase.analysis.run import analyze
from slowphase.recording.read import read_session
from slowphase.recording.trial import Recording
from slowphase.recording.write import write_session

few = settings(
    max_examples=3,
    deadline=None,
    derandomize=True,
    phases=(Phase.explicit, Phase.generate),  # to shrink a failing session would take minutes
)
SEED = 3
IDS = (
    "spontaneous-dark",
    "sin-0.04",
    "sin-0.16",
    "sin-0.64",
    "fix-0.04",
    "step-right",
    "step-left",
)
NAMES = ("healthy-250", "acute-right-loss")
SCALED = ("gain", "gain_right", "gain_left", "bias", "offset", "peak_speed", "velocity")
SCALED += ("cumulative_eye_position",)
SIGNED = ("bias", "offset", "asymmetry", "time_constant_difference")
SWAPPED = MappingProxyType({"gain_right": "gain_left", "gain_left": "gain_right"})
UNBOUNDED = ("time_constant_raw",)  # shown beside the others, without an interval
FIXED_SPEED = ("duration",)  # to 1 deg/s, whatever the scale


@cache
def session(name):
    """Seven trials of a simulated session, every kind that is measured among them."""
    whole, _ = scenarios.scenario(name, SEED)
    return replace(whole, trials=tuple(trial for trial in whole.trials if trial.id in IDS))


def measures(given_session):
    return {measure.id: measure for measure in analyze(given_session).measures()}


@cache
def found(name):
    return measures(session(name))


def with_recordings(given_session, change):
    """The session with every recording changed."""
    trials = (replace(t, recording=change(t.recording)) for t in given_session.trials)
    return replace(given_session, trials=tuple(trials))


def with_eyes(recording, change):
    eyes = {role: change(trace) for role, trace in recording.channels.items()}
    return replace(recording, channels=eyes)


def comparable(before, after):
    """Pairs of measures that both have an interval with some width, by id.

    Nothing may appear or vanish, apart from what has no interval anyway.
    """
    assert set(before) == set(after)
    for key, one in before.items():
        other = after[key]
        if one.name in UNBOUNDED:
            continue
        assert (one.value is None) is (other.value is None), (key, one.why, other.why)
        if one.value is not None and one.low is not None and one.high > one.low:
            yield key, one, other


def beyond(one, other, factor=1.0):
    """By how much of the joint interval two values differ, the second divided by ``factor``."""
    value, low, high = (each / factor for each in (other.value, other.low, other.high))
    if value < one.value:
        reach = np.hypot(one.value - one.low, high - value)
    else:
        reach = np.hypot(one.high - one.value, value - low)
    return abs(value - one.value) / max(reach, 1e-12)


@few
@given(scale=st.floats(0.5, 2.0), name=st.sampled_from(NAMES))
def test_scaling_eye_position_scales_velocities_and_gains_and_nothing_else(scale, name):
    after = measures(
        with_recordings(session(name), lambda r: with_eyes(r, lambda eye: scale * eye))
    )
    for key, one, other in comparable_in_the_dark(found(name), after):
        factor = scale if one.name in SCALED else 1.0
        assert beyond(one, other, factor) <= 1.0, (key, scale, one, other)


def comparable_in_the_dark(before, after):
    """Without what depends on a fixed speed: durations, and responses too small to be any."""
    before, after = (
        {k: m for k, m in each.items() if "fix-" not in k and m.name not in FIXED_SPEED}
        for each in (before, after)
    )
    return comparable(before, after)


def limits(measure):
    """Value and interval, shape (3,); NaN where there is none."""
    return np.array([measure.value, measure.low, measure.high], dtype=float)


@few
@given(shift_s=st.integers(1, 86_400), late=st.booleans())
def test_a_clock_that_starts_at_another_time_changes_nothing(shift_s, late, tmp_path_factory):
    folder = tmp_path_factory.mktemp("shifted")
    some = replace(
        session("healthy-250"),
        trials=tuple(t for t in session("healthy-250").trials if t.id in ("sin-0.64", "step-left")),
    )
    file = write_session(some, folder)
    before = measures(read_session(file))
    shift = shift_s if late else -shift_s
    for trace in folder.rglob("*.csv"):
        table = pl.read_csv(trace)
        table.with_columns((pl.col("t") + shift).round(5)).write_csv(trace)
    after = measures(read_session(file))
    for key, one, other in comparable(before, after):
        assert one.why == other.why
        assert beyond(one, other) <= 0.02, (key, shift, one, other)  # a shifted clock is rounded


def in_the_mirror(trial):
    """The trial as a mirror shows it: left is right, for eyes, head and instructions."""
    r = trial.recording
    other = {"right": "left", "left": "right"}
    eyes = {}
    for role, trace in r.channels.items():
        plane, side = role.rsplit("_", 1)
        eyes[f"{plane}_{other[side]}"] = -trace if plane == "eye_h" else trace
    keys = dict(trial.stimulus)
    if "direction" in keys:
        keys["direction"] = other[keys["direction"]]
    turned = replace(r, channels=eyes, head_velocity_deg_s=-r.head_velocity_deg_s)
    return replace(trial, recording=turned, stimulus=keys)


def seen_in_the_mirror(key, name):
    """The id that a measure has in the mirror: of a pair of steps, the right one comes first."""
    place = key.removesuffix(name).replace("step-right~step-left", "step-left~step-right")
    return place + SWAPPED.get(name, name)


@pytest.mark.parametrize("name", NAMES)
def test_in_a_mirror_right_and_left_change_places_and_nothing_else_does(name):
    mirrored = replace(session(name), trials=tuple(map(in_the_mirror, session(name).trials)))
    after = measures(mirrored)
    opposite = {"right": "left", "left": "right", None: None}
    assert len(after) == len(found(name))
    for key, one in found(name).items():
        other = after[seen_in_the_mirror(key, one.name)]
        turns = one.name in SIGNED or (one.name == "velocity" and one.of == "horizontal")
        assert other.exciting == opposite[one.exciting]
        assert (other.grade, other.why) == (one.grade, one.why)
        expected = -limits(one)[[0, 2, 1]] if turns else limits(one)
        assert limits(other) == pytest.approx(expected, rel=1e-6, abs=1e-6, nan_ok=True), key


@cache
def the_wrong_way(name):
    """The measures where the eyes turn with the head: a channel with the wrong sign."""
    return measures(with_recordings(session(name), lambda r: with_eyes(r, lambda eye: -eye)))


@pytest.mark.parametrize("name", NAMES)
def test_an_eye_with_the_wrong_sign_answers_half_a_turn_off_with_negative_half_gains(name):
    for trial in ("sin-0.04", "sin-0.16", "sin-0.64"):
        before, after = (
            {n: each[f"{trial}/{n}"].value for n in (*SCALED[:4], "phase")}
            for each in (found(name), the_wrong_way(name))
        )
        assert after["gain"] == pytest.approx(before["gain"], rel=1e-3)
        assert abs(after["phase"] - before["phase"]) == pytest.approx(180.0, abs=0.05)
        for half in ("gain_right", "gain_left"):
            assert after[half] == pytest.approx(-before[half], rel=1e-3)
        assert after["bias"] == pytest.approx(-before["bias"], abs=0.01)


@pytest.mark.parametrize("name", NAMES)
def test_an_eye_with_the_wrong_sign_has_no_response_to_a_step_that_decays(name):
    for key, one in the_wrong_way(name).items():
        if key.startswith("step-") and one.of in ("per", "post"):
            if one.name == "gain":
                assert one.low <= 0.0
            elif one.name not in UNBOUNDED:
                assert one.value is None, key


@pytest.mark.parametrize("name", NAMES)
def test_an_eye_with_the_wrong_sign_is_not_graded_sound(name):
    after = the_wrong_way(name)
    for key in ("sin-0.16/gain", "sin-0.16/phase", "step-right/per/gain"):
        assert after[key].grade == "unusable"
        assert "wrong_way" in after[key].why


bursts = st.lists(st.tuples(st.floats(0.0, 1.0), st.floats(0.01, 1.5)), min_size=1, max_size=30)
HIDDEN_SHARE = 0.1


def hidden(recording, holes):
    """Bursts of (place as a share of the recording, length in s) lost, at most a tenth in all."""
    size = recording.time_s.size
    gone = np.zeros(size, dtype=bool)
    for place, length_s in holes:
        start = int(place * size)
        longer = gone.copy()
        longer[start : start + max(1, round(length_s * recording.sampling_hz))] = True
        if longer.mean() <= HIDDEN_SHARE:
            gone = longer
    return with_eyes(recording, lambda eye: np.where(gone, np.nan, eye))


@few
@given(holes=bursts, name=st.sampled_from(NAMES))
def test_hiding_a_tenth_of_the_samples_moves_no_measure_beyond_its_interval(holes, name):
    after = measures(with_recordings(session(name), lambda r: hidden(r, holes)))
    for key, one, other in comparable(found(name), after):
        assert beyond(one, other) <= 1.0, (key, one, other)


def halved(recording):
    """Every second sample."""
    eyes = {role: trace[::2] for role, trace in recording.channels.items()}
    head = recording.head_velocity_deg_s[::2]
    return Recording(recording.time_s[::2], recording.sampling_hz / 2, eyes, head, "measured")


@pytest.mark.parametrize("name", [*NAMES, "bilateral-partial", "leaky-gaze"])
def test_half_the_samples_a_second_move_no_measure_beyond_its_interval(name):
    after = measures(with_recordings(session(name), halved))
    for key, one, other in comparable(found(name), after):
        assert beyond(one, other) <= 1.0, (key, one, other)


def averaged(recording, factor=4):
    """Means of consecutive samples."""
    size = recording.time_s.size // factor * factor

    def mean(values):
        return values[:size].reshape(-1, factor).mean(axis=1)

    eyes = {role: mean(trace) for role, trace in recording.channels.items()}
    head = mean(recording.head_velocity_deg_s)
    rate = recording.sampling_hz / factor
    return Recording(mean(recording.time_s), rate, eyes, head, "measured")


def test_a_recording_at_1000_hz_says_the_same_as_its_averages_at_250_hz():
    after = measures(with_recordings(session("healthy-1000"), averaged))
    for key, one, other in comparable(found("healthy-1000"), after):
        assert beyond(one, other) <= 0.2, (key, one, other)


@few
@given(order=st.permutations(IDS))
def test_the_order_of_the_trials_does_not_matter_to_any_of_them(order):
    original = session("acute-right-loss")
    by_id = {trial.id: trial for trial in original.trials}
    shuffled = analyze(replace(original, trials=tuple(by_id[name] for name in order)))
    after = {measure.id: measure for trial in shuffled.trials for measure in trial.measures}
    assert after == {key: m for key, m in found("acute-right-loss").items() if key in after}
    assert [trial.id for trial in shuffled.trials] == list(order)
    assert len(after) > 60
