"""Twenty healthy people decide about an interval: 2, 3-4 and 5 outside (numbers from memory)."""

import numpy as np
import pytest

from slowphase.reference.intervals.healthy import HealthySession, MeasureKey, Reading
from slowphase.reference.intervals.verify import verdict, verify
from slowphase.reference.set_file import read_set

KEY = MeasureKey("gain", "sinusoid", "1", None, "dark", "steady_state", 0.02, 60.0)


def the_set(groups="{ lower = 0.3, upper = 0.7 }", vision="dark"):
    percentiles = groups.replace("lower", '"2.5"').replace("upper", '"97.5"')
    percentiles = percentiles.replace("{ ", "{ percentiles = { ").replace(" }", " } }")
    return read_set(
        '[set]\nid = "s"\ncitation = "s"\nmark = "read"\npopulation = "p"\n[[entry]]\n'
        f'measure = "gain"\nkind = "sinusoid"\nunit = "1"\nvision = "{vision}"\n'
        f"frequency_hz = 0.02\ngroups = [{percentiles}]\n"
    )


def sessions(outside, count, key=KEY, start=0):
    values = [0.9] * outside + [0.5] * (count - outside)
    return [
        HealthySession(f"H{start + i:03d}", (Reading("x/gain", key, v),), 40.0)
        for i, v in enumerate(values)
    ]


@pytest.mark.parametrize(
    ("outside", "told"),
    [((0,), "accept"), ((2,), "accept"), ((3,), "repeat"), ((4,), "repeat"), ((5,), "reject"),
     ((20,), "reject"), ((3, 2), "accept"), ((4, 3), "reject"), ((3, 5), "reject")],
)  # fmt: skip
def test_the_numbers_outside_decide(outside, told):
    assert verdict(outside) == told
    people = [s for k, n in enumerate(outside) for s in sessions(n, 20, start=20 * k)]
    (found,) = verify(the_set(), people)
    assert (found.verdict, found.outside) == (told, outside)


def test_a_value_at_a_limit_is_inside():
    people = [
        HealthySession(f"H{i}", (Reading("x", KEY, v),), 40.0)
        for i, v in enumerate([0.3, 0.7] * 10)
    ]
    assert verify(the_set(), people)[0].outside == (0,)
    beyond = [
        HealthySession(f"H{i}", (Reading("x", KEY, np.nextafter(0.3, 0.0)),), 40.0)
        for i in range(20)
    ]
    assert verify(the_set(), beyond)[0].outside == (20,)


def test_nineteen_people_or_another_stimulus_decide_nothing():
    (few,) = verify(the_set(), sessions(0, 19))
    assert (few.verdict, few.fitting, few.rounds) == ("too_few", 19, ())
    (other,) = verify(the_set(vision="light"), sessions(0, 40))
    assert (other.verdict, other.fitting) == ("too_few", 0)


def test_each_person_counts_once_and_is_held_against_the_limits_of_the_age():
    groups = "{ lower = 0.3, upper = 0.7 }"
    assert verify(the_set(groups), sessions(0, 10) * 2)[0].verdict == "too_few"


def test_limits_that_are_no_percentiles_cannot_be_verified():
    habit = read_set(
        '[set]\nid = "s"\ncitation = "s"\nmark = "practice"\npopulation = "p"\n[[entry]]\n'
        'measure = "gain"\nkind = "sinusoid"\nunit = "1"\ngroups = [{ lower = 0.3 }]\n'
    )
    assert verify(habit, sessions(0, 20))[0].verdict == "no_interval"


def test_a_right_interval_is_accepted_as_often_as_the_binomial_says():
    # 20 people, each outside with probability 0.05: at most 2 with 0.9245 (binomial table)
    rng = np.random.default_rng(1)
    counts = (rng.uniform(size=(20000, 20)) < 0.05).sum(axis=1)
    accepted = np.mean([verdict((int(count),)) == "accept" for count in counts])
    assert accepted == pytest.approx(0.9245, abs=0.006)
