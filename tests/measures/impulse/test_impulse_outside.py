"""Against what nobody here made: a recorded reflex, and general libraries."""

from dataclasses import replace

import numpy as np
import pytest
from made_impulses import measured, own
from outside_data import outside
from scipy.io import loadmat
from scipy.stats import linregress, t
from statsmodels.stats.proportion import proportion_confint

from slowphase.measures.battery_settings import BatterySettings
from slowphase.measures.impulse.settings import ImpulseSettings
from slowphase.measures.settings import MeasureSettings
from slowphase.measures.statistics import (
    median_estimate,
    share_estimate,
    slope_estimate,
    spread_of,
)
from slowphase.recording.trial import Recording

RNG = np.random.default_rng(11)

# The animal was turned by 15 deg/s for 0.25 and 0.5 s, far slower and longer than an impulse.
GENTLE = MeasureSettings(
    battery=BatterySettings(
        impulse=ImpulseSettings(
            found_deg_s=8.0,
            rise_max_s=0.3,
            lasting_max_s=0.8,
            peak_min_deg_s=5.0,
            acceleration_min_deg_s2=50.0,
            before_s=0.03,
            blink_margin_s=0.005,
        )
    )
)


def monkey(name):
    """hpay/VOR-model-Payne at 0568091, MIT: averaged velocities, 2000 Hz, in the dark."""
    folder = outside("averaged_vor")
    eye, head = (
        loadmat(folder / f"{name}_{part}.mat", squeeze_me=True)["allcellsipsi"].astype(float)
        for part in ("eye", "head")
    )
    time_s = np.arange(eye.size) / 2000.0
    position = np.concatenate([[0.0], np.cumsum((eye[1:] + eye[:-1]) / 2)]) / 2000.0
    return Recording(time_s, 2000.0, {"eye_h_right": position}, head, "measured"), eye, head


@pytest.mark.parametrize("name", ["250ms_dark", "500ms_dark"])
def test_gain_of_a_monkey_s_reflex_agrees_with_plain_regression_of_eye_on_head(name):
    recording, eye, head = monkey(name)
    found = own(measured(recording, settings=GENTLE))
    assert [one.canal for one in found.impulses] == ["right lateral", "left lateral"]
    late = round(found.lag_s * 2000.0)
    for one in found.impulses:
        part = slice(int(one.onset_s * 2000), int((one.onset_s + one.lasting_s) * 2000))
        shifted = eye[part.start + late : part.stop + late]
        plain = -float(shifted @ head[part]) / float(head[part] @ head[part])
        assert one.gain_regression == pytest.approx(plain, abs=0.02)
        assert one.gain == pytest.approx(plain, abs=0.02)
        assert one.refused == ()


@pytest.mark.parametrize(("yes", "count"), [(0, 8), (3, 9), (10, 10), (7, 20)])
def test_the_interval_of_a_share_agrees_with_statsmodels(yes, count):
    found = share_estimate(yes, count)
    low, high = proportion_confint(yes, count, method="wilson")
    assert (found.low, found.high) == pytest.approx((100 * low, 100 * high), abs=1e-9)
    assert found.low <= found.value <= found.high


def test_the_slope_and_its_interval_agree_with_scipy():
    x = RNG.uniform(1.5, 2.5, 12)
    y = 0.9 - 0.1 * x + 0.03 * RNG.standard_normal(12)
    fit, found = linregress(x, y), slope_estimate(x, y)
    assert found.value == pytest.approx(fit.slope)
    assert found.high - found.value == pytest.approx(t.ppf(0.975, 10) * fit.stderr, rel=1e-3)


def test_the_interval_of_a_median_is_that_of_normal_values():
    values = RNG.normal(0.8, 0.1, 9)
    found = median_estimate(values)
    reach = t.ppf(0.975, 8) * np.sqrt(np.pi / 2) * np.std(values, ddof=1) / 3.0
    assert found.value == pytest.approx(np.median(values))
    assert found.high - found.value == pytest.approx(reach, rel=1e-3)


def test_one_value_has_no_interval_and_none_has_no_value():
    assert median_estimate(np.array([0.8])).low is None
    assert median_estimate(np.array([])).value is None
    assert spread_of(np.array([0.8])).value is None
    assert share_estimate(0, 0).value is None


def test_the_interval_of_a_spread_covers():
    samples = RNG.normal(0.0, 1.0, (2000, 10))
    found = [spread_of(row) for row in samples]
    assert 0.93 < np.mean([one.low <= 1.0 <= one.high for one in found]) < 0.98


def test_usual_thresholds_refuse_the_monkey_s_turns_as_too_slow_to_be_impulses():
    recording, _, _ = monkey("250ms_dark")
    result = measured(recording, settings=replace(GENTLE, battery=BatterySettings()))
    assert {m.why[0] for m in result.measures if m.name == "gain"} == {"no_impulses"}
