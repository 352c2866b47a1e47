"""The rules of the reading. Limits are common practice without a source (4 deg/s, 80 %, 9 s);
what healthy people show in the dark was read in J Vestib Res, PMC9249309."""

import string
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from slowphase.reading.cautions import caution, standing_cautions
from slowphase.reading.limits import limits
from slowphase.reading.pooling import pool
from slowphase.reading.rule import rule_texts
from slowphase.reading.rules import RULES
from slowphase.reading.words import chance, number, with_interval
from slowphase.reference.sets import marks
from tests.reading.sessions import (
    fixation,
    measure,
    sinusoid,
    spontaneous,
    statements,
    step,
    suppression,
)

BOTH_RIGHT = {"per": ("right", 12.0), "post": ("left", 12.0)}


class TestSpontaneousNystagmus:
    def test_is_named_by_its_quick_phase(self):
        left = statements([spontaneous(6.0)])["spontaneous_nystagmus"]
        right = statements([spontaneous(-6.0)])["spontaneous_nystagmus"]
        assert "left-beating" in left.text
        assert "right-beating" in right.text
        assert "6.0 deg/s (5.7–6.3) to the left" in right.text

    @pytest.mark.parametrize(
        ("velocity", "half", "verdict", "words"),
        [
            (8.0, 0.5, "holds", "over 99 %"),
            (2.0, 0.3, "holds", "within what clinics allow"),
            (4.1, 0.8, "holds", "too near the clinic limit"),
            (0.1, 0.2, "does_not_hold", "No spontaneous nystagmus"),
            (0.6, 0.8, "does_not_hold", "No clear spontaneous nystagmus"),
            (2.0, 4.0, "cannot_tell", "cannot be told"),
        ],
    )
    def test_is_judged_with_its_interval(self, velocity, half, verdict, words):
        found = statements([spontaneous(velocity, half)])["spontaneous_nystagmus"]
        assert found.verdict == verdict
        assert words in found.text

    def test_the_chance_of_exceeding_the_limit_comes_from_the_interval(self):
        found = statements([spontaneous(-4.0, 1.0)])["spontaneous_nystagmus"]
        assert "chance of exceeding it 50 %" in found.text

    def test_a_drift_without_quick_phases_is_not_called_a_nystagmus(self):
        found = statements([spontaneous(3.0, beats=1.0)])["spontaneous_nystagmus"]
        assert found.verdict == "does_not_hold"
        assert "a drift, not a nystagmus" in found.text

    def test_without_a_count_of_quick_phases_the_velocity_decides(self):
        assert statements([spontaneous(3.0, beats=None)])["spontaneous_nystagmus"].verdict == (
            "holds"
        )

    def test_says_that_healthy_people_have_it_too(self):
        found = statements([spontaneous(5.0)])["spontaneous_nystagmus"]
        assert caution("healthy_nystagmus") in found.cautions

    def test_a_vertical_component_points_to_the_local_pathway(self):
        plain = statements([spontaneous(5.0, vertical=0.3)])["spontaneous_nystagmus"]
        vertical = statements([spontaneous(5.0, vertical=-4.0)])["spontaneous_nystagmus"]
        assert caution("vertical") not in plain.cautions
        assert caution("vertical") in vertical.cautions
        assert "acute pathway" in caution("vertical")

    def test_tells_what_fixation_does(self):
        trials = [spontaneous(5.0)]
        good = statements(trials, [fixation(85.0, 5.0)])["spontaneous_nystagmus"]
        poor = statements(trials, [fixation(5.0, 10.0)])["spontaneous_nystagmus"]
        unknown = statements(trials)["spontaneous_nystagmus"]
        assert "reduces it by 85 % (80–90)" in good.text
        assert caution("poor_fixation") in poor.cautions
        assert caution("poor_fixation") not in good.cautions
        assert "was not measured" in unknown.text

    def test_electrodes_have_a_wider_limit(self):
        found = statements([spontaneous(5.0)], conditions={"recording": "Electrodes"})
        assert "6.0 deg/s" in found["spontaneous_nystagmus"].text

    @pytest.mark.parametrize(
        ("trials", "words"),
        [
            ([], "no trial of it was recorded"),
            ([spontaneous(5.0, vision="light")], "only with vision"),
            ([replace(spontaneous(5.0), outcome="not done", reason="nausea", measures=())],
             "not done (nausea)"),
            ([spontaneous(None, why=("too_short",))], "too little slow phase"),
        ],
    )  # fmt: skip
    def test_without_a_usable_trial_it_cannot_tell_and_says_why(self, trials, words):
        found = statements(trials)["spontaneous_nystagmus"]
        assert found.verdict == "cannot_tell"
        assert words in found.text

    @given(st.floats(0.1, 30), st.floats(0.05, 5))
    def test_mirroring_swaps_the_direction_and_nothing_else(self, velocity, half):
        right, left = (
            statements([spontaneous(sign * velocity, half)])["spontaneous_nystagmus"]
            for sign in (-1, 1)
        )
        assert right.verdict == left.verdict
        assert right.strength == left.strength
        swapped = right.text.replace("right-beating", "left-beating").replace(
            "to the left", "to the right"
        )
        assert swapped == left.text


