"""Consensus criteria, item by item.

Limits: Strupp et al. 2017 (doi 10.3233/VES-170619, abstract read), Agrawal et al. 2019 (doi
10.3233/VES-190672, abstract read, stimulus from memory), Strupp et al. 2022 (doi
10.3233/VES-220201, abstract read, numbers from memory).
"""

import math

import pytest

from slowphase.reading.criteria import criteria_table, read_criteria
from slowphase.reading.criteria_values import SOURCES
from tests.reading.battery_findings import ACUTE_RIGHT, session

ONLY_CHAIR = {"calorics_of": None, "impulses_of": None}


def found(code, **keys):
    return next(c for c in read_criteria(session(**keys)) if c.code == code)


def item(code, **keys):
    whole = read_criteria(session(**keys))
    return next(i for c in whole for i in c.items if i.code == code)


def test_every_item_is_declared_and_looks_somewhere():
    table = criteria_table()
    named = {i for code, e in table.items() if code != "item" for i in e["items"]}
    named |= {i for e in table["item"].values() for i in e.get("any_of", ())}
    assert named == set(table["item"])
    assert {e["of"] for e in table["item"].values() if "of" in e} == set(SOURCES)


@pytest.mark.parametrize(
    ("code", "key", "at"),
    [
        ("bvp_impulses", "impulses_of", 0.6),
        ("bvp_calorics", "calorics_of", 6.0),
        ("pvp_impulses", "impulses_of", 0.8),
        ("pvp_calorics", "calorics_of", 25.0),
    ],
)
def test_less_than_is_strict_on_unrounded_values(code, key, at):
    below = math.nextafter(at, 0.0)
    assert item(code, **{key: (at, at)}).verdict == "not_met"
    assert item(code, **{key: (below, below)}).verdict == "met"
    assert item(code, **{key: (at, below)}).verdict == "not_met"


@pytest.mark.parametrize(
    ("code", "key", "at"),
    [("pvp_impulses", "impulses_of", 0.6), ("pvp_calorics", "calorics_of", 6.0)],
)
def test_the_lower_end_of_a_range_belongs_to_it(code, key, at):
    below = math.nextafter(at, 0.0)
    assert item(code, **{key: (at, at)}).verdict == "met"
    assert item(code, **{key: (below, at)}).verdict == "not_met"


def test_a_weakness_of_exactly_25_percent_is_not_more_than_25():
    # 100·(R − L)/(R + L) with 37.5 and 62.5 is exactly −25
    at = item("auvp_loss", velocity=12.0, calorics_of=(37.5, 62.5), impulses_of=None)
    beyond = item("auvp_loss", velocity=12.0, calorics_of=(37.4, 62.6), impulses_of=None)
    assert (at.verdict, beyond.verdict) == ("not_met", "met")


def test_the_chair_is_judged_at_a_tenth_of_a_hertz_and_nowhere_else():
    octaves = item("bvp_chair_gain", gain=0.05)
    assert octaves.verdict == "not_tested"
    assert "0.1 Hz" in octaves.remark
    assert item("bvp_chair_gain", gain=0.05, chair_hz=(0.1,)).verdict == "met"


def test_gain_lead_and_time_constant_are_judged_apart():
    # at 0.1 Hz a lead of 68 deg means 0.64 s, and 5 s means 17.7 deg (computed)
    assert math.degrees(math.atan(1 / (2 * math.pi * 0.1 * 0.64))) == pytest.approx(68, abs=0.2)
    keys = {"chair_hz": (0.1,), "gain": 0.3, "lead": 20.0 / 5.0, "constants": (4.0, 4.2)}
    assert item("bvp_constant", **keys).verdict == "met"
    assert item("bvp_chair_lead", **keys).verdict == "not_met"
    assert item("bvp_chair_gain", **keys).verdict == "not_met"


def test_another_peak_velocity_is_told():
    assert "60 deg/s" in item("bvp_chair_gain", chair_hz=(0.1,)).remark


def test_a_chance_comes_from_the_interval_and_the_verdict_from_the_value():
    near = item("bvp_impulses", impulses_of=(0.6, 0.6))
    assert near.chance == pytest.approx(0.5)
    assert near.verdict == "not_met"


def test_one_item_is_enough_for_both_sides_and_none_tested_tells_nothing():
    assert found("bilateral_vestibulopathy", impulses_of=(0.4, 0.4)).verdict == "met"
    assert found("bilateral_vestibulopathy").verdict == "not_met"
    nothing = found("bilateral_vestibulopathy", **ONLY_CHAIR, constants=None)
    assert nothing.verdict == "not_tested"


def test_a_loss_of_one_side_that_lowers_both_impulse_gains_is_contradicted():
    trap = found("bilateral_vestibulopathy", impulses_of=(0.35, 0.58), calorics_of=(2.0, 50.0))
    assert trap.verdict == "contradicted"
    assert "one side" in trap.remark
    both = found("bilateral_vestibulopathy", impulses_of=(0.35, 0.58), calorics_of=(2.0, 12.0))
    assert both.verdict == "met"


def test_presbyvestibulopathy_needs_the_age():
    mild = {"impulses_of": (0.7, 0.72)}
    assert found("presbyvestibulopathy", age=72.0, **mild).verdict == "met"
    assert found("presbyvestibulopathy", age=59.9, **mild).verdict == "not_met"
    assert found("presbyvestibulopathy", age=None, **mild).verdict == "not_tested"


def test_an_acute_loss_is_opposite_to_the_quick_phase():
    right = found("acute_unilateral_vestibulopathy", **ACUTE_RIGHT)
    assert right.verdict == "met"
    toward = {**ACUTE_RIGHT, "velocity": -12.0, "impulses_of": (0.4, 0.9)}
    assert found("acute_unilateral_vestibulopathy", **toward).verdict == "not_met"


def test_no_side_is_looked_for_without_a_nystagmus():
    loss = item("auvp_loss", velocity=0.1)
    assert loss.verdict == "not_tested"


def test_a_nystagmus_that_fixation_does_not_slow_is_not_enhanced_without_it():
    assert item("auvp_enhanced", velocity=12.0, effect=-5.0).verdict == "not_met"
    assert item("auvp_enhanced", velocity=12.0, effect=60.0).verdict == "met"


def test_menieres_disease_has_no_measured_item():
    assert found("menieres_disease").verdict == "no_measure"


def test_a_missing_side_is_named():
    assert item("bvp_impulses", impulses_of=None).remark == "head impulses: not tested"
