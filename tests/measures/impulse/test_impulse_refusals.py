"""Bad impulses and bad input: each gets its word, and the rest is measured."""

from dataclasses import replace

import numpy as np
import pytest
from made_impulses import Given, Made, measured, own, recording_of, series, table, trial_of

from slowphase.eye.settings import EyeSettings
from slowphase.measures.kinds import measure_trial
from slowphase.measures.settings import MeasureSettings

CANALS = ("right lateral", "left lateral")


def with_one(changed, at=4, count=12, **keys):
    """A good series in which one impulse is another."""
    given = list(series(count, seed=1, gains=(0.9, 0.9), **keys))
    given[at] = changed(given[at])
    return tuple(given)


def reasons_of(result, name="gain"):
    return {measure.of: measure.why for measure in result.measures if measure.name == name}


@pytest.mark.parametrize(
    ("change", "reason"),
    [
        (lambda one: replace(one, turn_deg=6.5), "impulse_too_slow"),
        (lambda one: replace(one, turn_deg=15.0, lasting_s=0.28), None),
        (lambda one: replace(one, bounce=0.5), "impulse_bounced"),
        (lambda one: replace(one, bounce=0.1), None),
    ],
    ids=["slow", "long but fast enough", "bounce", "small bounce"],
)
def test_one_bad_impulse_is_refused_and_the_others_stand(change, reason):
    found = own(measured(recording_of(Made(with_one(change)))))
    assert [one.refused for i, one in enumerate(found.impulses) if i != 4] == [()] * 11
    assert found.impulses[4].refused == (() if reason is None else (reason,))


def test_a_movement_too_slow_to_be_a_push_is_not_listed():
    given = (*series(8, seed=1)[:8], Given(60.0, 1, turn_deg=50.0, lasting_s=1.0))
    assert len(own(measured(recording_of(Made(given)))).impulses) == 8


def test_an_impulse_out_of_a_moving_head_is_refused():
    given = series(10, seed=1)
    recording = recording_of(Made(given))
    since = recording.time_s - given[3].onset_s
    moving = -35.0 * ((since > -0.25) & (since < -0.004)) * given[3].side
    head = recording.head_velocity_deg_s + moving
    found = own(measured(replace(recording, head_velocity_deg_s=head)))
    assert "impulse_not_from_rest" in found.impulses[3].refused


def test_a_gaze_off_the_target_is_refused():
    given = series(10, seed=1)
    recording = recording_of(Made(given))
    away = 12.0 * (np.abs(recording.time_s - given[5].onset_s) < 0.7)
    channels = {role: values + away for role, values in recording.channels.items()}
    found = own(measured(replace(recording, channels=channels)))
    assert found.impulses[5].refused == ("impulse_gaze_off",)
    assert sum(one.accepted for one in found.impulses) == 9


def test_a_noisy_trace_is_refused():
    result = measured(recording_of(Made(series(8, seed=1), noise_deg=1.5)))
    assert all("impulse_noisy" in one.refused for one in own(result).impulses)
    assert {why[0] for why in reasons_of(result).values()} == {"no_impulse_accepted"}
    assert table(result)["right lateral", "refused"].value == 4


def test_an_impulse_at_the_end_of_the_recording_is_cut():
    recording = recording_of(Made(series(8, seed=1)))
    last = own(measured(recording)).impulses[-1].onset_s
    keep = recording.time_s < last + 0.1
    channels = {role: values[keep] for role, values in recording.channels.items()}
    cut = replace(
        recording, time_s=recording.time_s[keep], channels=channels,
        head_velocity_deg_s=recording.head_velocity_deg_s[keep],
    )  # fmt: skip
    found = own(measured(cut))
    assert "impulse_cut" in found.impulses[-1].refused
    assert found.impulses[-1].response is None


def test_a_head_channel_that_is_lost_for_a_moment_cuts_its_impulse():
    recording = recording_of(Made(series(8, seed=1)))
    third = own(measured(recording)).impulses[2].onset_s
    lost = np.abs(recording.time_s - third - 0.15) < 0.03
    head = np.where(lost, np.nan, recording.head_velocity_deg_s)
    found = own(measured(replace(recording, head_velocity_deg_s=head)))
    assert [one.refused for one in found.impulses if not one.accepted] == [("impulse_cut",)]


def test_impulses_of_mixed_planes_are_told_by_the_head_s_other_axes():
    given = series(12, seed=1)

    def pitching(time_s):
        pitch = np.zeros(time_s.size)
        for one in given[::3]:
            inside = np.abs(time_s - one.onset_s - 0.08) < 0.08
            pitch += np.where(inside, 150.0, 0.0)
        return pitch

    found = own(measured(recording_of(Made(given, extra={"head_velocity_pitch": pitching}))))
    off = [i for i, one in enumerate(found.impulses) if one.refused == ("impulse_off_plane",)]
    assert off == [0, 3, 6, 9]
    assert sum(one.accepted for one in found.impulses) == 8


