"""Sessions in order, matched and judged as a whole."""

from dataclasses import replace

import numpy as np
import pytest
from made_course import DAYS, measure, retests, session, sinusoid

from slowphase.course.key import alike, keyed
from slowphase.course.retest import illustration
from slowphase.course.timeline import follow
from slowphase.foundation.errors import InputError, UsageError
from slowphase.measures.result import TrialResult

LOW = (0.3, 0.35, 0.4, 0.6)
LEADS = (60.0, 35.0, 13.0, 6.0)


def three(**more):
    return [session(day, digest=str(day), **more) for day in DAYS]


def codes(problems):
    return [problem.code for problem in problems]


def test_sessions_are_put_in_order_of_date_whatever_the_order_given():
    one = follow(three()[::-1])
    assert one.days == DAYS
    pairs = [(j.comparison.before, j.comparison.after) for j in one.comparisons]
    assert pairs == [(0, 2), (1, 2)]
    assert follow(three()).series == one.series


def test_two_sessions_are_compared_once():
    assert len(follow(three()[:2]).comparisons) == 1


def test_any_two_sessions_can_be_asked_for_and_swapping_turns_every_sign():
    sessions = [three()[0], session(DAYS[1], LOW, digest="b"), three()[2]]
    there = follow(sessions, retest=retests(), between=(1, 2)).comparisons[0].comparison
    back = follow(sessions, retest=retests(), between=(2, 1)).comparisons[0].comparison
    assert [c.value for c in there.changes] == pytest.approx([-c.value for c in back.changes])
    assert there.overall.verdict == back.overall.verdict == "real_change"
    for wrong in ((1, 1), (0, 2), (1, 4)):
        with pytest.raises(UsageError, match="1 to 3"):
            follow(sessions, between=wrong)


def test_a_session_without_a_date_is_left_out_and_named():
    course = follow([*three()[:2], session(None, digest="x")])
    assert codes(course.problems) == ["session_without_date"]
    assert len(course.analyses) == 2
    with pytest.raises(InputError) as caught:
        follow([three()[0], session(None, digest="x")])
    assert codes(caught.value.problems) == ["session_without_date", "too_few_sessions"]


def test_two_sessions_of_one_date_are_kept_and_named():
    course = follow([session(DAYS[0], digest="a"), session(DAYS[0], LOW, digest="b")])
    assert codes(course.problems) == ["sessions_on_one_date"]
    assert len(course.analyses) == 2


def test_the_same_session_twice_counts_once():
    course = follow([*three(), three()[1]])
    assert codes(course.problems) == ["session_twice"]
    assert len(course.analyses) == 3


def test_different_patients_are_refused_unless_allowed_and_then_nothing_is_a_change():
    sessions = [session(DAYS[0], code="K-1", digest="a"), session(DAYS[1], LOW, code="K-2")]
    with pytest.raises(InputError) as caught:
        follow(sessions, retest=retests())
    assert codes(caught.value.problems) == ["different_patients"]
    course = follow(sessions, retest=retests(), different_patients=True)
    judged = course.comparisons[0]
    assert judged.comparison.overall.verdict == "cannot_tell"
    assert {r.verdict for r in judged.rules} == {"cannot_tell"}
    assert "different patients" in judged.text
    assert {c.direction for c in judged.comparison.changes} == {"cannot_tell"}
    assert {c.p_adjusted for c in judged.comparison.changes} == {None}


def test_sessions_without_any_code_are_followed_with_a_word():
    course = follow([session(day, code="unknown", digest=str(day)) for day in DAYS])
    assert codes(course.problems) == ["patient_unknown"]


def test_identical_sessions_show_no_change_and_say_what_would_have_been_seen():
    judged = follow(three(), retest=retests()).comparisons[0]
    assert all(c.value == 0.0 for c in judged.comparison.changes)
    assert judged.comparison.overall.verdict == "no_real_change"
    assert "80 % power" in judged.text
    assert "gain 0.18" in judged.text  # (2.84 + 0.84)·0.05: normal quantile of 1 − 0.05/22


def test_without_retests_that_may_decide_nothing_can_be_told():
    judged = follow([three()[0], session(DAYS[1], LOW, LEADS)]).comparisons[0]
    assert judged.comparison.overall.verdict == "cannot_tell"
    assert all(entry.illustration for entry in illustration().entries)
    assert all(c.direction == "cannot_tell" for c in judged.comparison.changes)
    assert {r.verdict for r in judged.rules} == {"cannot_tell"}
    shown = next(c for c in judged.comparison.changes if "illustration" in c.why)
    assert shown.limit == pytest.approx(0.22)


