"""A clinic's own limits against independent computations: SciPy, statsmodels, worked ranks."""

from dataclasses import replace

import numpy as np
import pytest
import statsmodels.api as sm
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats
from statsmodels.robust import norms

from slowphase.reference.intervals.age_curve import median_regression, quantile_curves, spline
from slowphase.reference.intervals.build import BuildOptions, build
from slowphase.reference.intervals.healthy import (
    HealthySession,
    MeasureKey,
    Reading,
    collect,
)
from slowphase.reference.intervals.outliers import outliers
from slowphase.reference.intervals.partition import partition
from slowphase.reference.intervals.ranks import quantile, ranks
from slowphase.reference.intervals.robust import (
    biweight_location,
    distances,
    location_and_reach,
    robust_limits,
)
from slowphase.reference.intervals.set_text import set_text
from slowphase.reference.intervals.symmetry import likeliest_power, restored, transformed
from slowphase.reference.set_file import read_set

GAIN = MeasureKey("gain", "sinusoid", "1", None, "dark", "steady_state", 0.01, 60.0)


def people(values, ages=None, sexes=None, key=GAIN):
    count = len(values)
    ages = [40.0] * count if ages is None else ages
    sexes = ["unknown"] * count if sexes is None else sexes
    return [
        HealthySession(f"H{i:03d}", (Reading("x/gain", key, float(v)),), a, s)
        for i, (v, a, s) in enumerate(zip(values, ages, sexes, strict=True))
    ]


def built(sessions, **options):
    return build(collect(sessions), BuildOptions(**options))


def only(made):
    (measure,) = made.measures
    return measure


def test_the_worked_ranks_of_120_people():
    # REFERENCES section 9 (computed): ranks 3 and 118, 90 % intervals 1-7 and 114-120
    found = ranks(120)
    assert (found.lower, found.upper) == (3, 118)
    assert (found.lower_interval, found.upper_interval) == ((1, 7), (114, 120))


@pytest.mark.parametrize("count", [120, 143, 200, 400, 1000])
def test_the_ranks_of_an_interval_hold_its_confidence_and_no_narrower_ones_do(count):
    low, high = ranks(count).lower_interval
    below = stats.binom(count, 0.025)

    def tails(first, last):
        return below.cdf(first - 1), below.sf(last - 1)

    assert max(tails(low, high)) <= 0.05
    assert tails(low + 1, high)[0] > 0.05
    assert tails(low, high - 1)[1] > 0.05


def test_fewer_than_119_people_have_no_interval_by_rank():
    with pytest.raises(ValueError, match="too few"):
        ranks(118)
    # 0.975 to the power of 119 is 0.0492, the first below a twentieth
    assert ranks(119).lower_interval[0] == 1


@given(st.lists(st.floats(-9, 9), min_size=5, max_size=60), st.floats(0.05, 0.95))
def test_quantiles_are_those_of_scipy(values, share):
    expected = stats.mstats.mquantiles(values, share, alphap=0, betap=0)[0]
    assert quantile(np.array(values), share) == pytest.approx(expected, abs=1e-9)


@given(st.floats(0.0, 2.0), st.lists(st.floats(-8, 8), min_size=1, max_size=20))
def test_the_transformation_is_scipy_s_and_its_inverse_leads_back(power, values):
    x, power = np.array(values), round(power, 3)
    y = transformed(x, np.array(power))
    assert y == pytest.approx(stats.yeojohnson(x, power), abs=1e-7)
    assert restored(y, np.array(power)) == pytest.approx(x, abs=1e-6)


@pytest.mark.parametrize("seed", range(5))
def test_the_likeliest_power_is_scipy_s(seed):
    x = np.random.default_rng(seed).gamma(4.0, size=80)
    x = (x - np.median(x)) / x.std()
    _, expected = stats.yeojohnson(x)
    found = likeliest_power(x, np.ones(x.shape, dtype=bool))
    assert found == pytest.approx(np.clip(expected, 0.0, 2.0), abs=0.006)