def test_impulses_of_another_plane_are_told_by_the_eyes():
    """A file of RALP impulses that says it is lateral: the vertical eye answers."""
    upright = recording_of(Made(series(8, seed=1)), role="eye_v")
    still = 0.02 * np.random.default_rng(3).standard_normal(upright.time_s.size)
    mixed = replace(upright, channels=upright.channels | {"eye_h_right": still})
    result = measured(mixed, plane="lateral")
    assert {one.refused[0] for one in own(result).impulses} == {"impulse_off_plane"}
    assert {why[0] for why in reasons_of(result).values()} == {"no_impulse_accepted"}


def test_a_head_in_radians_is_told():
    recording = recording_of(Made(series(12, seed=1)))
    small = replace(recording, head_velocity_deg_s=np.radians(recording.head_velocity_deg_s))
    large = replace(recording, head_velocity_deg_s=np.degrees(recording.head_velocity_deg_s))
    for wrong in (small, large):
        result = measured(wrong)
        assert all("head_scale_implausible" in why for why in reasons_of(result).values())
        assert result.quality.grade == "unusable"


def test_eyes_in_a_wrong_unit_or_sign_are_told():
    recording = recording_of(Made(series(12, seed=1)))
    for factor, code, grade in (
        (np.radians(1.0), "target_not_reached", "caution"),
        (60.0, "eye_scale_implausible", "unusable"),
        (-1.0, "wrong_way", "unusable"),
    ):
        channels = {role: factor * values for role, values in recording.channels.items()}
        result = measured(replace(recording, channels=channels))
        gain = table(result)["right lateral", "gain"]
        assert code in gain.why
        assert gain.grade == grade


def test_a_chair_of_twice_or_half_the_speed_is_told():
    # the gains that the user found: 0.47 and 1.88, to both sides, without a word
    recording = recording_of(Made(series(12, seed=1)))
    for factor, code, grade in ((2.0, "target_not_reached", "caution"),
                                (0.5, "eye_scale_implausible", "unusable")):  # fmt: skip
        head = factor * recording.head_velocity_deg_s
        gain = table(measured(replace(recording, head_velocity_deg_s=head)))["left lateral", "gain"]
        assert code in gain.why
        assert gain.grade == grade


def test_a_near_target_may_need_more_eye_than_head():
    recording = recording_of(Made(series(12, seed=1, gains=(1.55, 1.55))))
    near = table(measured(recording, target_distance_m=0.4))["right lateral", "gain"]
    assert "eye_scale_implausible" not in near.why
    assert "near_target" in near.why
    far = table(measured(recording, target_distance_m=1.2))["right lateral", "gain"]
    assert "eye_scale_implausible" in far.why


def test_a_patient_without_any_reflex_is_no_wrong_unit():
    given = tuple(replace(one, saccades=((0.23, 0.9 * one.turn_deg),))
                  for one in series(12, seed=1, gains=(0.0, 0.0)))  # fmt: skip
    gain = table(measured(recording_of(Made(given))))["right lateral", "gain"]
    assert gain.value == pytest.approx(0.0, abs=0.02)
    assert gain.grade == "sound"


@pytest.mark.parametrize("count", [1, 2, 6])
def test_too_few_impulses_keep_their_gain_and_say_so(count):
    found = table(measured(recording_of(Made(series(count, seed=1)))))
    gain = found["right lateral", "gain"]
    assert gain.value == pytest.approx(0.9, abs=0.03)
    assert "few_impulses" in gain.why
    assert gain.grade == "caution"
    assert (gain.low is None) == (count < 3)


def test_a_side_without_impulses_is_missing_and_the_other_stands():
    given = tuple(one for one in series(16, seed=1) if one.side > 0)
    found = table(measured(recording_of(Made(given))))
    assert found["left lateral", "gain"].value is None
    assert found["left lateral", "gain"].why[0] == "no_impulses"
    assert found["right lateral", "gain"].value == pytest.approx(0.9, abs=0.02)


def nothing_to_measure():
    recording = recording_of(Made(series(8, seed=1)))
    still = replace(recording, head_velocity_deg_s=np.zeros(recording.time_s.size))
    headless = replace(recording, head_velocity_deg_s=None)
    return [
        (still, {}, "no_impulses"),
        (headless, {}, "head_not_recorded"),
        (recording, {"plane": "LARP"}, "no_eye_in_plane"),
        (recording, {"canal": "the bad one"}, "plane_unknown"),
    ]


@pytest.mark.parametrize(("recording", "stimulus", "code"), nothing_to_measure())
def test_what_cannot_be_measured_is_present_with_its_reason(recording, stimulus, code):
    result = measured(recording, **stimulus)
    gains = [measure for measure in result.measures if measure.name == "gain"]
    assert len(gains) == 2
    assert {(measure.value, measure.why[0], measure.grade) for measure in gains} == {
        (None, code, "unusable")
    }
    assert code in result.quality.why


