"""What no retest judges is said, a doubtful session warns, unused retests are named."""

from dataclasses import replace
from types import SimpleNamespace

import pytest
from course.made_course import DAYS, FREQUENCIES_HZ, entry, retests, session, sinusoid

from slowphase.analysis.result import Analysis
from slowphase.cli.writing import as_text
from slowphase.course.document import course_document
from slowphase.course.retest import RetestSet
from slowphase.course.timeline import follow
from slowphase.course.wording import way_of
from slowphase.reading.agreement.comparison import Comparison
from slowphase.reading.coherence import Incoherence
from slowphase.reading.patterns import Pattern, PatternReading
from slowphase.report.course_page import render_course
from slowphase.report.course_terminal import course_view

SAID = "spontaneous slow phase −10.8 → 0.1 deg/s"
ACUTE = Pattern("peripheral_right", "right", "acute", "a loss, acute", "", "firm", 0.9, 5.0)
TIRED = Pattern("not_interpretable", None, "drowsy", "not interpretable", "", "moderate", 1.0, 0.0)


def of_sinusoids():
    kept = tuple(e for e in retests().entries if e.key.name in ("gain", "phase"))
    return RetestSet("made up", kept)


def pair(**later) -> list[Analysis]:
    return [
        session(DAYS[0], velocity=-10.8, digest="a"),
        session(DAYS[1], velocity=0.1, digest="b", **later),
    ]


def faces(course):
    """Terminal and page, each without its line breaks."""
    return [
        " ".join(text.split()) for text in (as_text(course_view(course)), render_course(course))
    ]


def test_no_real_change_is_said_of_the_measures_with_retests_alone():
    course = follow(pair(), retest=of_sinusoids())
    judged = course.comparisons[0]
    assert judged.comparison.overall.verdict == "no_real_change"
    assert "in the measures with retests (gain, lead): none of these 8" in judged.text
    for text in faces(course):
        assert "no real change in the measures with retests (gain, lead)" in text
        assert SAID in text
        assert text.index("none of these 8") < text.index(SAID)
    told = course_document(course)["comparisons"][0]
    assert told["beyond_intervals"] == ["spontaneous slow phase"]
    assert SAID in told["beyond_intervals_text"]


def test_without_retests_what_changed_beyond_its_own_intervals_goes_first():
    course = follow(pair())
    assert course.comparisons[0].comparison.overall.verdict == "cannot_tell"
    for text in faces(course):
        assert text.index(SAID) < text.index("Cannot tell whether anything changed")


def test_a_change_within_its_own_interval_is_not_listed():
    sessions = [session(DAYS[0], velocity=0.0, digest="a"), session(DAYS[1], velocity=0.2)]
    judged = follow(sessions).comparisons[0]  # each ± 0.2: the interval of the change is ± 0.28
    assert (judged.beyond, judged.beyond_text) == ((), "")


def test_with_retests_of_everything_the_verdict_is_about_everything():
    same = [session(DAYS[0], digest="a"), session(DAYS[1], digest="b")]
    judged = follow(same, retest=retests()).comparisons[0]
    assert "with retests" not in judged.text
    assert judged.beyond == ()


def test_numbers_of_other_settings_are_not_listed_as_changes():
    first, second = pair()
    other = replace(second, provenance=replace(second.provenance, settings_digest="other"))
    assert follow([first, other]).comparisons[0].beyond == ()


def test_many_changes_of_one_kind_are_told_together():
    sessions = [session(DAYS[0], digest="a"), session(DAYS[1], (0.3, 0.35, 0.4, 0.3), digest="b")]
    assert "gain falls by 0.20–0.30 in 4 measures" in follow(sessions).comparisons[0].beyond_text