@pytest.mark.parametrize("seed", range(5))
def test_the_biweight_location_is_statsmodels(seed):
    x = np.random.default_rng(seed).standard_t(3, size=40)
    median = np.median(x, keepdims=True)
    scale = np.median(np.abs(x - median), keepdims=True) / 0.6745
    found = biweight_location(x, median, scale)[0]
    expected = norms.estimate_location(
        x, scale[0], norm=norms.TukeyBiweight(c=3.7), initial=median[0], maxiter=500, tol=1e-12
    )
    assert found == pytest.approx(float(np.squeeze(expected)), abs=1e-6)


def test_with_many_normal_values_the_robust_limits_are_those_for_the_next_person():
    # mean ± t·s·√(1 + 1/n), the textbook prediction interval of a normal sample
    x = np.random.default_rng(4).normal(10.0, 2.0, size=3000)
    location, reach = location_and_reach(x)
    assert location[0] == pytest.approx(x.mean(), abs=0.03)
    expected = stats.t.ppf(0.975, 2999) * x.std(ddof=1) * np.sqrt(1 + 1 / 3000)
    assert reach[0] == pytest.approx(expected, rel=0.003)


def test_the_distances_of_simulated_groups_are_those_of_fresh_ones():
    low, high = distances(30)
    drawn = np.random.default_rng(99).standard_normal((3000, 30))
    found = robust_limits(drawn)
    (from_, to), (upper_from, upper_to) = found.intervals(30)
    truth = stats.norm.ppf([0.025, 0.975])
    covered = np.mean((from_ <= truth[0]) & (truth[0] <= to))
    above = np.mean((upper_from <= truth[1]) & (truth[1] <= upper_to))
    assert covered == pytest.approx(0.90, abs=0.03)
    assert above == pytest.approx(0.90, abs=0.03)
    assert low == pytest.approx((-high[1], -high[0]), abs=0.12)  # mirrored, up to the draws


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 999), st.floats(0.01, 50.0), st.floats(-100.0, 100.0))
def test_limits_follow_unit_and_sign(seed, factor, shift):
    x = np.random.default_rng(seed).gamma(3.0, size=35)
    plain = robust_limits(x)
    moved, mirrored = robust_limits(factor * x + shift), robust_limits(-x)
    size = max(1.0, abs(shift), factor)
    assert moved.lower[0] == pytest.approx(factor * plain.lower[0] + shift, abs=1e-6 * size)
    assert moved.upper[0] == pytest.approx(factor * plain.upper[0] + shift, abs=1e-6 * size)
    assert mirrored.lower[0] == pytest.approx(-plain.upper[0], rel=0.02)


@pytest.mark.parametrize("seed", range(4))
def test_median_regression_is_statsmodels_quantile_regression(seed):
    rng = np.random.default_rng(seed)
    ages = rng.uniform(20, 80, 150)
    design = spline(ages, np.quantile(ages, (0.1, 0.5, 0.9)))
    values = 0.5 - 0.002 * ages + 0.1 * rng.standard_t(4, 150)
    found = median_regression(design, values)
    expected = sm.QuantReg(values, design).fit(q=0.5, max_iter=5000, p_tol=1e-10).params

    def loss(beta):
        return np.abs(values - design @ beta).sum()

    assert loss(found) <= loss(expected) + 1e-9
    assert found == pytest.approx(expected, abs=1e-3)


def test_the_spline_is_straight_beyond_its_knots():
    knots = np.array([30.0, 50.0, 70.0])
    for ages in (np.array([10.0, 15.0, 20.0]), np.array([75.0, 80.0, 85.0])):
        assert np.diff(spline(ages, knots), n=2, axis=0) == pytest.approx(0.0, abs=1e-12)
    inside = spline(np.array([45.0, 50.0, 55.0]), knots)
    assert abs(np.diff(inside[:, 2], n=2)[0]) > 1e-3


def test_curves_find_a_known_change_with_age_and_never_cross():
    rng = np.random.default_rng(8)
    ages = rng.uniform(20, 80, 4000)
    values = 0.6 - 0.003 * (ages - 20) + (0.05 + 0.001 * (ages - 20)) * rng.standard_normal(4000)
    at = np.array([25.0, 50.0, 75.0])
    found = quantile_curves(ages, values, at, (2.5, 50.0, 97.5))
    sd = 0.05 + 0.001 * (at - 20)
    truth = (0.6 - 0.003 * (at - 20))[:, None] + sd[:, None] * stats.norm.ppf([0.025, 0.5, 0.975])
    assert found == pytest.approx(truth, abs=0.02)
    assert np.all(np.diff(found, axis=1) > 0)


