"""Irrigations together: the formulae against worked values, what is missing, what cannot carry."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from irrigations import irrigation
from made_traces import result_of
from scipy.stats import norm

from slowphase.eye.settings import EyeSettings
from slowphase.measures.caloric_ratio import ratio_pct
from slowphase.measures.kinds import measure_groups, measure_trial
from slowphase.measures.settings import MeasureSettings
from slowphase.recording.trial import Trial

SETTINGS = MeasureSettings()
PLACES = ("right_warm", "right_cool", "left_warm", "left_cool")
RATIOS = (
    "unilateral_weakness",
    "directional_preponderance",
    "directional_preponderance_nystagmus",
    "directional_preponderance_rest",
)


def typed(*values, **keys):
    """A table of typed peaks RW, RC, LW, LC (None: not typed) as a trial's result."""
    peaks = {place: value for place, value in zip(PLACES, values, strict=True) if value is not None}
    trial = Trial("typed", "values", stimulus={"test": "caloric", **peaks, **keys})
    return measure_trial(trial, EyeSettings(), SETTINGS)


def grouped(*results):
    """The measures of the one group by ``of/name`` or name."""
    (group,) = measure_groups(tuple(results), SETTINGS)
    assert (group.id, group.kind) == ("caloric", "caloric")
    return {f"{m.of}/{m.name}" if m.of else m.name: m for m in group.measures}


@pytest.fixture(scope="module")
def recorded():
    """Right ear at half the strength, a left-to-right drift of 4 deg/s: the true slow phases."""
    peaks = {"right": (-12.0, 12.0), "left": (24.0, -24.0)}
    return {
        f"{ear}_{name}": result_of(
            irrigation(peak, spontaneous_deg_s=4.0, ear=ear, temperature_c=degrees, seed=seed)[0]
        )
        for ear, both in peaks.items()
        for seed, (name, degrees, peak) in enumerate(
            zip(("warm", "cool"), (44.0, 30.0), both, strict=True)
        )
    }


@pytest.mark.parametrize(
    ("values", "weakness", "preponderance"),
    [
        ((30, 26, 28, 25), 2.8, 0.9),
        ((10, 8, 28, 24), -48.6, -2.9),
        ((35, 12, 14, 33), 0.0, 44.7),
        ((4, -2, 30, 26), -93.1, 3.4),
    ],
)
def test_worked_values_of_the_signed_formulae_come_out(values, weakness, preponderance):
    """Jongkees, Maas, Philipszoon 1962; formulae from memory, values by hand (arithmetic)."""
    found = grouped(typed(*values))
    assert round(found["unilateral_weakness"].value, 1) == weakness
    assert round(found["directional_preponderance"].value, 1) == preponderance
    assert found["total_all"].value == sum(values)
    assert found["right ear/total"].value == values[0] + values[1]
    assert found["left ear/total"].value == values[2] + values[3]


def test_ratios_are_withheld_where_both_ears_stay_under_6_deg_s():
    """2, 1, 1.5, 1: 3 and 2.5 deg/s. The limit: Strupp et al. 2017, abstract read."""
    found = grouped(typed(2, 1, 1.5, 1))
    for name in RATIOS[:2]:
        assert found[name].value is None
        assert "caloric_totals_small" in found[name].why
    assert found["total_all"].value == 5.5


def test_a_total_that_wrong_way_responses_use_up_carries_no_ratio():
    found = grouped(typed(20, 6, -12, -10))
    assert found["unilateral_weakness"].value is None
    assert "caloric_totals_small" in found["unilateral_weakness"].why


def test_signed_and_clipped_responses_part_ways():
    """Clipping wrong-way responses to 0 makes a weakness look smaller (Byun 2005, read)."""
    signed = grouped(typed(4, -2, 30, 26))["unilateral_weakness"].value
    clipped = grouped(typed(4, 0, 30, 26))["unilateral_weakness"].value
    assert signed < clipped - 5.0


