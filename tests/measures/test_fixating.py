import numpy as np
import pytest
from made_targets import fixating, saccade
from made_traces import measured, result_of, trial
from scenarios import scenario
from scipy.stats import chi2, poisson

from slowphase.eye.settings import EyeSettings
from slowphase.measures.fixating.measures import rate_per_min
from slowphase.measures.kinds import measure_trials
from slowphase.measures.settings import MeasureSettings
from slowphase.measures.statistics import chi_square_quantile, spread_estimate
from slowphase.physiology.protocol import TrialPlan
from slowphase.physiology.recorder import Equipment
from slowphase.physiology.scenario import scenario_from
from slowphase.physiology.simulate import simulate
from slowphase.recording.trial import Recording

RATE_HZ = 250.0
ODD = "waveform_not_interpretable"


def times(seconds):
    return np.arange(round(seconds * RATE_HZ)) / RATE_HZ


def rest(position, *, vision="light", seed=0, name="rest"):
    noise = np.random.default_rng(seed).normal(0.0, 0.04, (2, position.size))
    eyes = {"eye_h_right": position + noise[0], "eye_h_left": position + noise[1]}
    recording = Recording(times(position.size / RATE_HZ), RATE_HZ, eyes)
    return trial("spontaneous", recording, name=name, vision=vision)


def beating(slow_phase, length_s, *, every_s=0.4, jump=None):
    """A nystagmus whose every slow phase has one shape; quick phases of least jerk go back."""
    time_s = times(length_s)
    beats = np.arange(0.0, length_s - every_s, every_s)
    position = np.zeros(time_s.size)
    for start in beats:
        inside = (time_s >= start) & (time_s < start + every_s)
        position[inside] = slow_phase(time_s[inside] - start)
    end = slow_phase(np.array([every_s]))[0]
    for start in beats[1:]:
        size = -end
        own = (time_s >= start) & (time_s < start + 0.06)
        position[own] += -size + saccade(time_s[own], start, size)
    return position


def straight(since):
    return 12.0 * since - 2.4


def rising(since):
    """Speed that doubles about every 0.12 s, as in congenital nystagmus."""
    return 0.6 * np.expm1(since / 0.17) - 2.0


def falling(since):
    """A leaky integrator: fast at first."""
    return 8.0 * -np.expm1(-since / 0.25) - 3.0


# --- square-wave jerks -------------------------------------------------------------------------


def with_jerks(sizes, onsets, length_s, *, apart_s=0.22, seed=0):
    time_s = times(length_s)
    position = fixating(time_s, np.random.default_rng(seed))
    for size, onset in zip(sizes, onsets, strict=True):
        position += saccade(time_s, onset, size) - saccade(time_s, onset + apart_s, size)
    return position


def test_square_wave_jerks_that_somebody_else_made_are_counted_and_sized():
    rng = np.random.default_rng(4)
    onsets = np.arange(1.0, 58.0, 2.4) + rng.uniform(0, 1.0, 24)
    sizes = rng.choice([-1.0, 1.0], 24) * rng.uniform(0.9, 2.2, 24)
    found = measured(rest(with_jerks(sizes, onsets, 60.0)))
    jerks, size = found["square_wave_jerks"], found["square_wave_size"]
    assert jerks.value == pytest.approx(24.0, abs=1.1)
    assert jerks.low < 24.0 < jerks.high
    assert size.value == pytest.approx(np.median(np.abs(sizes)), abs=0.1)


@pytest.mark.parametrize(
    ("sizes", "apart_s"), [([0.2] * 10, 0.22), ([8.0] * 10, 0.22), ([1.5] * 10, 0.8)]
)
def test_small_large_and_slow_pairs_are_no_square_wave_jerks(sizes, apart_s):
    onsets = np.arange(1.0, 30.0, 3.0)
    found = measured(rest(with_jerks(sizes, onsets, 32.0, apart_s=apart_s)))
    assert found["square_wave_jerks"].value == 0.0
    assert found["square_wave_size"].why == ("no_square_waves",)