def test_retests_that_match_no_measure_are_listed_with_what_differs():
    stray = entry("gain", "sinusoid", "1", 0.05, definition="other",
                  stimulus=(("frequency_hz", 0.01), ("peak_velocity_deg_s", 60.0)))  # fmt: skip
    lost = entry("total", "caloric", "deg/s", 5.0)
    used = replace(of_sinusoids(), entries=(*of_sinusoids().entries, stray, lost))
    course = follow(pair(), retest=used)
    reasons = [one["why"] for one in course_document(course)["retest"]["unused"]]
    assert reasons == [
        "the nearest measure here has definition = none, not other",
        "no such measure in these sessions",
    ]
    for text in faces(course):
        assert "Retests that match no measure of these sessions" in text
        assert all(reason in text for reason in reasons)


def test_retests_that_all_match_and_the_illustration_are_not_listed():
    for retest in (of_sinusoids(), None):
        course = follow(pair(), retest=retest)
        assert course.unused_retests == ()
        assert "match no measure" not in faces(course)[0]


def reversed_session(reason):
    trials = tuple(sinusoid(hz, 0.5, 10.0, why=(reason,)) for hz in FREQUENCIES_HZ)
    return {"trials": trials}


def mirrored():
    found = Comparison("nystagmus_weaker_side", "", "disagree", "mirrored_eye", "")
    return {"agreements": (found,)}


def drowsy():
    return {"incoherences": (Incoherence("low_alertness", 1.0, 0.5, 1.5, "1", 2.0, ("sin",)),)}


@pytest.mark.parametrize(
    ("changed", "code", "said"),
    [
        (reversed_session("wrong_way"), "wrong_way", "the eyes go the wrong way in sin-0.01"),
        (mirrored(), "wrong_way", "the eyes go the wrong way. A mirrored channel"),
        (reversed_session("response_reversed"), "response_reversed", "one response goes the wrong"),
        (reversed_session("low_alertness"), "drowsy", "alertness was low in sin-0.01"),
        (drowsy(), "drowsy", "alertness was low. Drowsiness alone"),
        ({"patterns": PatternReading(True, (TIRED,))}, "drowsy", "alertness was low"),
        ({"patterns": PatternReading(True, (TIRED,))}, "not_interpretable", "not interpretable"),
    ],
)
def test_a_doubtful_session_warns_at_the_head_of_the_course(changed, code, said):
    first, second = pair()
    course = follow([first, replace(second, **changed)])
    assert course.states[0].warnings == ()
    assert code in course.states[1].warnings
    for text in faces(course):
        assert f"{DAYS[1].isoformat()}: " in text
        assert text.index(said) < text.index("2026-02-09 against 2026-01-05")
    told = course_document(course)["sessions"][1]["warnings"]
    assert code in [one["code"] for one in told]


def test_each_session_shows_its_pattern_with_stage_and_strength():
    first, second = pair()
    named = replace(first, patterns=PatternReading(True, (ACUTE,)))
    unsure = replace(second, patterns=PatternReading(False, (ACUTE,)))
    course = follow([named, unsure])
    for text in faces(course):
        assert "a loss, acute (firm)" in text
        assert "none can be named; nearest: a loss, acute" in text
    told = [one["pattern"] for one in course_document(course)["sessions"]]
    assert [(one["code"], one["variant"], one["told"]) for one in told] == [
        ("peripheral_right", "acute", True),
        ("peripheral_right", "acute", False),
    ]


@pytest.mark.parametrize(
    ("before", "after", "way"),
    [
        (-94.0, -10.0, "nearer"),
        (-10.0, 4.0, "nearer"),
        (-10.0, -40.0, "further"),
        (0.4, 0.6, "rises"),
        (0.6, 0.4, "falls"),
    ],
)
def test_a_value_whose_sign_tells_the_side_comes_nearer_to_0_or_goes_further(before, after, way):
    def measured(value):
        return SimpleNamespace(value=value)

    change = SimpleNamespace(before=measured(before), after=measured(after), value=after - before)
    assert way_of(change) == way