def test_a_steady_nystagmus_cancels_in_weakness_and_total_and_makes_the_preponderance():
    """25 deg/s from each irrigation and a right-beating nystagmus of 5 deg/s (arithmetic)."""
    found = grouped(typed(30, 20, 20, 30, spontaneous=-5))
    assert found["unilateral_weakness"].value == pytest.approx(0.0)
    assert found["total_all"].value == pytest.approx(100.0)
    assert found["directional_preponderance"].value == pytest.approx(20.0)
    assert found["directional_preponderance_nystagmus"].value == pytest.approx(20.0)
    assert found["directional_preponderance_rest"].value == pytest.approx(0.0)


def test_without_a_known_nystagmus_its_part_is_missing_and_the_formula_stands():
    found = grouped(typed(30, 20, 20, 30))
    assert found["directional_preponderance"].value == pytest.approx(20.0)
    for name in RATIOS[2:]:
        assert found[name].value is None
        assert found[name].why[0] == "spontaneous_unknown"


def test_swapping_the_ears_turns_every_sign():
    one, other = grouped(typed(30, 22, 12, 9)), grouped(typed(12, 9, 30, 22))
    for name in RATIOS[:2]:
        assert other[name].value == pytest.approx(-one[name].value)


def test_typed_values_have_no_interval_and_say_where_they_are_from():
    found = grouped(typed(30, 26, 28, 25))["unilateral_weakness"]
    assert (found.low, found.high) == (None, None)
    assert "measured_elsewhere" in found.why


def test_recorded_irrigations_give_weakness_and_the_parts_of_the_preponderance(recorded):
    """Truth: 100 (24 - 48)/72 = -33.3; 100 (-4·4)/72 = -22.2; 10 s under the peak take 0.2 %."""
    found = grouped(*recorded.values())
    assert found["unilateral_weakness"].value == pytest.approx(-33.3, abs=2.0)
    part = found["directional_preponderance_nystagmus"]
    assert part.value == pytest.approx(-22.2, abs=3.0)
    assert part.low < -22.2 < part.high
    rest = found["directional_preponderance_rest"]
    assert rest.low < 0.0 < rest.high
    assert rest.value == pytest.approx(0.0, abs=3.5)
    whole = found["directional_preponderance"]
    assert whole.value == pytest.approx(part.value + rest.value)


def test_three_irrigations_name_the_missing_one_and_keep_the_pair(recorded):
    found = grouped(*(r for place, r in recorded.items() if place != "left_cool"))
    for name in (*RATIOS, "total_all", "left ear/total"):
        assert found[name].value is None
        assert found[name].why == ("left_cool_missing",)
    assert found["right ear/total"].value == pytest.approx(24.0, abs=1.5)
    assert found["unilateral_weakness_warm"].value == pytest.approx(-33.3, abs=4.0)
    assert "unilateral_weakness_cool" not in found


def test_the_nystagmus_is_out_of_the_weakness_from_one_temperature(recorded):
    """Left in, 4 deg/s would make 100 (8 - 28)/36 = -56 of the true -33 (arithmetic)."""
    found = grouped(recorded["right_warm"], recorded["left_warm"])["unilateral_weakness_warm"]
    assert found.value == pytest.approx(-33.3, abs=4.0)
    typed_pair = grouped(typed(8, None, 28, None))["unilateral_weakness_warm"]
    assert typed_pair.value == pytest.approx(-55.6, abs=0.1)
    assert "spontaneous_unknown" in typed_pair.why


def test_two_ears_at_different_temperatures_of_one_kind_make_no_pair():
    assert not {n for n in grouped(typed(30, None, None, 25)) if "weakness_" in n}


def test_repeats_of_one_irrigation_are_joined_and_said(recorded):
    again = replace(recorded["right_warm"], id="again", parts=("again",))
    found = grouped(*recorded.values(), again)
    assert "combined_repeats" in found["unilateral_weakness"].why
    assert "irrigations_disagree" not in found["unilateral_weakness"].why
    assert found["unilateral_weakness"].value == pytest.approx(-33.3, abs=2.0)