def test_simulated_square_wave_jerks_are_counted():
    plan = TrialPlan(id="rest", kind="spontaneous", vision="light", duration_s=120.0)
    person = scenario_from({"person": {"oculomotor": {"jerks_per_min": 10.0}}}).person
    found, true = [], []
    for seed in range(4):
        made = simulate(person, [plan], Equipment(), seed=seed)[0]
        eyes = {k: v for k, v in made.traces.channels.items() if k.startswith("eye")}
        recording = Recording(made.traces.time_s, 250.0, eyes)
        one = measured(trial("spontaneous", recording, vision="light"))
        found.append(one["square_wave_jerks"].value)
        # the simulator's jerks, unlike its other saccades, come back by exactly their own size;
        # at more than ten a minute they begin to fall into one another
        sizes = made.truth.quick_phases.amplitude_deg
        true.append(sum(-size in sizes for size in sizes[sizes > 0]) / 2.0)
    assert np.mean(true) > 8.0
    assert np.mean(found) == pytest.approx(np.mean(true), rel=0.15)


def test_jerks_are_counted_only_where_the_patient_sees():
    position = with_jerks([1.5] * 5, np.arange(1.0, 14.0, 2.7), 20.0)
    assert "square_wave_jerks" not in measured(rest(position, vision="dark"))


@pytest.mark.parametrize("count", [0, 1, 4, 20, 100])
def test_the_interval_of_a_rate_is_that_of_a_poisson_count(count):
    found = rate_per_min(count, 60.0)
    low = chi2.ppf(0.025, 2 * count) / 2 if count else 0.0
    high = chi2.ppf(0.975, 2 * count + 2) / 2
    assert found.low == pytest.approx(low, abs=0.06)
    assert found.high == pytest.approx(high, rel=0.02)
    assert poisson.cdf(count, found.high) == pytest.approx(0.025, abs=0.003)


@pytest.mark.parametrize("degrees", [3, 5, 10, 30])
def test_the_interval_of_a_spread_agrees_with_scipy(degrees):
    found = spread_estimate(1.0, degrees)
    assert found.low == pytest.approx((degrees / chi2.ppf(0.975, degrees)) ** 0.5, rel=0.01)
    assert found.high == pytest.approx((degrees / chi2.ppf(0.025, degrees)) ** 0.5, rel=0.1)
    assert chi_square_quantile(0.0, degrees) == pytest.approx(chi2.ppf(0.5, degrees), rel=0.02)


# --- waveforms ---------------------------------------------------------------------------------


def test_slow_phases_that_gain_speed_are_not_interpretable():
    found = result_of(rest(beating(rising, 30.0), vision="dark"))
    assert ODD in found.quality.why
    velocity = next(m for m in found.measures if m.name == "velocity")
    assert velocity.grade == "unusable"
    assert ODD in velocity.why
    assert found.carried is None


@pytest.mark.parametrize("shape", [straight, falling])
@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_straight_and_leaking_slow_phases_are_a_jerk_nystagmus(shape, sign):
    found = result_of(rest(sign * beating(shape, 30.0), vision="dark"))
    assert ODD not in found.quality.why


@pytest.mark.parametrize(("frequency_hz", "size_deg"), [(2.5, 3.0), (4.0, 1.5), (6.0, 0.8)])
def test_an_eye_that_swings_as_a_pendulum_is_not_interpretable(frequency_hz, size_deg):
    time_s = times(30.0)
    waxing = 1.0 + 0.3 * np.sin(2 * np.pi * 0.15 * time_s)
    position = size_deg * waxing * np.sin(2 * np.pi * frequency_hz * time_s)
    found = result_of(rest(position + fixating(time_s, np.random.default_rng(2))))
    assert ODD in found.quality.why


def test_a_steady_fast_saw_tooth_is_no_pendulum():
    found = result_of(rest(beating(straight, 30.0, every_s=0.3), vision="dark"))
    assert ODD not in found.quality.why


@pytest.mark.parametrize(
    "name", ["healthy-250", "acute-right-loss", "leaky-gaze", "electrodes-acute", "coarse-noise"]
)
def test_no_simulated_nystagmus_is_taken_for_a_congenital_one(name):
    session, _ = scenario(name, 22)
    for one in session.trials:
        if one.kind == "spontaneous":
            assert ODD not in result_of(one).quality.why


def test_a_congenital_waveform_makes_the_other_trials_of_the_session_doubtful():
    odd = rest(beating(rising, 30.0), vision="dark", name="odd")
    usual = rest(beating(straight, 30.0), vision="dark", name="usual", seed=3)
    both = measure_trials([odd, usual], EyeSettings(), MeasureSettings())
    alone = measure_trials([usual], EyeSettings(), MeasureSettings())
    velocity = both[1].measures[0]
    assert "congenital_waveform_elsewhere" in velocity.why
    assert velocity.grade == "caution"
    assert velocity.value == alone[0].measures[0].value
    assert alone[0].measures[0].grade == "sound"
