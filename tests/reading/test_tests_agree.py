"""Every rule of agreement made to agree, to disagree, and to be undecidable."""

import re
from dataclasses import replace

import comparisons as c
import numpy as np
import pytest
import sessions as made
from comparisons import compared, group, measure, point, result, spin, wrong_way

from slowphase.measures.result import Quality
from slowphase.reading.agreement import RULES
from slowphase.reading.agreement.compare import agreement_texts, outcomes
from slowphase.reading.coherence import Incoherence, lead_deg

VERDICTS = {"agree", "disagree", "cannot_tell", "not_tested"}
CODES = [rule.code for rule in RULES]


def found(code, unit="1"):
    return (Incoherence(code, 2.0, 1.9, 2.1, unit, 1.0, ("sin-0.32",)),)


def dark(*frequencies, phase=5.0, **more):
    return [made.sinusoid(f"sin-{f:g}", 0.5, frequency_hz=f, phase=phase, **more)
            for f in frequencies]  # fmt: skip


def followed(decay_s, *frequencies, half=0.5):
    """Sinusoids of one reflex with adaptation of 80 s and a latency of 8 ms (computed)."""
    for f in frequencies:
        lead = float(lead_deg(f, decay_s, 80.0)) - 360.0 * f * 0.008
        trial = made.sinusoid(f"sin-{f:g}", 0.5, frequency_hz=f)
        phase = measure(trial.id, "phase", lead, half, "deg")
        yield replace(trial, measures=(*trial.measures, phase))


SLOW = (0.01, 0.02, 0.04, 0.08)
FAST = (0.16, 0.32, 0.64)


def with_speed(count):
    return [result(f"t{n}", "spontaneous", quality=c.awake()) for n in range(count)]


def tired(count):
    quality = Quality(90.0, "sound", ("lapses_left_out",), quick_phase_speed=0.8)
    return [replace(made.sinusoid(f"s{n}", 0.5), quality=quality) for n in range(count)]


def sided(velocity, asymmetry, half=1.0):
    return {"trials": [made.spontaneous(velocity)], "pairs": [made.step_sides(asymmetry, half)]}


def steps(constant, half=0.3, **more):
    return [spin("step-right", constant, constant, half, **more),
            spin("step-left", constant, constant, half, **more)]  # fmt: skip


def pair(value, half=1.0, whole=None):
    trials = [made.sinusoid("dark", 0.5), made.sinusoid("fix", 0.05, "head-fixed target", bias=6.0)]
    return {"trials": trials, "pairs": [made.suppression(value, half, whole)]}


def index(value, half=0.03):
    return result("cal", "caloric", measure("cal", "fixation_index", value, half), vision=None)


def pursuit(value, half=0.02):
    own = measure("pursuit", "gain", value, half)
    return result("pursuit", "pursuit", own, vision="light", stimulus={"frequency_hz": 0.2})


def beside(session, trial):
    return session | {"trials": [*session["trials"], trial]}


def irrigation(value, half=1.0):
    """A warm right ear: its slow phase goes to the left."""
    keys = {"ear": "right", "temperature_c": 44.0}
    return result("rw", "caloric", measure("rw", "peak", -value, half, "deg/s"), stimulus=keys)


def typed(test, name, value, of, unit):
    own = measure("typed", name, value, None, unit, of=of, definition="typed")
    return result("typed", "values", own, vision=None, stimulus={"test": test})


def impulses(value, half=0.02):
    return result("imp", "impulse", measure("imp", "gain", value, half, of="right lateral"))


def both_ears(share):
    return [point("caloric", share, side=side) for side in ("right", "left")]


def kept_other_side():
    return [point("caloric", 1.5, side="left"), point("impulse", 1.3, side="left")]


