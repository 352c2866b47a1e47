"""The short texts: length, order, and what they never leave out."""

from datetime import date

import pytest

from slowphase.reading.criteria import read_criteria
from slowphase.reading.pattern_table import pattern_table
from slowphase.reading.patterns import read_patterns
from slowphase.reading.read import read
from slowphase.reading.summary import summarise, summary_words
from tests.reading.battery_findings import ACUTE_RIGHT, LOW_ALERTNESS, session
from tests.reading.test_patterns import BOTH, CASES


def texts(day=date(2026, 3, 2), **keys):
    findings = session(**keys)
    return summarise(
        findings, read(findings), read_patterns(findings), read_criteria(findings), day
    )


@pytest.mark.parametrize("code", CASES)
def test_the_text_for_the_referrer_has_at_most_120_words(code):
    text = texts(**CASES[code]).referrer
    assert len(text.split()) <= 120
    assert text.endswith(summary_words()["referrer"]["always"])
    assert "{" not in text


@pytest.mark.parametrize("code", CASES)
def test_the_paragraph_for_the_patient_has_plain_words_and_the_emergency_signs(code):
    text = texts(**CASES[code]).patient
    assert "emergency" in text
    assert not any(word in text for word in ("gain ", "deg/s", "nystagmus", "%", "firm"))


def test_every_pattern_has_words_for_the_patient():
    words = summary_words()["patient"]
    for entry in [*pattern_table()["pattern"], pattern_table()["not_interpretable"]]:
        for side in ("right", "left"):
            assert entry["code"].format(side=side) in words


def test_an_urgent_central_sign_comes_first_and_names_the_pathway():
    text = texts(vertical=6.0).referrer
    assert "local acute pathway" in text.split("Pattern")[0]
    assert len(text.split()) <= 120


def test_a_red_herring_is_told():
    findings = session(**ACUTE_RIGHT)
    found = read(findings)
    from dataclasses import replace

    herring = replace(found[0], code="suppression_whole_misleads", verdict="holds")
    text = summarise(
        findings, (*found, herring), read_patterns(findings), read_criteria(findings), None
    ).referrer
    assert "only through the nystagmus" in text
    assert "plain time constants" not in text


def test_what_was_not_tested_is_told():
    text = texts(calorics_of=None, impulses_of=None).referrer
    assert "Not tested: calorics, impulses." in text


def test_a_session_that_cannot_be_interpreted_says_why_and_names_no_pattern():
    text = texts(found=(LOW_ALERTNESS,)).referrer
    assert text.startswith("Not interpretable:")
    assert "Pattern:" not in text


def test_medication_and_alerting_stand_in_the_text():
    told = {"alerting": "", "recording": "video", "medication": "diazepam 5 mg"}
    text = texts(conditions=told).referrer
    assert "alerting not recorded, medication diazepam 5 mg" in text


def test_the_day_of_the_test_may_be_unknown():
    assert "None" not in texts(day=None).patient


@pytest.mark.parametrize("side", ["right", "left"])
def test_the_number_beside_a_sign_is_that_of_its_side(side):
    gains = {"right": (0.40, 0.75), "left": (0.75, 0.40)}[side]
    loss = {"right": ACUTE_RIGHT, "left": mirrored_keys(ACUTE_RIGHT)}[side]
    text = texts(**{**loss, "impulses_of": gains}).referrer
    assert f"low impulse gain to the {side} (0.40" in text


def mirrored_keys(keys):
    turned = {k: v[::-1] if isinstance(v, tuple) else v for k, v in keys.items()}
    return {**turned, "velocity": -keys["velocity"], "sides": -keys["sides"]}


def test_both_sides_are_shown_where_a_sign_is_of_both():
    assert "R 0.30" in texts(**BOTH).referrer


def test_what_is_central_beside_a_peripheral_loss_is_not_told_as_evidence_against_it():
    text = texts(**{**ACUTE_RIGHT, "suppression": 40.0}).referrer
    assert "not explained by it (central signs until shown otherwise): poor suppression" in text


def test_tests_that_disagree_are_named():
    findings = session()
    text = summarise(
        findings, read(findings), read_patterns(findings), read_criteria(findings), None,
        disagreeing=["All signs of a side"],
    ).referrer  # fmt: skip
    assert "Tests disagree: All signs of a side." in text


def test_a_fast_nystagmus_without_a_loss_is_urgent():
    text = texts(velocity=9.0).referrer
    assert text.startswith("Fast nystagmus without a measured loss: found.")
    assert "local acute pathway" in text