def test_a_wild_value_is_flagged_and_a_skewed_group_is_not():
    rng = np.random.default_rng(2)
    skewed = np.exp(0.5 * rng.standard_normal(200))
    assert outliers(skewed).mean() < 0.03
    wild = np.append(rng.normal(10, 1, 40), 30.0)
    assert outliers(wild)[-1]
    assert not outliers(np.array([1.0] * 30 + [9.0])).any()


def test_the_partition_rule_is_welch_s_z_and_the_ratio_of_sds():
    rng = np.random.default_rng(5)
    first, second = rng.normal(0, 1, 120), rng.normal(1, 1, 120)
    found = partition("sex", ("female", "male"), first, second)
    # the values were made symmetric together, which for normal ones changes Welch's t little
    welch = stats.ttest_ind(first, second, equal_var=False)
    assert found.z == pytest.approx(abs(welch.statistic), rel=0.05)
    assert found.critical_z == pytest.approx(3.0)  # 120 in each: z above 3
    assert found.needed
    assert not partition("sex", ("f", "m"), first, rng.normal(0, 1, 120)).needed
    assert partition("sex", ("f", "m"), first, rng.normal(0, 2, 120)).needed


def test_nineteen_are_listed_twenty_have_robust_limits_and_120_limits_by_rank():
    values = np.random.default_rng(6).normal(0.5, 0.1, 120)
    methods = {n: only(built(people(values[:n]))).groups[0] for n in (19, 20, 119, 120)}
    assert [group.method for group in methods.values()] == [
        "listed", "robust", "robust", "nonparametric",
    ]  # fmt: skip
    assert methods[19].percentiles == ()
    ordered = np.sort(values)
    by_rank = methods[120]
    assert (by_rank.percentiles[0][1], by_rank.percentiles[-1][1]) == (ordered[2], ordered[117])
    assert by_rank.limit_intervals == {
        "lower": (ordered[0], ordered[6]), "upper": (ordered[113], ordered[119]),
    }  # fmt: skip


def test_outliers_are_flagged_and_kept_unless_the_clinic_asks():
    values = np.append(np.random.default_rng(7).normal(0.5, 0.05, 39), 3.0)
    kept = only(built(people(values))).groups[0]
    without = only(built(people(values), without_outliers=True)).groups[0]
    assert [v.person for v in kept.flagged] == ["H039"]
    assert (len(kept.values), kept.left_out) == (40, ())
    assert (len(without.values), [v.person for v in without.left_out]) == (39, ["H039"])
    assert without.percentiles[-1][1] < kept.percentiles[-1][1]


def test_age_gives_a_curve_when_it_matters_and_people_are_many_enough():
    rng = np.random.default_rng(9)
    ages = rng.uniform(20, 80, 150)
    falling = 0.8 - 0.005 * ages + 0.05 * rng.standard_normal(150)
    flat = 0.5 + 0.05 * rng.standard_normal(150)
    methods = [
        only(built(people(v, ages=list(a)), **o)).groups[0].method
        for v, a, o in (
            (falling, ages, {}),
            (flat, ages, {}),
            (flat, ages, {"by_age": "always"}),
            (falling, ages, {"by_age": "never"}),
            (falling[:100], ages[:100], {"by_age": "always"}),
        )
    ]
    assert methods == ["age_curve", "nonparametric", "age_curve", "nonparametric", "robust"]


def test_an_old_person_low_for_all_but_not_for_the_age_is_no_outlier():
    rng = np.random.default_rng(10)
    ages = np.append(rng.uniform(20, 60, 149), 90.0)
    values = 1.0 - 0.01 * ages + 0.02 * rng.standard_normal(150)
    assert outliers(values)[-1] or values[-1] == values.min()
    assert "H149" not in {
        v.person for v in only(built(people(values, ages=list(ages)))).groups[0].flagged
    }


