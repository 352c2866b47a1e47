"""Which set is chosen, why, and what the others lack. All sets here are invented."""

import pytest

from slowphase.measures.measure import Measure
from slowphase.measures.result import TrialResult
from slowphase.recording.session import Patient
from slowphase.reference.library import References
from slowphase.reference.select import choose, placed, subject_of
from slowphase.reference.set_file import read_set
from slowphase.reference.sets import reference_sets


def entry(id_, group="mean = 0.5, sd = 0.1", mark="read", head="", **keys):
    told = "".join(f"{k} = {v!r}\n".replace("'", '"') for k, v in keys.items())
    return read_set(
        f'[set]\nid = "{id_}"\ncitation = "{id_}"\nmark = "{mark}"\npopulation = "p"\n{head}\n'
        f'[[entry]]\nmeasure = "gain"\nkind = "sinusoid"\nunit = "1"\n{told}'
        f"groups = [{{ {group} }}]\n"
    )[0]


def subject(value=0.5, half=0.02, age=40, sex="female", peak=60.0, **conditions):
    measure = Measure("x/gain", "gain", value, value - half, value + half, "1", "steady_state")
    stimulus = {"frequency_hz": 0.02, "peak_velocity_deg_s": peak}
    trial = TrialResult("x", "sinusoid", "dark", stimulus, "done", None, None)
    return subject_of(measure, trial, Patient("p", age, sex), conditions)


def chosen(*entries, prefer=(), about=None, **keys):
    return choose(about or subject(**keys), References(tuple(entries), prefer))


def lacks(choice, set_):
    others = choice.placement.runners_up if choice.placement else choice.runners_up
    return next(other.lacks for other in others if other.set == set_)


@pytest.mark.parametrize(
    ("other", "told"),
    [
        (entry("o", "mean = 0.5, sd = 0.1, ages = [50, 59]"), "age outside 50–59 years"),
        (entry("o", 'mean = 0.5, sd = 0.1, sex = "male"'), "values of male people"),
        (entry("o", peak_velocity_deg_s=100.0), "peak velocity 100 deg/s instead of 60"),
        (entry("o", definition="single_exponential"),
         "other definition: single_exponential instead of steady_state"),
        (entry("o", recording="video"),
         "for video recordings, the session does not say which it is"),
        (entry("o", mark="memory"), "from memory, unverified, not used by default"),
        (entry("o", mark="practice"),
         "fits, but common practice, no source comes after read in the publication"),
        (entry("o", not_placed="sign unknown"), "not compared: sign unknown"),
        (entry("o", "mean = 0.5, sd = 0.1, ages = [18, 90]"), "fits, but stimulus not stated"),
        (entry("o", "mean = 0.5, sd = 0.1, ages = [18, 90], n = 30", peak_velocity_deg_s=60.0),
         "fits, but rests on fewer people"),
    ],
)  # fmt: skip
def test_a_set_that_is_not_chosen_says_what_it_lacks(other, told):
    best = entry("best", "mean = 0.5, sd = 0.1, ages = [18, 90], n = 99", peak_velocity_deg_s=60.0)
    choice = chosen(other, best)
    assert choice.placement.set == "best"
    assert lacks(choice, "o") == (told,)


def test_a_measure_without_a_fitting_set_still_says_what_the_sets_lack():
    groups = "{ mean = 0.5, sd = 0.1, ages = [20, 29] }, { mean = 0.4, sd = 0.1, ages = [30, 59] }"
    decades = read_set(
        '[set]\nid = "d"\ncitation = "d"\nmark = "read"\npopulation = "p"\n[[entry]]\n'
        f'measure = "gain"\nkind = "sinusoid"\nunit = "1"\ngroups = [{groups}]\n'
    )
    assert lacks(chosen(*decades, age=63), "d") == ("age outside 20–59 years",)
    assert lacks(chosen(*decades, age=None), "d") == (
        "for ages 20–59 years, the patient's is not known",
    )


def test_the_clinic_s_order_comes_before_marks_and_may_ask_for_what_is_remembered():
    read, local, memory = entry("r"), entry("l", mark="local"), entry("m", mark="memory")
    assert chosen(read, local, memory).placement.set == "l"
    preferred = chosen(read, local, memory, prefer=("r", "l"))
    assert preferred.placement.set == "r"
    assert "the clinic's preference, place 1" in preferred.placement.why
    assert lacks(preferred, "l") == ("fits, but the clinic prefers r",)
    assert chosen(read, local, memory, prefer=("m",)).placement.mark == "memory"


def test_a_preferred_set_that_does_not_fit_gives_way():
    old = entry("old", "mean = 0.5, sd = 0.1, ages = [60, 90]", mark="local")
    choice = chosen(old, entry("r"), prefer=("old",))
    assert choice.placement.set == "r"
    assert lacks(choice, "old") == ("age outside 60–90 years",)


def test_the_alerting_of_set_and_session_is_compared_and_told():
    sums, songs = entry("s", alerting="sums"), entry("t", alerting="songs")
    same = chosen(songs, sums, about=subject(alerting="Sums"))
    assert same.placement.set == "s"
    assert "alerted as in this session (sums)" in same.placement.why
    assert lacks(same, "t") == ("fits, but its alerting is less like that of the session",)
    silent = chosen(sums)
    assert "alerted by sums; this session does not say" in silent.placement.why


def test_the_order_of_the_sets_decides_nothing():
    sets = [entry(name, f"mean = 0.5, sd = 0.1, n = {n}") for name, n in (("a", 5), ("b", 9))]
    assert chosen(*sets) == chosen(*reversed(sets))


def test_z_and_percentile_and_limits_are_those_of_a_mean_and_sd():
    found = chosen(entry("r"), value=0.6).placement
    assert found.z == pytest.approx(1.0)
    assert found.percentile == pytest.approx(84.134, abs=1e-3)  # standard normal table: 0.8413
    assert found.between == (2.5, 97.5)
    assert found.quartiles == pytest.approx(
        (0.43255, 0.5, 0.56745), 1e-5
    )  # 0.67449 SDs, same table


@pytest.mark.parametrize(("value", "outside"), [(0.6, 0.0), (0.6 - 1e-9, 1.0), (0.6 + 1e-9, 0.0)])
def test_a_value_exactly_at_a_limit_is_not_beyond_it(value, outside):
    found = chosen(entry("r", "lower = 0.6"), value=value, half=0.0).placement
    assert found.beyond_limit == outside


def test_at_a_limit_an_uncertain_value_is_as_likely_on_either_side():
    assert chosen(entry("r", "lower = 6.0"), value=6.0, half=0.5).placement.beyond_limit == 0.5
    assert chosen(entry("r", "upper = 25.0"), value=25.0, half=1.0).placement.beyond_limit == 0.5


def test_no_measure_is_both_placed_and_without_a_place():
    measure = Measure("x/gain", "gain", 0.4, 0.3, 0.5, "1", "steady_state")
    trials = [
        TrialResult(name, "sinusoid", "dark", {"frequency_hz": f}, "done", None, None,
                    (Measure(f"{name}/gain", "gain", 0.4, 0.3, 0.5, "1", measure.definition),))
        for name, f in (("a", 0.01), ("b", 0.04), ("c", 3.0))
    ]  # fmt: skip
    found = placed(trials, (), Patient("p", 45.0))
    assert set(found.placements) == {"a/gain"}
    assert set(found.unplaced) == {"b/gain"}  # a range without spread is known; at 3 Hz nothing is
    assert all(e.mark for e in reference_sets())