class TestSuppression:
    TRIALS = (sinusoid("dark", 0.5), sinusoid("fix", 0.05, "head-fixed target", bias=-8.0))

    @pytest.mark.parametrize(
        ("value", "half", "verdict"),
        [(92, 4, "does_not_hold"), (60, 8, "holds"), (78, 6, "cannot_tell")],
    )
    def test_is_poor_when_it_is_surely_below_the_limit(self, value, half, verdict):
        found = statements(self.TRIALS, [suppression(value, half)])["suppression"]
        assert found.verdict == verdict

    def test_is_not_judged_when_the_dark_gain_is_too_small(self):
        trials = (sinusoid("dark", 0.15), self.TRIALS[1])
        found = statements(trials, [suppression(30.0, 5.0)])["suppression"]
        assert found.verdict == "cannot_tell"
        assert "0.15 (0.14–0.16)" in found.text

    def test_is_not_called_poor_when_alertness_was_low(self):
        trials = (sinusoid("dark", 0.5, why=("low_alertness",)), self.TRIALS[1])
        poor = statements(trials, [suppression(60.0, 5.0)])["suppression"]
        good = statements(trials, [suppression(92.0, 3.0)])["suppression"]
        assert poor.verdict == "cannot_tell"
        assert good.verdict == "does_not_hold"
        assert caution("low_alertness") in poor.cautions
        assert caution("low_alertness") in good.cautions

    def test_is_not_judged_at_high_frequency(self):
        trials = (sinusoid("dark", 0.5, frequency_hz=0.64), self.TRIALS[1])
        found = statements(trials, [suppression(60.0, 5.0)])["suppression"]
        assert found.verdict == "cannot_tell"

    def test_that_cannot_be_had_gives_its_reason(self):
        pair = suppression(None, None, why=("no_response",))
        assert statements(self.TRIALS, [pair])["suppression"].verdict == "cannot_tell"

    def test_a_spontaneous_nystagmus_that_makes_it_look_poor_is_called_a_red_herring(self):
        found = statements(self.TRIALS, [suppression(92.0, 3.0, whole=55.0)])
        assert found["suppression"].verdict == "does_not_hold"
        herring = found["suppression_whole_misleads"]
        assert herring.verdict == "holds"
        assert "55 % (51–59)" in herring.text
        assert "(8.0 deg/s)" in herring.text

    @pytest.mark.parametrize(("value", "whole"), [(60.0, 55.0), (92.0, 90.0), (92.0, None)])
    def test_no_red_herring_is_invented(self, value, whole):
        found = statements(self.TRIALS, [suppression(value, 3.0, whole=whole)])
        assert "suppression_whole_misleads" not in found