def test_sexes_that_differ_are_told_and_parted_only_when_asked():
    rng = np.random.default_rng(11)
    values = np.append(rng.normal(0.4, 0.05, 60), rng.normal(0.6, 0.05, 60))
    sexes = ["female"] * 60 + ["male"] * 60
    told, parted = (only(built(people(values, sexes=sexes), apart=a)) for a in (False, True))
    assert [test.needed for test in told.partitions if test.by == "sex"] == [True]
    assert len(told.groups) == 1
    assert [(g.sex, len(g.values)) for g in parted.groups] == [("female", 60), ("male", 60)]


def test_one_person_counts_once_and_nothing_is_dropped_in_silence():
    from datetime import date

    reading = Reading("x/gain", GAIN, 0.5)
    late = HealthySession("H1", (Reading("x/gain", GAIN, 0.9),), day=date(2026, 3, 1))
    early = HealthySession(
        "H1",
        (reading, Reading("y/gain", GAIN, 0.7), Reading("z/gain", GAIN, None, "unusable")),
        day=date(2026, 2, 1),
    )
    found = collect([late, early])
    assert [v.value for v in found.samples[0].values] == [0.5]
    assert {a.why for a in found.apart} == {"later_session", "further_trial", "unusable"}


def test_other_definitions_and_stimuli_are_kept_apart_and_near_ones_are_not():
    def key(**keys):
        return MeasureKey(**{"measure": "gain", "kind": "sinusoid", "unit": "1", **keys})

    keys = [
        key(frequency_hz=0.0100), key(frequency_hz=0.0102), key(frequency_hz=0.02),
        key(frequency_hz=0.01, definition="other"), key(frequency_hz=0.01, vision="light"),
        key(frequency_hz=0.01, peak_velocity_deg_s=60.0),
        key(frequency_hz=0.01, peak_velocity_deg_s=63.0),
        key(frequency_hz=0.01, peak_velocity_deg_s=100.0),
    ]  # fmt: skip
    found = collect([HealthySession(f"H{i}", (Reading("x", k, 1.0),)) for i, k in enumerate(keys)])
    assert sorted(len(sample.values) for sample in found.samples) == [1, 1, 1, 1, 2, 2]


def test_a_built_set_can_be_read_again_and_is_the_same_each_time():
    rng = np.random.default_rng(12)
    ages = list(rng.uniform(20, 80, 130))
    sessions = people(0.8 - 0.005 * np.array(ages) + 0.05 * rng.standard_normal(130), ages=ages)
    texts = [set_text(built(sessions), set_id="own", version="1") for _ in range(2)]
    assert texts[0] == texts[1]
    (entry,) = read_set(texts[0], "own.toml")
    assert (entry.set, entry.mark, entry.n, entry.definition) == (
        "own",
        "local",
        130,
        GAIN.definition,
    )
    assert len(entry.curve) > 10
    assert entry.frequencies_hz == pytest.approx((0.0095, 0.0105))


def test_values_too_few_or_too_equal_are_listed_in_the_file_and_never_compared():
    few = people([0.1, 0.2, 0.3])
    equal = people([0.0] * 25 + [1.0] * 5)
    for sessions, told in ((few, "fewer than 20"), (equal, "the same")):
        (entry,) = read_set(set_text(built(sessions), set_id="own", version="1"))
        assert told in entry.not_placed


@pytest.mark.filterwarnings("error")
def test_values_that_all_lie_as_far_from_their_median_show_no_spread_with_age_and_no_warning():
    values, ages = [0.4, 0.5] * 65, [20.0 + i / 2 for i in range(130)]
    assert only(built(people(values, ages))).groups[0].percentiles


def test_frequencies_that_are_kept_apart_come_back_as_two_entries():
    near = MeasureKey("gain", "sinusoid", "1", None, "dark", "steady_state", 0.0106, 60.0)
    rng = np.random.default_rng(3)
    both = [*people(rng.normal(0.5, 0.1, 30)), *people(rng.normal(0.5, 0.1, 30), key=near)]
    sessions = [replace(one, person=f"P{i}") for i, one in enumerate(both)]
    entries = read_set(set_text(built(sessions), set_id="own", version="1"))
    assert len(entries) == 2