CASES = {
    "calibration_implausible": {
        "found": {"trials": dark(*FAST), "found": found("calibration_implausible")},
        "fine": {"trials": dark(*FAST)},
        "few": {"trials": dark(0.16)},
        "not_tested": {},
    },
    "clock_lag": {
        "found": {"trials": dark(*FAST), "found": found("clock_lag", "ms")},
        "fine": {"trials": dark(*FAST)},
        "few": {"trials": dark(0.32)},
        "not_tested": {"trials": dark(0.01)},
    },
    "light_leak": {
        "found": {"trials": dark(0.01), "found": found("light_leak", "deg")},
        "fine": {"trials": dark(0.01, 0.02, phase=60.0)},
        "few": {"trials": [made.sinusoid("sin-0.01", 0.05, frequency_hz=0.01, phase=60.0)]},
        "not_tested": {"trials": dark(0.32)},
    },
    "low_alertness": {
        "found": {"trials": with_speed(3), "found": found("low_alertness")},
        "tired": {"trials": tired(3)},
        "fine": {"trials": with_speed(4)},
        "few": {"trials": with_speed(1)},
        "not_tested": {},
    },
    "nystagmus_weaker_side": {
        "away": sided(-6.0, 20.0),  # to the left: beats to the right; the left is weaker
        "neither": sided(0.1, 1.0),
        "toward": sided(6.0, 20.0),
        "mirrored": {"trials": [wrong_way("sin", "sinusoid")]},
        "mirrored_eye": {"trials": [wrong_way("sin", "sinusoid"), wrong_way("p", "pursuit")]},
        "mirrored_chair": {"trials": [wrong_way("sin", "sinusoid"), pursuit(0.9)]},
        "nystagmus_alone": sided(6.0, 1.0),
        "side_alone": sided(0.1, 20.0),
        "unsure": sided(6.0, 6.0),
        "not_tested": {"trials": [made.spontaneous(6.0)]},
    },
    "directions": {
        "together": sided(-6.0, 20.0)
        | {"groups": [group("caloric", unilateral_weakness=(60.0, 3.0, "%"))]},
        "none": sided(0.1, 1.0),
        "apart": sided(-6.0, 20.0)
        | {"groups": [group("caloric", unilateral_weakness=(-60.0, 3.0, "%"))]},
        "one_alone": sided(0.1, 20.0),
        "unsure": sided(0.1, 6.0),
        "not_tested": {"trials": [made.spontaneous(6.0)]},
    },
    "phase_time_constant": {
        # T = 15 s with adaptation of 80 s falls to 1/e in 11.6 s (shared references, computed)
        "alike": {"trials": [*followed(15.0, *SLOW), *steps(11.6)]},
        "longer": {"trials": [*followed(15.0, *SLOW), *steps(6.0)]},
        "shorter": {"trials": [*followed(5.0, *SLOW), *steps(11.6)]},
        "unsure": {"trials": [*followed(15.0, *SLOW), *steps(9.4)]},
        "few": {"trials": [*followed(15.0, 0.02), *steps(11.6)]},
        "spoilt": {"trials": [*followed(15.0, *SLOW), *steps(2.0, half=4.0)]},
        "not_tested": {"trials": steps(11.6)},
    },
    "per_post": {
        "alike": {"trials": steps(12.0)},
        "differ": {"trials": [spin("step-right", 12.0, 7.0), spin("step-left", 12.0, 7.0)]},
        "unsure": {"trials": [spin("step-right", 12.0, 9.6, 1.5),
                              spin("step-left", 12.0, 9.6, 1.5)]},
        "not_tested": {"trials": [spin("step-right", 12.0, 12.0)]},
    },
    "alertness_time_constant": {
        "low_short": {"trials": steps(5.0, quality=c.awake(0.6, "slow_quick_phases"))},
        "low_usual": {"trials": steps(14.0, quality=c.awake(0.6, "slow_quick_phases"))},
        "low_near": {"trials": steps(9.0, quality=c.awake(0.6, "roving_eyes"))},
        "alert_short": {"trials": steps(5.0, quality=c.awake())},
        "alert_usual": {"trials": steps(14.0, quality=c.awake())},
        "unknown_short": {"trials": steps(5.0, quality=Quality(90.0, "sound"))},
        "not_tested": {},
    },
    "suppression_nystagmus": {
        "both_good": pair(92.0, whole=90.0),
        "stays": pair(50.0, whole=45.0),
        "vanishes": pair(92.0, whole=55.0),
        "whole_better": pair(50.0, whole=88.0),
        "unsure": pair(80.0, whole=70.0),
        "not_tested": pair(92.0),
    },
    "suppression_caloric": {
        "both_good": beside(pair(92.0), index(0.4)),
        "both_poor": beside(pair(50.0), index(0.8)),
        "chair_poor": beside(pair(50.0), index(0.4)),
        "chair_good": beside(pair(92.0), index(0.8)),
        "unsure": beside(pair(92.0), index(0.6)),
        "not_tested": pair(92.0),
    },
    "suppression_pursuit": {
        "both_good": beside(pair(92.0), pursuit(0.9)),
        "both_poor": beside(pair(50.0), pursuit(0.4)),
        "chair_poor": beside(pair(50.0), pursuit(0.9)),
        "chair_good": beside(pair(92.0), pursuit(0.4)),
        "unsure": beside(pair(92.0), pursuit(0.7)),
        "not_tested": {"trials": [pursuit(0.9)]},
    },
    "frequencies": {
        "alike": {"function": [*both_ears(1.4), point("impulse", 1.2, side="right")]},
        "part": {"function": [point("caloric", 0.3, side="right"), *kept_other_side(),
                              point("impulse", 1.2, side="right")]},
        "slight": {"function": [point("caloric", 0.8, side="right"), *kept_other_side(),
                                point("impulse", 1.2, side="right")]},
        "unsure": {"function": [point("caloric", 1.0, side="right"),
                                point("impulse", 1.2, side="right")]},
        "not_tested": {"function": both_ears(1.4)},
    },
    "typed_recorded": {
        "alike": {"trials": [irrigation(30.0),
                             typed("caloric", "response", 28.0, "right warm", "deg/s")]},
        "differ": {"trials": [irrigation(30.0),
                              typed("caloric", "response", 3.0, "right warm", "deg/s")]},
        "unsure": {"trials": [impulses(0.9), typed("impulse", "gain", 0.8, "right lateral", "1")]},
        "not_tested": {"trials": [irrigation(30.0)]},
    },
}  # fmt: skip
EACH = [(code, outcome) for code, each in CASES.items() for outcome in each]


