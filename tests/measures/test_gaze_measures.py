"""Gaze positions: against simulated truth, an independent generator, and bad input."""

from dataclasses import replace

import numpy as np
import pytest
from gazes import looking
from made_traces import by_name, measured, result_of

from slowphase.cli.simulated_session import session_from
from slowphase.measures.kinds import measure_groups
from slowphase.measures.settings import MeasureSettings
from slowphase.physiology.oculomotor import Oculomotor
from slowphase.physiology.person import Person
from slowphase.physiology.protocol import gaze
from slowphase.physiology.recorder import Equipment
from slowphase.physiology.simulate import simulate
from slowphase.physiology.spontaneous import Spontaneous
from slowphase.recording.session import Patient

SETTINGS = MeasureSettings()
PLANS = tuple(gaze(place, vision=vision) for vision in ("dark", "light") for place in (20.0, -20.0))


def simulated(seed, *, leak=0.02, bias=0.0, plans=PLANS):
    """Results and truths of a simulated person's gaze trials."""
    person = Person(
        oculomotor=Oculomotor(gaze_leak_per_s=leak), spontaneous=Spontaneous(bias_deg_s=bias)
    )
    trials = simulate(person, plans, Equipment(), seed=seed)
    session = session_from(trials, Patient("invented", 50.0, "unknown"), None)
    results = tuple(result_of(trial) for trial in session.trials)
    return results, [trial.truth.measures for trial in trials]


def grouped(results):
    (group,) = measure_groups(tuple(results), SETTINGS)
    assert group.kind == "gaze"
    return {f"{m.of}/{m.name}": m for m in group.measures}


@pytest.fixture(scope="module")
def many():
    """Gaze trials of 20 simulated people, a leak of 0.01 to 0.2 per s, a nystagmus or none."""
    rng = np.random.default_rng(9)
    rows = []
    for seed in range(20):
        leak, bias = rng.uniform(0.01, 0.2), float(rng.choice([0.0, rng.normal(0.0, 4.0)]))
        rows.append((leak, *simulated(seed, leak=leak, bias=bias)))
    return rows


def test_simulated_velocities_at_the_held_gaze_come_back_and_intervals_cover(many):
    errors, inside = [], []
    for _, results, truths in many:
        for result, truth in zip(results, truths, strict=True):
            found, true = by_name(result)["horizontal/velocity"], truth["horizontal/velocity"]
            errors.append(abs(found.value - true))
            inside.append(found.low <= true <= found.high)
    assert np.percentile(errors, 90) < 0.4
    assert np.mean(inside) >= 0.88


def test_the_gaze_that_was_held_comes_back(many):
    for _, results, truths in many:
        for result, truth in zip(results, truths, strict=True):
            found = by_name(result)["gaze"]
            assert found.value == pytest.approx(truth["gaze"], abs=1.0)


def test_the_sign_of_a_gaze_evoked_dependence_is_right_in_95_percent_beyond_1_deg_s(many):
    right, close = [], []
    for leak, results, truths in many:
        if leak * 20.0 < 1.0:
            continue
        found = grouped(results)["dark/gaze_dependence"]
        true = np.subtract(*(t["horizontal/velocity"] for t in truths[:2])) / np.subtract(
            *(t["gaze"] for t in truths[:2])
        )
        right.append(np.sign(found.value) == np.sign(true) and found.high < 0)
        close.append(abs(found.value - true))
    assert len(right) >= 12
    assert np.mean(right) >= 0.95
    assert np.percentile(close, 90) < 0.02


@pytest.mark.parametrize("seed", range(12))
def test_the_sign_is_right_with_an_independent_generator(seed):
    leak = 0.06 + 0.01 * seed
    trials = [looking(s * 20.0, leak=leak, seed=10 * seed + n) for n, s in enumerate((1, -1))]
    found = grouped([result_of(trial) for trial in trials])["dark/gaze_dependence"]
    assert found.high < 0
    assert found.value == pytest.approx(-leak, abs=0.03)
    assert "gaze_evoked" in found.why


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize(
    ("leak", "bias", "law"),
    [
        (0.0, 0.0, "gaze_independent"),
        (0.08, -6.0, "alexanders_law"),
        (0.0, 6.0, "gaze_independent"),
    ],
)
def test_the_law_that_holds_is_named(leak, bias, law, seed):
    trials = [
        looking(place, leak=leak, bias=bias, seed=100 * seed + n)
        for n, place in enumerate((20.0, 0.0, -20.0))
    ]
    why = grouped([result_of(trial) for trial in trials])["dark/gaze_dependence"].why
    if law == "gaze_independent":
        assert "gaze_evoked" not in why  # 5 % of the still may seem to depend on gaze
        assert len({"gaze_independent", "gaze_law_open", "alexanders_law"} & set(why)) == 1
    else:
        assert law in why


def test_chance_alone_seldom_makes_a_dependence():
    """A still dependence at the 5 % level: 2 of 24 or fewer expected, 5 allowed (binomial)."""
    found = [
        grouped([result_of(looking(s * 20.0, seed=1000 + 2 * n + (s > 0))) for s in (1, -1)])
        for n in range(24)
    ]
    assert sum(m["dark/gaze_chance"].value < 0.05 for m in found) <= 5


def test_one_side_that_is_not_sure_leaves_both_laws_open():
    trials = [
        looking(20.0, leak=0.1, bias=-2.0, seed=3),
        looking(-20.0, leak=0.1, bias=-2.0, seed=4),
    ]
    assert "gaze_law_open" in grouped([result_of(t) for t in trials])["dark/gaze_dependence"].why


