"""Statements on eye movements beside the chair: limits, sides, directions, and what leads.

Limits are common practice without a source or from memory, except the fixation index
(Won et al. 2012, read: 0.60 or more abnormal)."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from made_traces import result_of

from slowphase.cli.simulated_session import session_from
from slowphase.measures.positional_group import group_positional
from slowphase.measures.settings import MeasureSettings
from slowphase.physiology.person import Person
from slowphase.physiology.positional import Positional
from slowphase.physiology.protocol import positional
from slowphase.physiology.recorder import Equipment
from slowphase.physiology.simulate import simulate
from slowphase.reading.findings import Findings
from slowphase.reading.rule import apply
from slowphase.reading.rules import RULES
from slowphase.recording.session import Patient
from tests.reading.cases.battery import calibrated, calorics, evoked, fixated, sides, upright
from tests.reading.cases.build import found
from tests.reading.cases.nystagmus import jerks, returned
from tests.reading.cases.positions import position, reversal
from tests.reading.cases.targets import after, eyes, fast, late, pursuit, scenes

BY_CODE = {rule.code: rule for rule in RULES}


def said(code, findings):
    (statement,) = apply((BY_CODE[code],), findings)
    return statement


class TestPositional:
    """Loose particles, against simulated people: what beats, when, and on sitting up."""

    @pytest.mark.parametrize(("seed", "side"), [(0, "right"), (1, "left"), (2, "right")])
    def test_a_burst_of_loose_particles_is_told_with_its_times_and_is_not_urgent(self, seed, side):
        person = Person(positional=Positional(**{side: 0.8, "onset_s": 4.0}))
        plans = tuple(positional(side, rising=up) for up in (False, True))
        trials = simulate(person, plans, Equipment(), seed=seed)
        session = session_from(trials, Patient("invented", 50.0, "unknown"), None)
        results = tuple(result_of(trial) for trial in session.trials)
        groups = group_positional(results, MeasureSettings())
        statement = said("positional_nystagmus", Findings(results, groups=groups))
        assert statement.verdict == "holds"
        assert not statement.urgent
        assert f"{side}, head hanging: up-beating" in statement.text
        assert f"quick phases with the top of the eye to the {side} shoulder" in statement.text
        assert "begins after" in statement.text
        assert "turns round on sitting up" in statement.text

    def test_what_turns_round_on_sitting_up_is_no_downbeat(self):
        lying = position(up=-20.0, latency=3.0, duration=20.0)
        rising = position("sitting", up=9.0, from_="right", duration=9.0)
        burst = said("positional_nystagmus", found(lying, rising, reversal("right")))
        alone = said("positional_nystagmus", found(lying, rising))
        assert (burst.urgent, alone.urgent) == (False, True)

    def test_the_gravest_is_told_first_and_the_others_beside_it(self):
        parts = position(up=6.0), position("left", across=9.0, lasting=True)
        text = said("positional_nystagmus", found(*parts)).text
        assert "beat downward (right, head hanging: down-beating 6.0" in text
        assert "Also: left, head hanging: left-beating 9.0" in text

    def test_positions_of_one_name_are_told_apart(self):
        parts = (position(), replace(position(), id="again"))
        text = said("positional_nystagmus", found(*parts)).text
        assert "(right)" in text
        assert "(again)" in text

    @pytest.mark.parametrize(("turned", "urgent"), [(-2.0, False), (-4.0, True), (4.0, False)])
    def test_a_slow_turn_of_the_curve_is_no_warning(self, turned, urgent):
        statement = said("positional_nystagmus", found(position(across=9.0, turned=turned)))
        assert statement.urgent is urgent

    @given(st.floats(0.0, 30.0))
    def test_mirroring_swaps_the_direction_and_nothing_else(self, speed):
        right, left = (
            said("positional_nystagmus", found(position(across=sign * speed))) for sign in (-1, 1)
        )
        assert right.verdict == left.verdict
        assert right.text.replace("right-beating", "left-beating") == left.text


class TestLimitsAreStrict:
    @pytest.mark.parametrize(
        ("right", "left", "verdict"),
        [(133, 67, "does_not_hold"), (134, 66, "cannot_tell"), (140, 60, "cannot_tell"),
         (141, 59, "holds")],
    )  # fmt: skip
    def test_asymmetry_of_typed_amplitudes_of_exactly_33_or_40_is_not_beyond(
        self, right, left, verdict
    ):
        """100·(133 − 67)/200 = 33 and 100·(140 − 60)/200 = 40, by hand."""
        assert said("evoked_potential_sides", sides(right, left)).verdict == verdict

    @pytest.mark.parametrize(("index", "verdict"), [(0.6, "holds"), (0.59, "does_not_hold")])
    def test_a_typed_fixation_index_of_exactly_0_60_is_abnormal(self, index, verdict):
        findings = fixated(index)
        (trial,) = findings.trials
        typed = replace(trial.measures[0], low=None, high=None, why=("measured_elsewhere",))
        one = replace(trial, kind="values", measures=(typed,))
        statement = said("caloric_fixation", replace(findings, trials=(one,)))
        assert statement.verdict == verdict
        assert statement.strength == "weak"
        assert "no interval was given" in statement.text

    def test_recorded_indices_go_before_typed_ones(self):
        recorded, typed = fixated(0.4).trials[0], fixated(0.9).trials[0]
        bare = replace(typed.measures[0], low=None, high=None)
        both = found(replace(typed, kind="values", measures=(bare,)), recorded)
        assert said("caloric_fixation", both).verdict == "does_not_hold"

    def test_exactly_0_70_of_a_vertical_canal_without_an_interval_is_not_low(self):
        findings = upright(0.7, 0.9)
        (trial,) = findings.trials
        bare = tuple(replace(m, low=None, high=None) for m in trial.measures)
        statement = said("impulse_gain_vertical",
                         replace(findings, trials=(replace(trial, measures=bare),)))  # fmt: skip
        assert statement.verdict == "does_not_hold"
        assert statement.strength == "weak"


class TestSides:
    def test_the_slower_side_of_saccades_is_named(self):
        assert "Saccades to the right are slower" in said("saccade_ways", fast(200.0)).text
        assert "Saccades to the left are slower" in said("saccade_ways", fast(350.0, 200.0)).text

    @pytest.mark.parametrize(("right", "left"), [(1.7, 1.0), (1.0, 0.6), (1.3, 0.75)])
    def test_either_eye_or_both_may_turn_in_slowly(self, right, left):
        """To the right the left eye turns in: a slow one makes right over left large."""
        statement = said("saccade_eyes", eyes(right, left))
        assert (statement.verdict, statement.urgent) == ("holds", True)

    @pytest.mark.parametrize("scale", [0.5, 0.8, 1.25, 2.0])
    def test_unequal_calibration_of_the_eyes_is_not_taken_for_a_slow_eye(self, scale):
        statement = said("saccade_eyes", eyes(scale, scale, half=0.02 * scale))
        assert (statement.verdict, statement.urgent) == ("cannot_tell", False)
        assert "Unequal calibration" in statement.text

    def test_the_weaker_optokinetic_side_is_named_by_where_the_scene_went(self):
        assert "weaker to the left" in said("optokinetic_sides", scenes(40.0)).text
        assert "weaker to the right" in said("optokinetic_sides", scenes(-40.0)).text

    def test_after_nystagmus_is_compared_along_each_scene(self):
        assert "went to the right, by 8.0" in said("after_nystagmus_sides", after(12.0, -4.0)).text
        assert "went to the left, by 8.0" in said("after_nystagmus_sides", after(4.0, -12.0)).text

    def test_the_smaller_evoked_potential_is_named(self):
        assert "smaller on the right" in said("evoked_potential_sides", sides(40, 100)).text
        absent = evoked(right_absent=True, left_amplitude=60)
        assert "absent on the right" in said("evoked_potential_sides", absent).text

    def test_preponderance_is_named_by_the_quick_phase_and_parted_from_the_nystagmus(self):
        statement = said("caloric_preponderance", calorics(preponderance=44.7, parts=(40.0, 4.7)))
        assert "more right-beating nystagmus" in statement.text
        assert "Without that nystagmus it is no sure preponderance" in statement.text


class TestTimesAndGains:
    def test_a_late_direction_is_found_beside_one_on_time(self):
        statement = said("saccade_latency", late(340.0))
        assert "rightward over 99 %, leftward under 1 %" in statement.text

    def test_fast_pursuit_is_left_out_where_slow_is_there(self):
        slow, quick = pursuit(0.9).trials[0], pursuit(0.3, frequency_hz=0.8).trials[0]
        assert said("pursuit_gain", found(slow, quick)).verdict == "does_not_hold"

    def test_a_median_size_of_two_jerks_decides_nothing(self):
        statement = said("square_wave_jerks", jerks(10.0, size=3.0, size_half=None))
        assert statement.verdict == "does_not_hold"

    def test_what_fades_toward_where_the_eye_had_looked_is_no_rebound(self):
        assert said("rebound_nystagmus", returned(3.0)).verdict == "does_not_hold"

    def test_a_calibration_in_pixels_is_no_wrong_size(self):
        findings = calibrated(14.0, 14.2)
        (trial,) = findings.trials
        pixels = tuple(replace(m, unit="{pixel}/deg") if m.name == "gain" else m
                       for m in trial.measures)  # fmt: skip
        raw = replace(findings, trials=(replace(trial, measures=pixels),))
        assert said("calibration_fits_not", raw).verdict == "does_not_hold"
