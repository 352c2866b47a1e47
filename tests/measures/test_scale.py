"""A calibration that is off bears on all that is to scale, in every kind of test and group."""

from dataclasses import replace

import pytest

from slowphase.measures.caloric_group import group_calorics
from slowphase.measures.kinds import measure_groups
from slowphase.measures.measure import Measure
from slowphase.measures.result import Quality, TrialResult
from slowphase.measures.scale import to_scale
from slowphase.measures.session_cautions import with_session_cautions
from slowphase.measures.settings import MeasureSettings

SETTINGS = MeasureSettings()
OFF = "calibration_off"


def part(name, value, unit, of=None, *, trial="t", why=(), half=0.5):
    id_ = "/".join(word for word in (trial, of, name) if word)
    return Measure(id_, name, value, value - half, value + half, unit, of=of, why=why)


def trial(name, kind, *measures, vision="dark", **stimulus):
    quality = Quality(100.0, "sound")
    return TrialResult(name, kind, vision, stimulus, "done", None, quality, measures, parts=(name,))


def calibration(horizontal=(OFF,), vertical=()):
    return trial(
        "calibration",
        "calibration",
        part("gain", 1.35, "1", "right/horizontal", why=horizontal),
        part("gain", 1.0, "1", "right/vertical", why=vertical),
    )


def irrigated(ear, warmth, value):
    degrees = {"warm": 44.0, "cool": 30.0}[warmth]
    name = f"{ear}-{warmth}"
    sign = {"right-warm": -1, "right-cool": 1, "left-warm": 1, "left-cool": -1}[name]
    measures = (
        part("peak", sign * value, "deg/s", trial=name),
        part("response", value, "deg/s", trial=name),
        part("spontaneous", 0.0, "deg/s", trial=name),
        part("peak_time", 60.0, "s", trial=name),
    )
    return trial(name, "caloric", *measures, ear=ear, temperature_c=degrees)


FOUR = tuple(
    irrigated(ear, warmth, value)
    for ear, warmth, value in (
        ("right", "warm", 30.0), ("right", "cool", 26.0), ("left", "warm", 28.0),
        ("left", "cool", 25.0),
    )
)  # fmt: skip
IMPULSES = trial(
    "impulse",
    "impulse",
    part("gain_at_60_ms", 1.3, "1", "right lateral", half=0.05),
    part("gain_at_60_ms", 1.2, "1", "left lateral", half=0.05),
    part("gain_at_60_ms", 0.9, "1", "right anterior", half=0.05),
    part("gain_at_60_ms", 0.9, "1", "left anterior", half=0.05),
)


def flagged(parts):
    return {m.id for one in parts for m in one.measures if OFF in m.why}


@pytest.mark.parametrize(
    ("measure", "expected"),
    [
        (part("gain_regression", 1.0, "1", "right lateral"), True),
        (part("gain_difference", 0.1, "1", "lateral"), True),
        (part("peak", 20.0, "deg/s"), True),
        (part("gaze", 20.0, "deg"), True),
        (part("accuracy", 90.0, "%", "rightward"), True),
        (part("phase", 4.0, "deg"), False),
        (part("head_speed", 180.0, "deg/s", "right lateral"), False),
        (part("latency", 200.0, "ms"), False),
        (part("fixation_index", 0.1, "1"), False),
        (part("unilateral_weakness", 10.0, "%"), False),
        (part("suppression", 90.0, "%"), False),
        (part("gaze_chance", 0.1, "1"), False),
        (part("impulses", 12.0, "1"), False),
    ],
)
def test_unit_and_definition_say_what_is_to_scale(measure, expected):
    assert to_scale(measure) is expected


def test_calorics_and_impulses_carry_it_and_what_is_no_size_does_not():
    found = with_session_cautions((calibration(), *FOUR, IMPULSES))
    ids = flagged(found[1:])
    assert {"right-warm/peak", "left-cool/response", "t/right lateral/gain_at_60_ms"} <= ids
    assert "right-warm/peak_time" not in ids
    assert "t/right anterior/gain_at_60_ms" not in ids  # the vertical plane is to scale
    assert all(one.quality.grade == "caution" for one in found[1:])


def test_groups_made_after_it_inherit_it_in_sizes_and_not_in_ratios():
    found = with_session_cautions((calibration(), *FOUR, IMPULSES))
    ids = flagged(measure_groups(found, SETTINGS))
    assert {"caloric/right ear/total", "caloric/total_all"} <= ids
    assert "impulse/lateral/gain_difference" in ids
    for ratio in ("caloric/unilateral_weakness", "caloric/directional_preponderance",
                  "impulse/lateral/asymmetry", "impulse/anterior/gain_difference"):  # fmt: skip
        assert ratio not in ids


def test_gaze_alone_carries_it_in_the_velocity_and_not_in_the_dependence():
    held = [
        trial(name, "gaze", part("gaze", at, "deg", trial=name),
              part("velocity", -0.2 * at, "deg/s", "horizontal", trial=name), gaze=name)
        for name, at in (("left", -20.0), ("right", 20.0))
    ]  # fmt: skip
    ids = flagged(measure_groups(with_session_cautions((calibration(), *held)), SETTINGS))
    assert ids == {"gaze/dark/velocity_at_centre"}


def test_each_plane_answers_for_itself():
    rest = trial(
        "rest",
        "spontaneous",
        part("velocity", 5.0, "deg/s", "horizontal", trial="rest"),
        part("velocity", 5.0, "deg/s", "vertical", trial="rest"),
        part("velocity", 5.0, "deg/s", "torsional", trial="rest"),
    )
    found = with_session_cautions((calibration(), rest))
    assert flagged(found[1:]) == {"rest/horizontal/velocity"}
    found = with_session_cautions((calibration((), (OFF,)), rest))
    assert flagged(found[1:]) == {"rest/vertical/velocity"}
    found = with_session_cautions((calibration(()), rest, *FOUR))
    assert not flagged(found[1:])


def test_typed_totals_know_nothing_of_the_recorder():
    typed = trial(
        "typed", "values",
        *(part("response", 20.0, "deg/s", f"{ear} {warmth}", trial="typed")
          for ear in ("right", "left") for warmth in ("warm", "cool")),
        test="caloric",
    )  # fmt: skip
    found = with_session_cautions((calibration(), typed, replace(IMPULSES, id="i", parts=("i",))))
    groups = measure_groups(found, SETTINGS)
    assert "caloric/total_all" not in flagged(groups)
    assert "impulse/lateral/gain_difference" in flagged(groups)
    assert group_calorics(found, SETTINGS)