def test_a_trial_not_done_has_its_measures_missing():
    trial = replace(trial_of(None), outcome="not done", recording=None)
    result = measure_trial(trial, EyeSettings(), MeasureSettings())
    assert {measure.why for measure in result.measures} == {("not_done",)}


def test_a_near_target_is_a_warning():
    recording = recording_of(Made(series(8, seed=1)))
    near = table(measured(recording, target_distance_m=0.5))["right lateral", "gain"]
    far = table(measured(recording, target_distance_m=1.2))["right lateral", "gain"]
    assert "near_target" in near.why
    assert near.grade == "caution"
    assert "near_target" not in far.why
    assert near.value == far.value


def foreseen(sides, starts):
    given = tuple(Given(float(s), int(side)) for side, s in zip(sides, starts, strict=True))
    return set(measured(recording_of(Made(given))).quality.why)


def test_impulses_that_can_be_foreseen_are_a_warning():
    rng = np.random.default_rng(5)
    even = 1.0 + 2.4 * np.arange(12)
    uneven = 1.0 + np.cumsum(rng.uniform(2.2, 4.5, 12))
    mixed = [1, 1, -1, 1, -1, -1, 1, -1, -1, 1, 1, -1]
    both = {"side_foreseen", "time_foreseen"}
    assert foreseen([1, -1] * 6, uneven) & both == {"side_foreseen"}
    assert foreseen([1] * 12, even) & both == both
    assert foreseen([1] * 12, uneven) & both == set()
    assert foreseen(mixed, even) & both == {"time_foreseen"}
    assert foreseen(mixed, uneven) & both == set()


def test_slow_impulses_are_marked_and_kept():
    given = tuple(replace(one, turn_deg=11.0, lasting_s=0.17) for one in series(12, seed=1))
    gain = table(measured(recording_of(Made(given))))["right lateral", "gain"]
    assert "impulses_below_criterion" in gain.why
    assert gain.grade == "sound"


def test_a_head_known_by_its_position_marks_what_it_blurs():
    recording = replace(recording_of(Made(series(8, seed=1))), head_source="position")
    found = table(measured(recording))
    assert "head_from_position" in found["right lateral", "gain_regression"].why
    assert "head_from_position" not in found["right lateral", "gain"].why


def test_slow_sampling_is_a_warning():
    result = measured(recording_of(Made(series(8, seed=1), rate_hz=60.0)))
    assert "sampled_slowly" in result.quality.why
    assert table(result)["right lateral", "gain"].value == pytest.approx(0.9, abs=0.05)


def test_one_eye_that_is_dead_is_named():
    recording = recording_of(Made(series(8, seed=1)))
    frozen = np.full(recording.time_s.size, 1.5)
    one_eyed = replace(recording, channels=recording.channels | {"eye_h_left": frozen})
    result = measured(one_eyed)
    assert own(result).eyes == ("right",)
    assert "one_eye" in result.quality.why


@pytest.mark.parametrize("share", [0.02, 0.1])
def test_single_lost_samples_of_head_and_eye_are_bridged(share):
    recording = recording_of(Made(series(12, seed=1)))
    rng = np.random.default_rng(4)

    def thinned(values):
        return np.where(rng.random(values.size) < share, np.nan, values)

    channels = {role: thinned(values) for role, values in recording.channels.items()}
    head = thinned(recording.head_velocity_deg_s)
    found = table(measured(replace(recording, channels=channels, head_velocity_deg_s=head)))
    for canal in CANALS:
        assert found[canal, "gain"].value == pytest.approx(0.9, abs=0.02)
        assert found[canal, "impulses"].value >= 5


@pytest.mark.parametrize("rows", [10, 30, 200, 500])
@pytest.mark.parametrize("start", [0, 600, 700])
def test_a_snippet_of_a_recording_says_what_it_lacks_and_ends_in_no_error(start, rows):
    recording = recording_of(Made(series(6, seed=1)))
    part = slice(start, start + rows)
    snippet = replace(
        recording, time_s=recording.time_s[part],
        channels={role: values[part] for role, values in recording.channels.items()},
        head_velocity_deg_s=recording.head_velocity_deg_s[part],
    )  # fmt: skip
    gains = [measure for measure in measured(snippet).measures if measure.name == "gain"]
    assert len(gains) == 2
    assert all(measure.value is not None or measure.why for measure in gains)


def test_a_head_of_noise_or_of_one_value_has_no_impulse():
    recording = recording_of(Made(series(6, seed=1)))
    size = recording.time_s.size
    for head, code in (
        (300.0 * np.random.default_rng(0).standard_normal(size), "no_impulses"),
        (np.full(size, 200.0), "no_impulses"),
        (np.full(size, np.nan), "head_not_recorded"),
    ):
        result = measured(replace(recording, head_velocity_deg_s=head))
        assert {why[0] for why in reasons_of(result).values()} == {code}
