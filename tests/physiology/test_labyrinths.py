"""What each lesion does, against the patterns that are published or common practice."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from slowphase.physiology.labyrinth import half_response, reflex_velocity
from slowphase.physiology.labyrinths import (
    Labyrinths,
    Wiring,
    decay_s,
    excitation_share,
    gaze_leak_per_s,
    imbalance_of,
    reflex_of,
)
from slowphase.physiology.person import Person
from slowphase.physiology.protocol import head_velocity, sinusoid, step
from slowphase.physiology.truth import exciting, noise_free_velocity, sinusoid_truth, step_truth

DEGREES = st.floats(0.0, 1.0)
HEALTHY = Labyrinths()
ACUTE = Labyrinths(right=0.0)
COMPENSATED = Labyrinths(right=0.0, compensated=1.0)


def _person(labyrinths):
    return Person(reflex=reflex_of(labyrinths), spontaneous=imbalance_of(labyrinths))


def _at(labyrinths, frequency_hz):
    return sinusoid_truth(_person(labyrinths), sinusoid(frequency_hz), 0.0)


def _spin(labyrinths, direction="right"):
    """Measures of a spin by exciting side."""
    plan = step(direction)
    found = step_truth(_person(labyrinths), plan, 0.0)
    return {exciting(plan, of): {n: found[f"{of}/{n}"] for n in NAMES} for of in ("per", "post")}


NAMES = ("gain", "time_constant", "decay")


def test_two_whole_labyrinths_are_the_healthy_person():
    # T about 20 s, adaptation 150–200 s, no nystagmus: made for Yu et al. 2022 (read)
    reflex = reflex_of(HEALTHY)
    for side in (reflex.right, reflex.left):
        assert side.gain == pytest.approx(0.65)
        assert side.dynamics.decay_s == pytest.approx(20.0)
        assert 150.0 <= side.dynamics.adaptation_s <= 200.0
    assert imbalance_of(HEALTHY).bias_deg_s == 0.0
    assert 41.6 < _at(HEALTHY, 0.01)["phase"] < 45.1


@given(DEGREES, DEGREES, DEGREES)
def test_mirroring_the_labyrinths_swaps_the_sides_and_turns_the_nystagmus(right, left, compensated):
    one = Labyrinths(right, left, compensated)
    other = Labyrinths(left, right, compensated)
    assert reflex_of(one).right == reflex_of(other).left
    assert reflex_of(one).left == reflex_of(other).right
    assert imbalance_of(one).bias_deg_s == -imbalance_of(other).bias_deg_s
    assert gaze_leak_per_s(one) == gaze_leak_per_s(other)


@given(DEGREES, DEGREES, DEGREES)
def test_no_loss_makes_a_reflex_stronger_or_longer_than_the_healthy_one(right, left, compensated):
    reflex = reflex_of(Labyrinths(right, left, compensated))
    for side in (reflex.right, reflex.left):
        assert 0.0 <= side.gain <= 0.65 + 1e-9
        assert 0.0 < side.dynamics.decay_s <= 20.0 + 1e-9
        assert 0.0 <= side.inhibited_share <= 1.0


def test_a_left_loss_beats_to_the_right():
    # right-beating nystagmus has a negative slow phase; 20 to 30 deg/s when complete and acute
    assert -30.0 <= imbalance_of(Labyrinths(left=0.0)).bias_deg_s <= -20.0


def test_acute_loss_answers_less_and_shortly_when_the_bad_ear_is_excited():
    # REFERENCES: practice; abnormally short is under about 9 s (practice)
    spin = _spin(ACUTE)
    assert spin["right"]["gain"] < 0.75 * spin["left"]["gain"]
    assert spin["right"]["time_constant"] < 9.0
    assert _at(ACUTE, 0.01)["phase"] > _at(HEALTHY, 0.01)["phase"] + 15.0
    assert abs(_at(ACUTE, 0.16)["asymmetry"]) > 50.0


def test_per_of_one_spin_is_post_of_the_other():
    one, other = _spin(ACUTE, "right"), _spin(ACUTE, "left")
    assert one == other


def test_compensated_loss_lacks_gain_and_leads_at_low_frequencies_only():
    # Acta Otolaryngol Suppl 1984, read: gain down and lead up at low, near normal at high ones
    low, high = _at(COMPENSATED, 0.01), _at(COMPENSATED, 0.64)
    healthy_low, healthy_high = _at(HEALTHY, 0.01), _at(HEALTHY, 0.64)
    assert low["gain"] < 0.5 * healthy_low["gain"]
    assert low["phase"] > healthy_low["phase"] + 15.0
    assert high["gain"] > 0.7 * healthy_high["gain"]
    assert high["phase"] == pytest.approx(healthy_high["phase"], abs=3.0)
    assert abs(high["bias"]) < 0.5


def test_compensation_brings_the_sides_together_and_takes_the_bias_away():
    stages = [Labyrinths(right=0.0, compensated=c) for c in (0.0, 0.5, 1.0)]
    ratios = [reflex_of(x).right.gain / reflex_of(x).left.gain for x in stages]
    biases = [imbalance_of(x).bias_deg_s for x in stages]
    assert ratios[0] < ratios[1] < ratios[2] < 1.0
    assert biases[0] > biases[1] > biases[2] == 0.0
    assert excitation_share(stages[-1]) == pytest.approx(0.55)


def test_decay_falls_as_paresis_rises_both_ways():
    # Perez et al. 2001, Acta Otolaryngol 121:715–723, abstract read (n = 435)
    losses = [Labyrinths(right=degree) for degree in np.linspace(1.0, 0.0, 11)]
    for side in ("right", "left"):
        decays = [getattr(reflex_of(loss), side).dynamics.decay_s for loss in losses]
        assert np.all(np.diff(decays) < 0)


def test_decays_of_the_sides_differ_for_partial_losses():
    # Perez et al. 2001: sides differ for a paresis of 21 to 80 %, here (1 − w)/(1 + w)
    def difference(paresis):
        labyrinths = Labyrinths(right=(1 - paresis) / (1 + paresis))
        return decay_s(labyrinths, 1.0, labyrinths.right) - decay_s(
            labyrinths, labyrinths.right, 1.0
        )

    inside = [difference(paresis) for paresis in (0.21, 0.4, 0.6)]
    assert min(inside) > 0.5
    assert difference(0.0) == difference(1.0) == 0.0


@pytest.mark.parametrize("degree", [0.1, 0.15])
def test_severe_loss_of_both_meets_the_criterion_of_the_chair(degree):
    # Strupp et al. 2017: gain < 0.1 at 0.1 Hz and/or time constant < 5 s, abstract read
    both = Labyrinths(degree, degree)
    plan = replace(sinusoid(0.1), peak_velocity_deg_s=50.0)
    assert sinusoid_truth(_person(both), plan, 0.0)["gain"] < 0.1
    assert _spin(both)["right"]["time_constant"] < 5.0


@pytest.mark.parametrize("degree", [0.15, 0.3, 0.5])
def test_loss_of_both_leads_and_keeps_more_at_high_frequencies(degree):
    # Ishiyama et al. 2006, read: low gain, more lead, very short time constant, some gain left high
    both = Labyrinths(degree, degree)
    kept = [_at(both, f)["gain"] / _at(HEALTHY, f)["gain"] for f in (0.01, 0.04, 0.16, 0.64)]
    assert np.all(np.diff(kept) > 0)
    assert _at(both, 0.01)["phase"] > 70.0
    assert imbalance_of(both).bias_deg_s == 0.0


def test_ewalds_second_law_shows_at_high_velocity_only():
    """A left labyrinth alone answers both ways, but inhibition cannot go below silence."""
    reflex = reflex_of(ACUTE)

    def ratio(velocity):
        drive = np.array([velocity])
        return float(half_response(reflex.right, drive)[0] / half_response(reflex.left, drive)[0])

    assert ratio(30.0) == pytest.approx(0.4 / 0.6, rel=0.01)
    assert ratio(400.0) < 0.65 * ratio(30.0)
    # resting rate over sensitivity, from memory: 90 spikes/s over 0.5 per deg/s
    most = half_response(reflex.right, np.array([5000.0]))[0] / reflex.right.gain
    assert most == pytest.approx(180.0, rel=0.01)


def test_a_loss_leaves_the_other_direction_unsaturated_on_the_chair():
    drive = np.array([100.0])
    assert half_response(reflex_of(HEALTHY).left, drive)[0] == pytest.approx(65.0, rel=0.03)


def test_storage_changes_the_decay_and_not_the_gain():
    long = reflex_of(Labyrinths(storage=1.6)).right
    assert long.dynamics.decay_s == pytest.approx(32.0)
    assert long.gain == reflex_of(HEALTHY).right.gain


def test_nothing_left_is_silence():
    nothing = _person(Labyrinths(0.0, 0.0))
    head = head_velocity(step("right"), np.arange(0.0, 60.0, 0.02))
    assert not reflex_velocity(nothing.reflex, head, 50.0).any()


def _plain_s(raw, time_s):
    """From the raw peak to 37 % of it; endless where a nystagmus keeps it above."""
    peak = int(np.argmax(raw))
    below = np.flatnonzero(raw[peak:] < raw[peak] / np.e)
    return time_s[peak + below[0]] - time_s[peak] if below.size else np.inf


@pytest.mark.parametrize(("nystagmus_deg_s", "too_long"), [(20.0, 0.5), (30.0, 1.0)])
@pytest.mark.parametrize("velocity_deg_s", [60.0, 100.0])
def test_a_strong_nystagmus_makes_the_plain_time_constant_too_long(
    nystagmus_deg_s, too_long, velocity_deg_s
):
    """The bar of the project: gain 0.65 on the healthy side, 37 % of the raw peak, no noise."""
    wiring = Wiring(gain=0.65 / 0.6, imbalance_deg_s=nystagmus_deg_s)
    person = _person(Labyrinths(right=0.0, wiring=wiring))
    assert person.reflex.left.gain == pytest.approx(0.65)
    plan = replace(step("left"), velocity_deg_s=velocity_deg_s, rotation_s=90.0)
    time_s = np.arange(0.0, plan.stop_at_s, 0.005)
    raw = noise_free_velocity(person, plan, head_velocity(plan, time_s), 200.0)
    raw = raw + person.spontaneous.bias_deg_s
    plain_s = _plain_s(raw, time_s)
    true_s = step_truth(person, plan, 0.0)["per/time_constant"]
    assert plain_s > (1.0 + too_long) * true_s


def test_an_acute_imbalance_makes_gaze_holding_leak():
    assert gaze_leak_per_s(HEALTHY) == 0.02
    assert gaze_leak_per_s(ACUTE) == pytest.approx(0.06)
    assert gaze_leak_per_s(COMPENSATED) == 0.02
