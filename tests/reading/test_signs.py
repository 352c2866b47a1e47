"""Signs: each is made to be seen, not seen and left open. Limits are those of limits.toml; what is
published is named there, the rest is common practice without a source."""

import re
from dataclasses import replace

import pytest

from slowphase.measures.result import Quality
from slowphase.reading.limits import limits
from slowphase.reading.pattern_table import pattern_table
from slowphase.reading.patterns import SPOILING
from slowphase.reading.signs import signs_of
from slowphase.reading.signs.table import SIGNS, sign_words
from tests.reading.battery_findings import LIGHT_LEAK, LOW_ALERTNESS, calorics, mirrored, session

SEEN = {
    "beats_left": {"velocity": 3.0},
    "beats_right": {"velocity": -3.0},
    "beats_left_fast": {"velocity": 8.0},
    "beats_right_fast": {"velocity": -8.0},
    "beats_left_very_fast": {"velocity": 12.0},
    "beats_right_very_fast": {"velocity": -12.0},
    "preponderance": {"preponderance": 45.0},
    "vertical_nystagmus": {"vertical": 5.0},
    "gain_very_low": {"gain": 0.1},
    "gain_low": {"gain": 0.3},
    "constant_short": {"constants": (6.0, 6.5)},
    "constant_very_short": {"constants": (3.5, 3.0)},
    "constant_long": {"constants": (26.0, 24.0)},
    "lead_large": {"lead": 1.8},
    "lead_small": {"lead": 0.5},
    "rotation_right_weaker": {"sides": -15.0},
    "rotation_left_weaker": {"sides": 15.0},
    "suppression_poor": {"suppression": 50.0},
    "pursuit_poor": {"pursuit_of": 0.4},
    "caloric_right_weaker": {"calorics_of": (10.0, 40.0)},
    "caloric_left_weaker": {"calorics_of": (40.0, 10.0)},
    "caloric_both_weak": {"calorics_of": (8.0, 9.0)},
    "caloric_ear_works": {"calorics_of": (4.0, 40.0)},
    "impulse_right_lower": {"impulses_of": (0.5, 0.9)},
    "impulse_left_lower": {"impulses_of": (0.9, 0.5)},
    "impulse_both_low": {"impulses_of": (0.65, 0.66)},
    "impulse_both_criterion": {"impulses_of": (0.4, 0.45)},
    "parts_ways": {"calorics_of": (10.0, 40.0)},
    "drowsy": {"found": (LOW_ALERTNESS,)},
    "doubtful_recording": {"found": (LIGHT_LEAK,)},
}
OTHERWISE_TESTED = {
    "mirrored",
    "reversed_irrigations",
    "nystagmus_changes",
    "turns_with_gaze",
    "little_usable",
}
TESTED = [code for code in SEEN if code not in ("drowsy", "doubtful_recording")]
NOTHING = dict.fromkeys(
    ("velocity", "gain", "constants", "suppression", "calorics_of", "impulses_of", "pursuit_of")
)


def test_every_sign_has_its_words_and_is_expected_by_patterns():
    told = set(pattern_table()["healthy"]) | {*SPOILING}
    assert set(sign_words()) == set(SIGNS) == told == set(SEEN) | OTHERWISE_TESTED


def test_every_limit_that_a_question_names_exists():
    for entry in sign_words().values():
        assert set(re.findall(r"\{(\w+)\}", entry["question"])) <= set(limits())


@pytest.mark.parametrize("code", SEEN)
def test_a_sign_is_seen_where_it_is_and_not_in_the_healthy(code):
    assert signs_of(session(**SEEN[code]))[code].chance >= 0.95
    other = {"calorics_of": (4.0, 5.0)} if code == "caloric_ear_works" else {}
    assert (signs_of(session(**other))[code].chance or 0.0) <= 0.05


@pytest.mark.parametrize("code", TESTED)
def test_a_sign_of_what_was_not_tested_stays_open(code):
    sign = signs_of(session(**NOTHING))[code]
    assert sign.chance is None
    assert sign.evidence == ()


@pytest.mark.parametrize("code", TESTED)
def test_a_sign_that_is_seen_names_its_measures(code):
    assert signs_of(session(**SEEN[code]))[code].evidence


def test_at_its_limit_a_sign_is_undecided():
    assert signs_of(session(velocity=4.0))["beats_left_fast"].chance == pytest.approx(0.5)
    assert signs_of(session(sides=-6.0))["rotation_right_weaker"].chance == pytest.approx(0.5)


@pytest.mark.parametrize("code", [c for c in SEEN if "right" in c])
def test_mirroring_a_session_swaps_the_signs_of_the_sides(code):
    here = signs_of(session(**SEEN[code]))
    there = signs_of(mirrored(**SEEN[code]))
    assert there[code.replace("right", "left")].chance == pytest.approx(here[code].chance)


def test_a_loss_of_one_side_that_lowers_the_other_impulse_gain_does_not_part_ways():
    found = signs_of(session(calorics_of=(2.0, 50.0), impulses_of=(0.35, 0.6)))
    assert found["parts_ways"].chance <= 0.05


def test_a_weak_dark_gain_leaves_suppression_open():
    assert signs_of(session(gain=0.15, suppression=20.0))["suppression_poor"].chance is None


TIRED = Quality(90.0, "sound", ("lapses_left_out",), quick_phase_speed=1.0)


def with_lapses(findings):
    """Every rotation in the dark with lapses, the quick phases fast."""
    turning = ("sinusoid", "step")
    trials = tuple(replace(t, quality=TIRED) if t.kind in turning else t for t in findings.trials)
    return replace(findings, trials=trials)


def test_lapses_with_what_drowsiness_does_are_low_alertness_unless_other_tests_show_the_loss():
    short = {"constants": (6.0, 6.0), "calorics_of": None, "impulses_of": None}
    assert signs_of(with_lapses(session(**short)))["drowsy"].chance == 1.0
    assert signs_of(with_lapses(session()))["drowsy"].chance == 0.0
    loss = {**short, "calorics_of": (4.0, 5.0)}
    assert signs_of(with_lapses(session(**loss)))["drowsy"].chance == 0.0


def test_values_typed_without_an_interval_are_taken_as_they_are():
    typed = ("measured_elsewhere",)
    group = calorics(5.0, 46.0, half=None, why=typed)
    measures = tuple(replace(m, low=None, high=None, why=typed) for m in group.measures)
    found = session(calorics_of=None, impulses_of=None)
    found = replace(found, groups=(replace(group, measures=measures),))
    assert signs_of(found)["caloric_right_weaker"].chance == 1.0
    assert signs_of(found)["caloric_both_weak"].chance == 0.0
