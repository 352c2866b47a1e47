"""The page of a clinic's own intervals. The people are invented."""

import re

import numpy as np

from slowphase.reference.intervals.build import BuildOptions, build
from slowphase.reference.intervals.healthy import HealthySession, MeasureKey, Reading, collect
from slowphase.report.intervals.page import render_intervals

MEASURES = (
    (MeasureKey("gain", "sinusoid", "1", None, "dark", "steady_state", 0.01, 60.0), 150),
    (MeasureKey("time_constant", "step", "s", "per", "dark", "one_over_e"), 45),
    (MeasureKey("asymmetry", "sinusoid", "%", None, "dark", "peaks", 0.01, 60.0), 9),
)


def made_set(name="H<b>"):
    rng = np.random.default_rng(3)
    sessions = []
    for i in range(150):
        age = float(rng.uniform(20, 80))
        value = 0.7 - 0.004 * age + 0.05 * rng.standard_normal()
        readings = tuple(
            Reading("x", key, value * (40.0 if i == 11 and key.unit == "s" else 1.0))
            for key, count in MEASURES
            if i < count
        )
        sessions.append(HealthySession(f"{name}{i}", readings, age, "female" if i % 2 else "male"))
    return build(collect(sessions), BuildOptions(by_age="always"))


def test_every_measure_has_its_picture_its_limits_and_its_method():
    page = render_intervals(made_set(), "own", "1")
    assert page.count("<svg") == len(MEASURES)
    for words in ("Smooth curve by age", "Robust method", "Fewer than 20 people", "90 % interval"):
        assert words in page
    assert re.search(r"Beyond the fences: [^.]*H&lt;b&gt;11:", page)


def test_the_page_is_the_same_each_time_and_holds_no_foreign_markup():
    made = made_set()
    page = render_intervals(made, "own & <i>", "1")
    assert page == render_intervals(made, "own & <i>", "1")
    assert "<i>" not in page
    assert "H<b>" not in page
    assert not re.search(r"https?://(?!www\.w3\.org)", page)
    assert "nan" not in re.sub(r"<svg.*?</svg>", "", page, flags=re.DOTALL).lower().split()