def test_other_settings_make_two_sessions_incomparable():
    other = session(DAYS[1], LOW, digest="b")
    other = replace(other, provenance=replace(other.provenance, settings_digest="other"))
    comparison = follow([three()[0], other], retest=retests()).comparisons[0].comparison
    assert "settings_differ" in comparison.why
    assert comparison.overall.verdict == "cannot_tell"
    newer = replace(three()[1], provenance=replace(three()[1].provenance, version="9"))
    assert "version_differs" in follow([three()[0], newer]).comparisons[0].comparison.why


def test_other_conditions_are_flagged():
    one = session(DAYS[0], digest="a", conditions={"alerting": "sums"})
    two = session(DAYS[1], digest="b", conditions={"alerting": "sums", "medication": "diazepam"})
    comparison = follow([one, two]).comparisons[0].comparison
    assert comparison.differing == ("medication",)
    assert "conditions_differ" in comparison.why


def test_measures_are_matched_by_what_they_are_and_not_by_the_name_of_the_trial():
    one = replace(three()[0], trials=(sinusoid(0.04, 0.6, 13.0),))
    two = replace(three()[1], trials=(sinusoid(0.0408, 0.5, 13.0, id_="another", peak=61.0),))
    changes = follow([one, two]).comparisons[0].comparison.changes
    assert [c.after.id for c in changes] == ["another/gain", "another/phase", "another/asymmetry"]


def test_another_stimulus_is_not_matched_and_the_reason_names_it():
    one = replace(three()[0], trials=(sinusoid(0.04, 0.6, 13.0),))
    two = replace(three()[1], trials=(sinusoid(0.05, 0.5, 13.0),))
    comparison = follow([one, two]).comparisons[0].comparison
    assert comparison.changes == ()
    assert comparison.overall.why == ("nothing_comparable",)
    assert {u.reason for u in comparison.unmatched} == {"other_stimulus"}
    assert "frequency_hz = 0.05" in comparison.unmatched[0].detail


def test_what_one_session_lacks_or_could_not_measure_is_listed_with_the_reason():
    lame = sinusoid(0.04, None, 13.0)
    lame = replace(
        lame, measures=(replace(lame.measures[0], why=("too_short",)), *lame.measures[1:])
    )
    one = replace(three()[0], trials=(sinusoid(0.04, 0.6, 13.0), sinusoid(0.08, 0.6, 6.0)))
    two = replace(three()[1], trials=(lame,))
    unmatched = follow([one, two]).comparisons[0].comparison.unmatched
    found = {(u.key.name, u.key.number("frequency_hz")): (u.reason, u.detail) for u in unmatched}
    assert found["gain", 0.04] == ("no_value", "too_short")
    assert found["gain", 0.08] == ("only_before", "")


def test_several_trials_alike_in_one_session_are_matched_by_their_name_alone():
    twice = (sinusoid(0.04, 0.6, 13.0, id_="a"), sinusoid(0.04, 0.5, 14.0, id_="b"))
    one, two = replace(three()[0], trials=twice), replace(three()[1], trials=twice[1:])
    comparison = follow([one, two]).comparisons[0].comparison
    assert {c.trial for c in comparison.changes} == {"b"}
    assert {(u.reason, u.detail) for u in comparison.unmatched} == {("several_alike", "a")}


def test_a_repeat_that_went_into_another_trial_is_not_followed_itself():
    whole = replace(sinusoid(0.04, 0.6, 13.0), parts=("sin-0.04", "again"))
    one = replace(three()[0], trials=(whole, sinusoid(0.04, 0.61, 13.0, id_="again")))
    assert {trial for _, trial, _ in keyed(one)} == {"sin-0.04"}


def test_a_definition_or_unit_of_its_own_is_another_measure():
    one, two = (
        TrialResult("s", "step", "dark", {}, "done", None, None,
                    (measure("time_constant", 15.0, 0.5, "s", "s", definition=definition),))
        for definition in ("one_over_e", "model")
    )  # fmt: skip
    keys = [next(keyed(replace(three()[0], trials=(t,))))[0] for t in (one, two)]
    assert not alike(*keys)


def test_the_correlation_of_the_retests_is_used_where_it_is_known():
    plain = retests(n=40)
    entries = tuple(replace(e, index=i) for i, e in enumerate(plain.entries))
    own = replace(plain, entries=entries, correlation=np.eye(len(entries)))
    assert follow(three(), retest=own).comparisons[0].comparison.overall.method == "correlated"
    assert follow(three(), retest=plain).comparisons[0].comparison.overall.method == "holm"