class TestTimeConstants:
    def test_are_pooled_by_the_side_that_is_excited(self):
        right = step("to-right", {"per": ("right", 12.0), "post": ("left", 5.0)})
        left = step("to-left", {"per": ("left", 5.0), "post": ("right", 12.0)})
        found = statements([right, left])
        assert found["time_constant_right"].verdict == "does_not_hold"
        assert found["time_constant_left"].verdict == "holds"
        assert found["time_constant_left"].strength == "firm"
        # two equal values of ± 0.5 s pool to ± 0.5/√2 s
        assert "5.0 s (4.6–5.4) (2 responses pooled)" in found["time_constant_left"].text
        assert found["time_constant_sides"].verdict == "holds"
        assert caution("sides") in found["time_constant_sides"].cautions
        assert "longer when the right is excited, by 7.0 s" in found["time_constant_sides"].text

    def test_equal_sides_do_not_differ(self):
        found = statements([step("a", BOTH_RIGHT)])
        assert found["time_constant_sides"].verdict == "does_not_hold"

    def test_near_the_limit_it_cannot_tell(self):
        found = statements([step("a", {"per": ("right", 9.0)}, half=1.0)])
        assert found["time_constant_right"].verdict == "cannot_tell"
        assert "50 %" in found["time_constant_right"].text

    def test_no_response_is_not_a_short_time_constant(self):
        silent = step("a", {"per": ("right", None), "post": ("left", 12.0)}, why=("no_response",))
        found = statements([silent])
        assert found["time_constant_right"].verdict == "cannot_tell"
        assert "time_constant_sides" not in found

    def test_drowsy_and_short_is_not_called_short(self):
        drowsy = step("a", {"per": ("right", 5.0)}, why=("low_alertness",))
        assert statements([drowsy])["time_constant_right"].verdict == "cannot_tell"

    def test_a_session_without_steps_says_nothing_about_them(self):
        assert set(statements([spontaneous(0.0)])) == {"spontaneous_nystagmus"}

    def test_only_the_matching_definition_is_judged(self):
        trial = step("a", {"per": ("right", 12.0)})
        other = measure("a", "time_constant", 3.0, 0.1, "s", of="post", exciting="right",
                        definition="single_exponential")  # fmt: skip
        found = statements([replace(trial, measures=(*trial.measures, other))])
        assert "12.0 s" in found["time_constant_right"].text
        assert "one response" in found["time_constant_right"].text

    def test_plain_values_led_astray_by_a_nystagmus_are_called_a_red_herring(self):
        raw = {"right": 22.0, "left": 8.0}
        found = statements([step("a", BOTH_RIGHT, raw=raw, bias=-6.0)])
        assert found["time_constant_raw_misleads"].verdict == "holds"
        assert "right 22.0 s" in found["time_constant_raw_misleads"].text

    @pytest.mark.parametrize(("plain", "bias"), [(22.0, 0.1), (13.0, -6.0), (22.0, None)])
    def test_no_red_herring_without_nystagmus_or_without_difference(self, plain, bias):
        raw = {"right": plain, "left": plain}
        assert "time_constant_raw_misleads" not in statements(
            [step("a", BOTH_RIGHT, raw=raw, bias=bias)]
        )


class TestPooling:
    def test_weighs_by_inverse_variance(self):
        # (10/1² + 16/2²) / (1/1² + 1/2²) = 11.2; sd = 1/√1.25, widened by √(chi²/1) = 2.683
        pooled = pool([measure("a", "x", 10.0, 1.959964), measure("b", "x", 16.0, 2 * 1.959964)])
        assert pooled.value == pytest.approx(11.2)
        assert pooled.high - pooled.value == pytest.approx(1.959964 * 2.68328 / 1.25**0.5, rel=1e-4)
        assert pooled.disagree

    def test_one_alone_keeps_its_lopsided_interval(self):
        lopsided = replace(measure("a", "x", 10.0, 1.0), high=14.0)
        assert (pool([lopsided]).low, pool([lopsided]).high) == (9.0, 14.0)

    def test_leaves_out_what_is_unusable(self):
        assert (
            pool([measure("a", "x", None), measure("b", "x", 3.0, 0.2, grade="unusable")]) is None
        )


class TestWords:
    def test_negative_numbers_carry_a_minus_and_zero_does_not(self):
        assert number(-4.26, "deg/s") == "−4.3"
        assert number(-0.01, "deg/s") == "0.0"
        assert with_interval(-4.0, -5.0, 1.0, "deg/s") == "−4.0 deg/s (−5.0 to 1.0)"

    def test_a_narrow_interval_does_not_vanish_by_rounding(self):
        assert with_interval(86.0, 85.7, 86.3, "%") == "86.0 % (85.7–86.3)"
        assert with_interval(86.0, 85.0, 87.3, "%") == "86 % (85–87)"
        assert with_interval(0.23, 0.228, 0.232, "1") == "0.230 (0.228–0.232)"
        assert with_interval(3.0, 3.0, 3.0, "s") == "3.0 s"

    def test_no_chance_is_ever_0_or_100_percent(self):
        assert (chance(1.0), chance(0.0), chance(0.5)) == ("over 99 %", "under 1 %", "50 %")

    @pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.code)
    def test_every_rule_has_texts_that_parse(self, rule):
        for text in rule_texts(rule.code).values():
            assert list(string.Formatter().parse(text))

    def test_every_limit_says_how_it_is_known(self):
        assert all(limit.mark in marks() and limit.source for limit in limits().values())

    def test_the_standing_cautions_defer_to_clinicians_and_local_rules(self):
        told = " ".join(standing_cautions())
        for words in ("licensed clinician", "not a medical device", "acute pathway", "harness"):
            assert words in told
