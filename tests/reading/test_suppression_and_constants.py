"""The rules of the reading. Limits are common practice without a source (4 deg/s, 80 %, 9 s);
what healthy people show in the dark was read in J Vestib Res, PMC9249309."""

import string
from dataclasses import replace

import pytest

from slowphase.reading.cautions import caution, session_cautions, standing_cautions
from slowphase.reading.limits import limits
from slowphase.reading.pooling import pool
from slowphase.reading.rule import rule_texts
from slowphase.reading.rules import RULES
from slowphase.reading.words import chance, number, percentile_words, with_interval
from slowphase.reference.sets import marks
from tests.reading.sessions import (
    ALERTED,
    measure,
    sinusoid,
    spontaneous,
    statements,
    step,
    suppression,
)

BOTH_RIGHT = {"per": ("right", 12.0), "post": ("left", 12.0)}


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


class TestAlertness:
    def test_unrecorded_alerting_is_said_and_takes_the_firmness(self):
        trials = [sinusoid("a", 0.5, frequency_hz=0.16)]
        told, untold = (
            statements(trials, conditions=c)["response_to_rotation"] for c in (ALERTED, {})
        )
        assert (told.strength, untold.strength) == ("firm", "moderate")
        assert caution("alerting_not_recorded") in untold.cautions
        assert caution("alerting_not_recorded") not in told.cautions

    def test_good_suppression_is_never_withheld_for_it(self):
        pair = suppression(92.0, 3.0)
        told, untold = (
            statements(TestSuppression.TRIALS, [pair], conditions=c)["suppression"]
            for c in (ALERTED, {})
        )
        assert told == untold

    def test_the_session_says_it_too(self):
        assert caution("alerting_not_recorded") in session_cautions({"alerting": " "})
        assert caution("alerting_not_recorded") not in session_cautions(ALERTED)
        assert any("not calibration" in line for line in session_cautions(ALERTED))


class TestTimeConstants:
    def test_are_pooled_by_the_side_that_is_excited(self):
        right = step("to-right", {"per": ("right", 12.0), "post": ("left", 5.0)})
        left = step("to-left", {"per": ("left", 5.0), "post": ("right", 12.0)})
        found = statements([right, left])
        assert found["time_constant_right"].verdict == "does_not_hold"
        assert found["time_constant_left"].verdict == "holds"
        assert found["time_constant_left"].strength == "moderate"  # the limit has no source
        assert "habit of the trade, no source" in found["time_constant_left"].text
        # two equal values of ± 0.5 s pool to ± 0.5/√2 s
        assert "5.0 s (4.6–5.4) (2 responses pooled)" in found["time_constant_left"].text
        assert found["time_constant_sides"].verdict == "cannot_tell"
        assert "difference is sure; whether it means anything" in found["time_constant_sides"].text
        assert "longer when the right is excited, by 7.0 s" in found["time_constant_sides"].text

    @pytest.mark.parametrize(("half", "verdict"), [(0.5, "does_not_hold"), (2.5, "cannot_tell")])
    def test_sides_are_alike_only_where_the_whole_interval_is_negligible(self, half, verdict):
        found = statements([step("a", BOTH_RIGHT, half=half)])
        assert found["time_constant_sides"].verdict == verdict

    def test_a_very_long_one_is_remarked_on_without_a_limit(self):
        found = statements([step("a", {"per": ("right", 26.0)})])["time_constant_right"]
        assert found.verdict == "does_not_hold"
        assert "longer than the usual 12–15 s; no limit is known" in found.text
        assert "nystagmus" in found.text

    def test_near_the_limit_it_cannot_tell(self):
        found = statements([step("a", {"per": ("right", 9.0)}, half=1.0)])
        assert found["time_constant_right"].verdict == "cannot_tell"
        assert "50 %" in found["time_constant_right"].text

    def test_no_response_is_not_a_short_time_constant(self):
        silent = step("a", {"per": ("right", None), "post": ("left", 12.0)}, why=("no_response",))
        found = statements([silent])
        assert found["time_constant_right"].verdict == "cannot_tell"
        assert "time_constant_sides" not in found

    def test_a_step_not_done_gives_the_reason_of_the_day(self):
        blank = step("a", {"per": ("right", None)}, why=("not_done",))
        found = statements([replace(blank, outcome="not done", reason="nausea")])
        assert "not done (nausea)" in found["time_constant_right"].text

    def test_drowsy_and_short_is_not_called_short(self):
        drowsy = step("a", {"per": ("right", 5.0)}, why=("low_alertness",))
        assert statements([drowsy])["time_constant_right"].verdict == "cannot_tell"

    def test_a_session_without_steps_says_nothing_about_them(self):
        assert set(statements([spontaneous(0.0)])) == {
            "spontaneous_nystagmus",
            "vertical_nystagmus",
        }

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

    def test_a_plain_value_hidden_by_the_nystagmus_is_part_of_the_red_herring(self):
        raw = {"right": None, "left": 12.0}
        trial = step("a", BOTH_RIGHT, raw=raw, bias=-19.0, raw_why=("hidden_by_nystagmus",))
        found = statements([trial])["time_constant_raw_misleads"]
        assert "right none: hidden by the nystagmus" in found.text
        assert "neither as long nor as short" in found.text

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

    def test_digits_are_fixed_and_a_narrow_interval_is_less_than_the_last(self):
        assert with_interval(86.0, 85.7, 86.3, "%") == "86 % (±<1)"
        assert with_interval(86.0, 85.0, 87.3, "%") == "86 % (85–87)"
        assert with_interval(0.23, 0.228, 0.232, "1") == "0.23 (±<0.01)"
        assert with_interval(-100.0, -100.0, -99.9, "%") == "−100 % (at its limit)"
        assert with_interval(3.0, 3.0, 3.0, "s") == "3.0 s"

    @pytest.mark.parametrize(
        ("percentile", "words"),
        [(0.4, "below the 1st percentile"), (2.6, "3rd percentile"), (11.0, "11th percentile"),
         (22.0, "22nd percentile"), (99.5, "above the 99th percentile")],
    )  # fmt: skip
    def test_percentiles_are_ordinals(self, percentile, words):
        assert percentile_words(percentile) == words

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