@pytest.mark.parametrize(("code", "outcome"), EACH)
def test_a_made_session_comes_out_as_it_was_made(code, outcome):
    comparison = compared(**CASES[code][outcome])[code]
    assert comparison.outcome == outcome
    assert comparison.verdict == outcomes(code)[outcome]["verdict"]
    assert comparison.text
    assert not re.search(r"[{}]|None|nan", comparison.text)
    assert comparison.heed >= (comparison.verdict == "disagree")


@pytest.mark.parametrize("code", CODES)
def test_every_rule_can_agree_disagree_be_undecidable_and_lack_a_test(code):
    made_ = {outcomes(code)[outcome]["verdict"] for outcome in CASES[code]}
    assert made_ == VERDICTS


@pytest.mark.parametrize("code", CODES)
def test_every_text_is_reached_by_a_made_session(code):
    assert set(CASES[code]) == set(outcomes(code))


def test_every_rule_has_its_words_and_no_words_are_without_a_rule():
    assert set(agreement_texts()) - {"shared", "shown"} == set(CODES)
    assert len(set(CODES)) == len(CODES)


@pytest.mark.parametrize("code", CODES)
def test_what_was_tested_rests_on_evidence_and_has_a_picture_where_there_are_numbers(code):
    for outcome, session in CASES[code].items():
        comparison = compared(**session)[code]
        if comparison.verdict == "not_tested":
            assert comparison.panels == ()
        elif outcome not in ("fine", "few", "spoilt", "mirrored", "mirrored_eye", "mirrored_chair"):
            assert comparison.evidence
            assert comparison.panels
            assert all(panel.rows for panel in comparison.panels)


def test_a_red_herring_is_no_disagreement_but_is_read_in_full():
    comparison = compared(**CASES["suppression_nystagmus"]["vanishes"])["suppression_nystagmus"]
    assert (comparison.verdict, comparison.heed) == ("agree", True)
    assert comparison.text.startswith("Red herring")


def test_a_mirrored_eye_is_told_from_a_mirrored_chair_by_targets():
    texts = {
        outcome: compared(**CASES["nystagmus_weaker_side"][outcome])["nystagmus_weaker_side"].text
        for outcome in ("mirrored_eye", "mirrored_chair")
    }
    assert "mirrored eye channel" in texts["mirrored_eye"]
    assert "mirrored chair channel" in texts["mirrored_chair"]


def test_a_disagreement_says_what_of_the_session_concerns_the_same_trials():
    session = CASES["phase_time_constant"]["longer"]
    light = (Incoherence("light_leak", 20.0, 19.0, 21.0, "deg", 40.0, ("sin-0.01",)),)
    alone, beside_ = (
        compared(**session, found=each)["phase_time_constant"].text for each in ((), light)
    )
    assert beside_ == f"{alone} Look first at what concerns the same trials: darkness."


def test_a_disagreement_that_rests_on_doubtful_measures_says_so():
    trials = CASES["per_post"]["differ"]["trials"]
    doubtful = [
        replace(t, measures=tuple(replace(m, grade="caution") for m in t.measures)) for t in trials
    ]
    assert "graded with caution" in compared(doubtful)["per_post"].text
    assert "graded with caution" not in compared(trials)["per_post"].text


@pytest.mark.parametrize("name", ["time_constant", "gain"])
def test_one_differing_response_among_four_is_found(name):
    trials = steps(12.0)
    first = trials[0]
    far = [
        replace(m, value=m.value / 2, low=m.low / 2, high=m.high / 2)
        if (m.name, m.of) == (name, "post") else m for m in first.measures
    ]  # fmt: skip
    comparison = compared([replace(first, measures=tuple(far)), trials[1]])["per_post"]
    assert comparison.verdict == "disagree"
    assert comparison.text.split(": ", 1)[1].count("L excited") == 1


def test_what_may_not_be_used_is_not_compared():
    trials = [replace(t, measures=tuple(replace(m, grade="unusable") for m in t.measures))
              for t in steps(12.0)]  # fmt: skip
    assert compared(trials)["per_post"].verdict == "not_tested"


def test_widening_every_interval_never_makes_a_disagreement():
    rng = np.random.default_rng(5)
    for _ in range(40):
        per, post = rng.uniform(4.0, 20.0, 2)
        narrow, wide = (
            compared([spin("step-right", per, post, half), spin("step-left", per, post, half)])
            for half in (0.3, 1.2)
        )
        if narrow["per_post"].verdict != "disagree":
            assert wide["per_post"].verdict != "disagree"