def test_a_weakness_is_rough_by_its_standard_error_and_not_by_that_of_a_normal_interval(recorded):
    shapes = [result.evidence.own for result in recorded.values()]
    made_by = min(shape.quantile for shape in shapes)
    assert made_by > 1.01 * norm.ppf(0.975)
    weakness = grouped(*recorded.values())["unilateral_weakness"]
    error = 0.5 * (weakness.high - weakness.low) / made_by
    as_if_normal = error * made_by / norm.ppf(0.975)
    for limit, rough in ((0.5 * (error + as_if_normal), False), (0.99 * error, True)):
        own = replace(SETTINGS.battery.caloric, rough_pct=limit)
        settings = replace(SETTINGS, battery=replace(SETTINGS.battery, caloric=own))
        (group,) = measure_groups(tuple(recorded.values()), settings)
        found = next(m for m in group.measures if m.name == "unilateral_weakness")
        assert ("known_roughly" in found.why) == rough


def test_a_wrong_ear_key_shows_as_a_missing_irrigation_and_two_that_disagree(recorded):
    wrong = recorded["left_warm"]
    wrong = replace(
        wrong,
        id="wrong",
        parts=("wrong",),
        stimulus={**wrong.stimulus, "ear": "right"},
    )
    found = grouped(*(r for place, r in recorded.items() if place != "left_warm"), wrong)
    assert found["unilateral_weakness"].why == ("irrigations_disagree", "left_warm_missing")
    assert found["unilateral_weakness"].value is None
    assert found["right ear/total"].why == ("irrigations_disagree",)
    assert found["right ear/total"].value is None


def test_a_fifth_irrigation_that_disagrees_withholds_what_its_mean_would_make(recorded):
    """The left ear's, labelled right warm, beside the four: the mean of both stands for neither."""
    fifth = recorded["left_warm"]
    fifth = replace(
        fifth, id="fifth", parts=("fifth",), stimulus={**fifth.stimulus, "ear": "right"}
    )
    found = grouped(*recorded.values(), fifth)
    for name in (*RATIOS, "right ear/total", "total_all"):
        assert found[name].value is None
        assert found[name].grade == "unusable"
        assert "irrigations_disagree" in found[name].why
    assert found["left ear/total"].value == pytest.approx(48.0, abs=3.0)
    cool = found["unilateral_weakness_cool"]  # what is left is measured
    assert cool.value == pytest.approx(-33.3, abs=4.0)


def test_typed_irrigations_that_disagree_withhold_the_ratios_too():
    more = replace(typed(-28, None, None, None), id="more", parts=("more",))
    found = grouped(typed(28, 26, 28, 25), more)
    assert found["unilateral_weakness"].why[0] == "irrigations_disagree"
    assert found["unilateral_weakness"].value is None


def test_an_unusable_peak_is_no_irrigation_and_its_reason_is_handed_on(recorded):
    bad = recorded["right_warm"]
    measures = tuple(
        replace(m, grade="unusable", why=(*m.why, "waveform_not_interpretable"))
        if m.name == "peak"
        else m
        for m in bad.measures
    )
    rest = [r for place, r in recorded.items() if place != "right_warm"]
    found = grouped(replace(bad, measures=measures), *rest)
    for name in ("unilateral_weakness", "right ear/total"):
        assert found[name].value is None
        assert "waveform_not_interpretable" in found[name].why
    assert found["left ear/total"].value is not None


def test_ears_irrigated_at_different_temperatures_are_flagged(recorded):
    hotter = recorded["right_warm"]
    hotter = replace(hotter, stimulus={**hotter.stimulus, "temperature_c": 50.0, "medium": "air"})
    found = grouped(hotter, *(r for place, r in recorded.items() if place != "right_warm"))
    assert "irrigations_differ" in found["unilateral_weakness"].why
    assert found["unilateral_weakness"].grade == "caution"
    assert "irrigations_differ" not in grouped(*recorded.values())["unilateral_weakness"].why


def test_a_typed_value_of_another_unit_is_refused_and_the_pair_that_is_left_is_measured():
    found = typed(3000, 26, 28, 25)
    peak = next(m for m in found.measures if m.of == "right warm")
    assert peak.value is None
    assert "typed_out_of_range" in peak.why
    together = grouped(found)
    assert together["unilateral_weakness"].why == ("right_warm_missing",)
    assert together["unilateral_weakness_cool"].value == pytest.approx(100 / 51)


