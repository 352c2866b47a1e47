"""Every rule of follow-up holds, does not hold, and cannot be told."""

from dataclasses import replace

import pytest
from made_course import DAYS, entry, retests, session, sinusoid

from slowphase.course.rules.declared import course_rules
from slowphase.course.rules.judge import every, some
from slowphase.course.timeline import follow
from slowphase.reference.sets import marks

USUAL = (0.5, 0.55, 0.6, 0.6)
FALLEN = (0.2, 0.25, 0.3, 0.3)
LEADS, RISEN = (45.0, 25.0, 13.0, 6.0), (70.0, 50.0, 30.0, 20.0)


def judged(*later, retest=None, first=None):
    """The verdicts of the last session against the first, by code."""
    sessions = [session(DAYS[0], digest="0", **(first or {}))]
    sessions += [session(d, digest=str(d), **m) for d, m in zip(DAYS[1:], later, strict=False)]
    course = follow(sessions, retest=retest or retests())
    return {rule.rule.code: rule.verdict for rule in course.comparisons[0].rules}


LOSS = {"gains": FALLEN, "leads": RISEN, "constant": 5.0}
ACUTE = {"gains": FALLEN, "velocity": 8.0, "asymmetry": -40.0}
HOLDS = {
    "ototoxic_change": ([LOSS], None),
    "ototoxic_one_sign": ([{"gains": (0.5, 0.4, 0.4, 0.6)}], None),
    "ototoxic_confirmed": ([LOSS, LOSS], None),
    "nystagmus_falls": ([{}], {"velocity": 8.0}),
    "asymmetry_falls": ([{}], {"asymmetry": -40.0}),
    "gain_rises": ([{}], {"gains": FALLEN}),
    "recovery_course": ([{}], ACUTE),
    "nystagmus_grows": ([{"velocity": -8.0}], {"velocity": 3.0}),
}
NOT = {
    "ototoxic_change": ([{"gains": FALLEN}], None),
    "ototoxic_one_sign": ([{"gains": (0.3, 0.55, 0.3, 0.6)}], None),
    "ototoxic_confirmed": ([{}, LOSS], None),
    "gentamicin_pattern": ([{"gains": FALLEN}], None),
    "nystagmus_falls": ([{"velocity": 8.0}], {"velocity": 8.0}),
    "asymmetry_falls": ([{"asymmetry": 40.0}], {"asymmetry": -40.0}),
    "gain_rises": ([{"gains": FALLEN}], None),
    "recovery_course": ([{"velocity": 8.0}], ACUTE),
    "nystagmus_grows": ([{}], {"velocity": 3.0}),
}


@pytest.mark.parametrize("code", HOLDS)
def test_a_rule_holds(code):
    later, first = HOLDS[code]
    assert judged(*later, first=first)[code] == "holds"


@pytest.mark.parametrize("code", NOT)
def test_a_rule_does_not_hold(code):
    later, first = NOT[code]
    assert judged(*later, first=first)[code] == "does_not_hold"


@pytest.mark.parametrize("code", [rule.code for rule in course_rules()])
def test_a_rule_cannot_be_told_from_values_that_are_not_sound(code):
    poor = {"grade": "caution"}
    sessions = [session(day, digest=str(day)) for day in DAYS]
    spoilt = [s.trials for s in sessions]
    sessions = [
        replace(s, trials=tuple(
            replace(t, measures=tuple(replace(m, **poor) for m in t.measures)) for t in trials))
        for s, trials in zip(sessions, spoilt, strict=True)
    ]  # fmt: skip
    course = follow(sessions, retest=retests())
    found = {r.rule.code: r.verdict for r in course.comparisons[0].rules}
    assert found[code] == "cannot_tell"


def test_the_whole_pattern_takes_a_gain_between_08_and_16_hz():
    extra = entry("gain", "sinusoid", "1", 0.05,
                  stimulus=(("frequency_hz", 1.0), ("peak_velocity_deg_s", 60.0)))  # fmt: skip
    own = replace(retests(), entries=(*retests().entries, extra))
    sessions = []
    for day, gain, more in ((DAYS[0], 0.7, {}), (DAYS[1], 0.3, LOSS)):
        fast = sinusoid(1.0, gain, 0.0)
        fast = replace(fast, measures=fast.measures[:1])  # its gain alone
        usual = session(day, digest=str(day), **more)
        sessions.append(replace(usual, trials=(*usual.trials, fast)))
    course = follow(sessions, retest=own)
    found = {r.rule.code: r for r in course.comparisons[0].rules}
    assert found["gentamicin_pattern"].verdict == "holds"
    assert judged(LOSS)["gentamicin_pattern"] == "cannot_tell"


def test_one_unsound_lowest_frequency_gives_way_to_the_next():
    first, last = session(DAYS[0], digest="a"), session(DAYS[1], digest="b", **LOSS)
    weak = replace(last.trials[0], measures=tuple(
        replace(m, grade="caution") for m in last.trials[0].measures))  # fmt: skip
    last = replace(last, trials=(weak, *last.trials[1:]))
    rules = follow([first, last], retest=retests()).comparisons[0].rules
    found = {r.rule.code: r for r in rules}["ototoxic_change"]
    assert found.verdict == "holds"
    assert "lead, 0.02 Hz" in found.text


def test_sentences_carry_their_numbers_and_no_urgent_word():
    rules = follow([session(DAYS[0], digest="a"), session(DAYS[1], digest="b", **LOSS)],
                   retest=retests()).comparisons[0].rules  # fmt: skip
    text = {r.rule.code: r.text for r in rules}["ototoxic_change"]
    assert "gain, 0.01 Hz −0.30 (limit 0.10)" in text
    assert "Repeat the test" in text
    for rule in course_rules():
        assert rule.does_not_show
        assert rule.mark in marks()
        said = " ".join([rule.title, rule.condition, *rule.texts.values()]).lower()
        assert "diagnos" not in said


@pytest.mark.parametrize(
    ("answers", "both", "either"),
    [
        ([True, True], True, True),
        ([True, None], None, True),
        ([False, None], False, None),
        ([False, False], False, False),
        ([], None, None),
    ],
)
def test_unknown_answers_stay_unknown_unless_the_rest_decides(answers, both, either):
    assert every(answers) is both
    assert some(answers) is either
