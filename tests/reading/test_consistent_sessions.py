"""Simulated sessions: quiet where one person made all tests, the right rule where one did not."""

from dataclasses import replace
from datetime import date

import comparisons as c
import numpy as np
import pytest
from comparisons import mirrored

import slowphase
from benchmarks.agreement import SPOILS, person_keys, session
from slowphase.cli.simulated_session import session_from
from slowphase.physiology.scenario import run, scenario_from
from slowphase.reading.agreement import RULES, Battery, compare
from slowphase.reading.findings import Findings
from slowphase.recording.session import Patient


@pytest.fixture(scope="module")
def one_sided():
    """An acute loss of the right labyrinth: a strong left-beating nystagmus."""
    person = {"age_years": 46.0, "right": 0.0, "compensated": 0.0}
    return slowphase.analyze(session({"person": person}, "acute", 14))


def by_code(analysis):
    return {found.code: found for found in analysis.agreements}


def again(analysis, *, mirror=False):
    """The comparisons made anew from the results of an analysis, or from their mirror image."""
    turn = mirrored if mirror else (lambda part: part)
    parts = [tuple(map(turn, each)) for each in (analysis.trials, analysis.pairs, analysis.groups)]
    function = tuple(
        replace(p, side=c.OTHER.get(p.side)) if mirror else p for p in analysis.function
    )
    findings = Findings(parts[0], parts[1], groups=parts[2], incoherences=analysis.incoherences)
    battery = Battery(findings, function)
    return {found.code: found for found in compare(battery)}


@pytest.mark.parametrize(("kind", "seed"), [("healthy", 1), ("two-sided", 2)])
def test_tests_of_one_person_do_not_disagree(kind, seed):
    keys = person_keys(kind, np.random.default_rng([7, seed]))
    found = slowphase.analyze(session({"person": keys}, kind, 300 + seed)).agreements
    assert [f.code for f in found] == [rule.code for rule in RULES]
    assert [f.text for f in found if f.verdict == "disagree"] == []


def test_an_acute_loss_is_no_disagreement_and_all_its_signs_point_one_way(one_sided):
    found = by_code(one_sided)
    assert [f.text for f in found.values() if f.verdict == "disagree"] == []
    assert found["nystagmus_weaker_side"].outcome == "away"
    assert "weaker when the right is excited" in found["nystagmus_weaker_side"].text
    assert found["directions"].text.startswith("Beyond their limits, all point to the left")


def test_a_mirror_image_gives_the_same_verdicts_with_sides_exchanged(one_sided):
    straight, turned = again(one_sided), again(one_sided, mirror=True)
    assert straight == by_code(one_sided)
    for code, found in straight.items():
        assert (found.verdict, found.outcome) == (turned[code].verdict, turned[code].outcome)
    assert "weaker when the left is excited" in turned["nystagmus_weaker_side"].text
    assert turned["directions"].text.startswith("Beyond their limits, all point to the right")
    signed = [
        sorted(row.value for panel in each["directions"].panels for row in panel.rows)
        for each in (straight, turned)
    ]
    assert signed[0] == pytest.approx([-value for value in reversed(signed[1])])


@pytest.mark.parametrize(
    "name", ["eye channel mirrored", "ears of calorics exchanged", "steps of half the storage"]
)
def test_a_spoilt_session_is_found_by_the_rule_that_is_meant_for_it(name):
    code, spoil = SPOILS[name]
    analysis = slowphase.analyze(spoil(np.random.default_rng(3), 77))
    assert by_code(analysis)[code].verdict == "disagree"


def test_what_the_session_disagrees_in_is_told_once_and_with_the_same_numbers():
    tables = {"seed": 5, "equipment": {"head_late_s": 0.04, "sampling_hz": 100.0}}
    made = session_from(run(scenario_from(tables)), Patient("late", 50.0), date(2026, 1, 15))
    analysis = slowphase.analyze(made)
    (finding,) = analysis.incoherences
    found = by_code(analysis)[finding.code]
    row, held = found.panels[0].rows
    assert (found.verdict, found.outcome) == ("disagree", "found")
    assert (row.value, row.low, row.high) == (finding.value, finding.low, finding.high)
    assert held.value == finding.limit


def test_comparing_costs_a_session_hardly_any_time(one_sided):
    """At most 20 ms for a session of the chair; the best of five, as others use the machine."""
    from time import perf_counter

    def seconds():
        start = perf_counter()
        again(one_sided)
        return perf_counter() - start

    assert min(seconds() for _ in range(5)) < 0.02