def test_the_line_agrees_with_statsmodels_wls():
    """statsmodels' weighted least squares with known variances, a general-purpose library."""
    import statsmodels.api as sm

    trials = [looking(p, leak=0.1, seed=n) for n, p in enumerate((20.0, 10.0, 0.0, -20.0))]
    results = [result_of(trial) for trial in trials]
    found = grouped(results)
    rows = [by_name(result) for result in results]
    gazes = np.array([row["gaze"].value for row in rows])
    velocity = [row["horizontal/velocity"] for row in rows]
    error = np.array([(v.high - v.value) / 1.959963984540054 for v in velocity])
    fit = sm.WLS([v.value for v in velocity], sm.add_constant(gazes), weights=error**-2.0).fit()
    widened = fit.bse[1] * max(1.0, fit.scale**-0.5)  # never narrower than the intervals say
    slope = found["dark/gaze_dependence"]
    assert slope.value == pytest.approx(fit.params[1], rel=1e-9)
    assert (slope.high - slope.value) / 1.959963984540054 == pytest.approx(widened, rel=1e-6)


def test_mirroring_turns_velocity_and_gaze_and_keeps_the_dependence():
    trials = [looking(s * 20.0, leak=0.1, bias=2.0, seed=n) for n, s in enumerate((1, -1))]
    turned = [
        replace(
            trial,
            stimulus={"eccentricity_deg": -trial.stimulus["eccentricity_deg"]},
            recording=replace(
                trial.recording,
                channels={
                    role: -values if "_h_" in role else values
                    for role, values in trial.recording.channels.items()
                },
            ),
        )
        for trial in trials
    ]
    one, other = (grouped([result_of(t) for t in each]) for each in (trials, turned))
    dark = "dark/gaze_dependence", "dark/velocity_at_centre"
    assert other[dark[0]].value == pytest.approx(one[dark[0]].value, rel=1e-6)
    assert other[dark[1]].value == pytest.approx(-one[dark[1]].value, rel=1e-6)


def test_fixation_at_a_position_is_compared_with_the_dark():
    trials = [
        looking(20.0, leak=0.2, seed=1),
        looking(20.0, leak=0.05, seed=2, vision="light"),
        looking(-20.0, leak=0.0, seed=3),
        looking(-20.0, leak=0.0, seed=4, vision="light"),
    ]
    found = grouped([result_of(trial) for trial in trials])
    assert found["right/fixation_effect"].value == pytest.approx(75.0, abs=12.0)
    assert found["left/fixation_effect"].why == ("nystagmus_too_small",)


def test_up_and_down_are_held_against_the_vertical_velocity():
    trials = [
        looking(15.0, leak=0.15, plane="v", seed=1, direction="up"),
        looking(-15.0, leak=0.15, plane="v", seed=2, direction="down"),
    ]
    found = grouped([result_of(trial) for trial in trials])
    assert found["vertical dark/gaze_dependence"].value == pytest.approx(-0.15, abs=0.04)
    assert "gaze_evoked" in found["vertical dark/gaze_dependence"].why
    assert not any(key.startswith("dark/") for key in found)


def test_a_direction_decides_the_side_of_a_gaze_without_a_sign():
    trial = looking(-20.0, leak=0.1, seed=2)
    trial = replace(trial, stimulus={"eccentricity_deg": 20, "direction": "left"})
    assert measured(trial)["gaze"].value == pytest.approx(-18.5, abs=2.5)


def test_torsion_is_measured_where_it_was_recorded():
    found = measured(looking(20.0, seed=3, torsion_deg_s=-4.0))
    assert found["torsional/velocity"].value == pytest.approx(-4.0, abs=0.5)
    assert "torsional/velocity" not in measured(looking(20.0, seed=3))


@pytest.mark.parametrize("seed", range(4))
def test_a_rebound_after_the_return_is_found_and_named(seed):
    trial = looking(20.0, rebound=5.0, back_s=20.0, length_s=45.0, seed=seed, returned_s=20.0)
    found = measured(trial)["rebound"]
    assert found.value == pytest.approx(5.0, abs=1.5)
    assert "rebound" in found.why
    still = looking(20.0, back_s=20.0, length_s=45.0, seed=seed, returned_s=20.0)
    assert "rebound" not in measured(still)["rebound"].why


def test_a_nystagmus_toward_the_place_that_was_looked_at_is_no_rebound():
    trial = looking(20.0, rebound=-5.0, back_s=20.0, length_s=45.0, returned_s=20.0)
    assert "rebound" not in measured(trial)["rebound"].why


def test_too_little_after_the_return_gives_no_rebound():
    trial = looking(20.0, back_s=20.0, length_s=24.0, returned_s=20.0)
    assert measured(trial)["rebound"].why == ("not_recorded_after",)


def test_an_eye_that_never_goes_there_has_no_velocity_and_says_so():
    trial = replace(looking(0.0), stimulus={"eccentricity_deg": 20})
    found = measured(trial)
    assert found["horizontal/velocity"].value is None
    assert found["horizontal/velocity"].why == ("position_not_held",)
    assert found["gaze"].value is None


def test_the_trial_s_own_times_decide_where_they_are_told():
    trial = looking(20.0, leak=0.1, held_s=[10.0, 18.0])
    assert measured(trial)["held_time"].value == pytest.approx(8.0)


def test_a_trial_that_names_no_position_is_measured_whole():
    found = measured(replace(looking(0.0, bias=3.0), stimulus={}))
    assert found["horizontal/velocity"].value == pytest.approx(3.0, abs=0.5)


def test_one_position_alone_tells_no_dependence():
    found = grouped([result_of(looking(20.0, leak=0.1))])
    assert found["dark/gaze_dependence"].why == ("gaze_positions_few",)
