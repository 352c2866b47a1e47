"""Statements on gaze, calorics and head impulses."""

from dataclasses import replace

import pytest

from slowphase.measures.measure import Measure
from slowphase.measures.result import GroupResult, TrialResult
from slowphase.reading.findings import Findings
from slowphase.reading.read import read
from slowphase.reading.rule import apply
from slowphase.reading.rules.caloric import CALORIC
from slowphase.reading.rules.gaze import GAZE
from slowphase.reading.rules.impulse import IMPULSE


def measure(id_, value, half, unit, of=None, why=()):
    return Measure(id_, id_.split("/")[-1], value, value - half, value + half, unit, of=of, why=why)


def trial(id_, kind, *measures):
    return TrialResult(id_, kind, "dark", {}, "done", None, None, measures)


def said(rule, trials=(), groups=()):
    (statement,) = apply((rule,), Findings(tuple(trials), groups=tuple(groups),
                                           conditions={"alerting": "yes"}))  # fmt: skip
    return statement


def gaze(law, right, left, slope=-0.1):
    trials = [trial(f"gaze-{name}", "gaze", measure(f"g/{name}/velocity", v, 0.2, "deg/s",
                                                    "horizontal"))
              for name, v in (("right", right), ("left", left))]  # fmt: skip
    slope = measure("gaze/dark/gaze_dependence", slope, 0.02, "/s", "dark", (law,))
    return said(GAZE, trials, [GroupResult("gaze", "gaze", ("gaze-right", "gaze-left"), (slope,))])


def test_a_nystagmus_that_turns_with_gaze_is_found_and_leads_to_the_acute_pathway():
    statement = gaze("gaze_evoked", -3.0, 3.0)
    assert statement.verdict == "holds"
    assert "local acute pathway" in statement.text
    assert "gaze-right −3.0 deg/s" in statement.text


@pytest.mark.parametrize(
    ("law", "speed", "verdict"),
    [
        ("alexanders_law", 5.0, "does_not_hold"),
        ("gaze_independent", 0.1, "does_not_hold"),
        ("gaze_law_open", 3.0, "cannot_tell"),
        ("gaze_law_open", 0.6, "does_not_hold"),
        ("gaze_evoked", 0.8, "does_not_hold"),
    ],
)
def test_what_only_grows_or_is_too_slow_is_no_sign(law, speed, verdict):
    assert gaze(law, -speed, speed).verdict == verdict


@pytest.mark.parametrize(
    ("slope", "verdict"),
    [(-0.14, "does_not_hold"), (-0.15, "does_not_hold"), (-0.16, "cannot_tell")],
)
def test_gaze_that_leaks_fast_is_not_explained_by_a_peripheral_nystagmus(slope, verdict):
    statement = gaze("alexanders_law", 5.0, 14.0, slope)
    assert statement.verdict == verdict
    assert ("local acute pathway" in statement.text) is (verdict == "cannot_tell")


def test_a_turning_nystagmus_is_read_before_everything_else():
    trials = [trial("gaze-right", "gaze", measure("g/velocity", -4.0, 0.2, "deg/s", "horizontal"))]
    slope = measure("gaze/dark/gaze_dependence", -0.1, 0.02, "/s", "dark", ("gaze_evoked",))
    group = GroupResult("gaze", "gaze", ("gaze-right",), (slope,))
    statements = read(Findings(tuple(trials), groups=(group,)))
    assert statements[0].code == "gaze_nystagmus"


def calorics(right, left, weakness, half=2.0, why=()):
    ears = [measure(f"caloric/{side} ear/total", total, 0.5, "deg/s", f"{side} ear")
            for side, total in (("right", right), ("left", left))]  # fmt: skip
    ratio = measure("caloric/unilateral_weakness", weakness, half, "%", why=why)
    return said(CALORIC, (), [GroupResult("caloric", "caloric", (), (*ears, ratio))])


def test_the_weaker_ear_is_named_by_the_sign_of_jongkees_formula():
    """REFERENCES section 4, second row: 10, 8, 28, 24 give −48.6 %, right weaker."""
    statement = calorics(18.0, 52.0, -48.6)
    assert statement.verdict == "holds"
    assert "The right ear answers irrigation less" in statement.text
    assert "from memory, unverified" in statement.text
    assert statement.strength != "firm"
    assert "The left ear" in calorics(52.0, 18.0, 48.6).text


@pytest.mark.parametrize(
    ("weakness", "half", "verdict"),
    [(2.8, 2.0, "does_not_hold"), (25.0, 5.0, "cannot_tell"), (-26.0, 4.0, "cannot_tell")],
)
def test_a_weakness_near_or_within_the_limit_is_not_called_one(weakness, half, verdict):
    assert calorics(50.0, 50.0, weakness, half).verdict == verdict


def test_two_ears_that_hardly_answer_are_said_to_whatever_their_ratio():
    statement = calorics(2.0, 3.0, -20.0)
    assert statement.verdict == "holds"
    assert "Both ears hardly answer" in statement.text


def impulses(right, left, half=0.02):
    gains = [Measure(f"i/{side} lateral/gain", "gain", value, value - half, value + half, "1",
                     of=f"{side} lateral", definition="velocity_area")
             for side, value in (("right", right), ("left", left))]  # fmt: skip
    return said(IMPULSE, [trial("i", "impulse", *gains)],
                [GroupResult("impulse", "impulse", ("i",))])  # fmt: skip


@pytest.mark.parametrize(
    ("right", "left", "verdict", "words"),
    [
        (0.4, 0.95, "holds", "to the right is low"),
        (0.95, 0.4, "holds", "to the left is low"),
        (0.95, 0.92, "does_not_hold", "not low"),
        (0.8, 0.95, "cannot_tell", "cannot be told"),
        (0.3, 0.35, "holds", "bilateral vestibulopathy"),
        (0.3, 0.7, "holds", "low on both sides"),
    ],
)
def test_gains_of_impulses_are_held_against_the_limit_by_side(right, left, verdict, words):
    statement = impulses(right, left)
    assert statement.verdict == verdict
    assert words in statement.text


def test_the_criterion_of_two_sides_needs_both():
    assert "bilateral vestibulopathy" not in impulses(0.3, 0.7).text


def test_no_accepted_impulse_says_that_nothing_can_be_told():
    missing = replace(
        measure("i/right lateral/gain", 1.0, 0.1, "1", "right lateral"), value=None, low=None,
        high=None, grade="unusable", why=("no_impulse_accepted",),
    )  # fmt: skip
    statement = said(IMPULSE, [trial("i", "impulse", missing)],
                     [GroupResult("impulse", "impulse", ("i",))])  # fmt: skip
    assert statement.verdict == "cannot_tell"