def test_recorded_irrigations_go_before_typed_ones_which_fill_gaps(recorded):
    some = [recorded[place] for place in PLACES[:3]]
    found = grouped(*some, typed(90, 90, 90, 20, spontaneous=4))
    assert found["left ear/total"].value == pytest.approx(28.0 + 20.0, abs=1.5)
    assert found["right ear/total"].value == pytest.approx(24.0, abs=1.5)


def test_an_irrigation_not_done_counts_as_missing():
    done = result_of(irrigation(-20.0)[0])
    gone = Trial("l", "caloric", stimulus={"ear": "left", "temperature_c": 44}, outcome="not done")
    found = grouped(done, measure_trial(gone, EyeSettings(), SETTINGS))
    assert "left_warm_missing" in found["unilateral_weakness"].why


PEAK = st.floats(-100.0, 100.0)


@given(st.tuples(PEAK, PEAK, PEAK, PEAK), PEAK)
def test_whatever_is_typed_follows_the_formulae_or_is_withheld_with_its_reason(values, level):
    rw, rc, lw, lc = values
    whole = sum(values)
    found = grouped(typed(*values, spontaneous=level))
    weakness, *preponderances = (found[name] for name in RATIOS)
    if weakness.value is None:
        assert "caloric_totals_small" in weakness.why
        assert max(rw + rc, lw + lc) < 6.0 or whole < 6.0
        return
    assert weakness.value == pytest.approx(100 * (rw + rc - lw - lc) / whole, abs=1e-6)
    formula, part, rest = (measure.value for measure in preponderances)
    assert formula == pytest.approx(100 * (rw + lc - lw - rc) / whole, abs=1e-6)
    assert part == pytest.approx(-400 * level / whole, abs=1e-6)
    assert rest == pytest.approx(formula - part, abs=1e-6)


def test_no_irrigation_makes_no_group():
    assert measure_groups((), SETTINGS) == ()


def test_typed_values_that_are_none_make_no_group():
    assert measure_groups((typed(None, None, None, None, spontaneous=2),), SETTINGS) == ()


@pytest.mark.parametrize("seed", range(4))
def test_fieller_s_interval_covers_95_percent_of_drawn_ratios(seed):
    """Against plain simulation: 4000 draws of four responses with known errors."""
    rng = np.random.default_rng(seed)
    true, errors = rng.uniform(2.0, 30.0, 4), rng.uniform(0.3, 3.0, 4)
    above, below = np.array([1.0, 1.0, -1.0, -1.0]), np.ones(4)
    ratio = 100.0 * (above @ true) / (below @ true)
    inside = []
    for _ in range(4000):
        found = ratio_pct(above, below, true + errors * rng.normal(size=4), errors)
        inside.append(found.value is None or found.low <= ratio <= found.high)
    assert np.mean(inside) == pytest.approx(0.95, abs=0.012)


def test_a_ratio_over_a_sum_that_may_be_0_is_not_given():
    assert (
        ratio_pct(np.array([1.0]), np.array([1.0]), np.array([1.0]), np.array([0.6])).value is None
    )


def test_a_ratio_beyond_100_percent_says_that_one_response_goes_the_wrong_way():
    """Less 10 deg/s of nystagmus: 100·(−5 − 30)/(−5 + 30) = −140 (arithmetic)."""
    found = grouped(typed(-15, None, 40, None, spontaneous=10))["unilateral_weakness_warm"]
    assert found.value == pytest.approx(-140.0)
    assert (found.grade, "response_reversed" in found.why) == ("caution", True)
    four = grouped(typed(-20, -10, 30, 26))["unilateral_weakness"]
    assert four.value == pytest.approx(100 * (-30 - 56) / 26)
    assert "response_reversed" in four.why


def test_a_reversed_response_within_100_percent_keeps_its_ratio_as_it_is():
    """REFERENCES section 4, row 4: −93.1 (formula from memory, arithmetic by hand)."""
    found = grouped(typed(4, -2, 30, 26))["unilateral_weakness"]
    assert round(found.value, 1) == -93.1
    assert "response_reversed" not in found.why
