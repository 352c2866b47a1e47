"""Every rule is a whole record, and every outcome of every rule is made by a test."""

import hashlib
import json
import os
import string
import tomllib
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from slowphase.reading.conditions import condition_table
from slowphase.reading.limits import limits
from slowphase.reading.record import FILES, records, usual_words
from slowphase.reading.rule import STRENGTHS, apply
from slowphase.reading.rules import RULES
from slowphase.reference.sets import marks
from tests.reading.battery_findings import session
from tests.reading.cases import CASES
from tests.reading.cases.build import found
from tests.reading.cases.rotation import compared
from tests.reading.cases.targets import after
from tests.reading.sessions import step_sides

VERDICTS = ("holds", "does_not_hold", "cannot_tell")
BY_CODE = {rule.code: rule for rule in RULES}
EVERY = [(code, outcome) for code, outcomes in CASES.items() for outcome in outcomes]
DIGESTS = Path(__file__).parent / "golden" / "statement_digests.toml"


def said(code, findings):
    return list(BY_CODE[code].judge(findings))


@pytest.mark.parametrize(("code", "outcome"), EVERY)
def test_every_outcome_is_made_with_its_declared_verdict_and_says_all_its_words(code, outcome):
    findings = CASES[code][outcome]()
    judged = said(code, findings)
    assert [(j.outcome, j.verdict) for j in judged] == [(outcome, records()[code].verdict(outcome))]
    (statement,) = apply((BY_CODE[code],), findings)
    assert statement.text[:1].isupper() or statement.text[:1].isdigit() or ": " in statement.text
    assert statement.text.endswith(".")
    assert not any(mark in statement.text for mark in ("{", "}", "  ", "..", " .", " ,", "None"))
    assert statement.strength in STRENGTHS
    assert judged[0].outcome in ("missing", "not_recorded", "both_absent") or statement.evidence


def test_every_rule_has_a_record_and_every_record_a_rule():
    assert [set(records()), len(RULES)] == [set(BY_CODE), len(BY_CODE)]
    folder = Path(__file__).parents[2] / "src" / "slowphase" / "reading" / "statements"
    assert {file.stem for file in folder.glob("*.toml")} == {*FILES, "shown"}


@pytest.mark.parametrize("code", records())
def test_every_record_is_whole(code):
    record = records()[code]
    assert all((record.title, record.finding, record.condition, record.sources, record.about))
    assert record.version >= 1
    assert record.does_not_show
    assert all(line.endswith(".") for line in (record.condition, *record.does_not_show))
    outcomes = [outcome for names in record.verdicts.values() for outcome in names]
    assert len(outcomes) == len(set(outcomes))
    assert set(outcomes) == set(record.text) == set(record.when)
    assert set(record.shown) <= {*outcomes, *VERDICTS}
    assert set(record.limits) <= set(limits())


@pytest.mark.parametrize("code", records())
def test_every_rule_can_hold_fail_and_be_undecidable_or_says_why_not(code):
    record = records()[code]
    assert set(record.verdicts) | set(record.never) == set(VERDICTS)
    assert not set(record.verdicts) & set(record.never)
    assert set(CASES[code]) == set(record.text)


@pytest.mark.parametrize("code", [c for c, r in records().items() if r.never])
def test_a_verdict_that_a_rule_never_gives_is_given_on_no_findings_of_any_case(code):
    cases = [CASES[one][outcome]() for one, outcome in EVERY]
    verdicts = {j.verdict for findings in [*cases, session()] for j in said(code, findings)}
    assert verdicts == set(records()[code].verdicts)


@pytest.mark.parametrize("code", [c for c, r in records().items() if set(r.verdicts) == {"holds"}])
def test_a_warning_says_nothing_where_it_does_not_hold(code):
    assert said(code, session()) == []
    assert said(code, found()) == []


@given(st.floats(-100, 100), st.floats(0.1, 40))
def test_no_difference_of_sides_is_called_one_without_a_reference(number, half):
    cases = {
        "response_sides": compared(step_sides(number, half)),
        "time_constant_sides": compared(step_sides(0.0, 1.0, number, half)),
        "after_nystagmus_sides": after(number, -8.0, half=half),
    }
    verdicts = {j.verdict for code, findings in cases.items() for j in said(code, findings)}
    assert "holds" not in verdicts


@pytest.mark.parametrize("code", [code for code in BY_CODE if code != "spontaneous_nystagmus"])
def test_nothing_is_said_of_a_test_that_the_session_does_not_hold(code):
    assert said(code, found()) == []


def test_urgent_statements_lead_to_the_acute_pathway_and_never_to_one_that_is_not_found():
    urgent = []
    for code, outcome in EVERY:
        for statement in apply((BY_CODE[code],), CASES[code][outcome]()):
            if statement.urgent:
                urgent.append((code, outcome))
                assert statement.text.endswith("local acute pathway at once.")
                assert statement.verdict != "does_not_hold"
    assert {code for code, _ in urgent} == {
        "spontaneous_nystagmus", "vertical_nystagmus", "gaze_nystagmus", "rebound_nystagmus",
        "positional_nystagmus", "saccade_eyes", "nystagmus_without_loss",
    }  # fmt: skip


def test_no_text_asserts_a_diagnosis_or_runs_long():
    """Words that name a disease or a place of a lesion; the rest of the check is a person's."""
    named = ("patient has", "suffers", "diagnos", "stroke", "neuritis", "tumour", "sclerosis",
             "ménière", "migraine", "lesion of")  # fmt: skip
    for record in records().values():
        for text in (*record.text.values(), record.title, record.finding):
            assert not any(word in text.casefold() for word in named), (record.code, text)
            assert len(text.split()) <= 75, (record.code, text)


def test_every_limit_that_a_rule_shows_is_in_its_record():
    for code, outcome in EVERY:
        held = {f"{limits()[one].label}: {limits()[one].text}" for one in records()[code].limits}
        for statement in apply((BY_CODE[code],), CASES[code][outcome]()):
            shown = {item.limit for item in statement.evidence if item.limit}
            assert shown <= held, (code, outcome)


def test_marks_of_limits_and_conditions_are_those_of_the_references():
    entries = [*condition_table()["medicine"].values(), condition_table()["eyes"]["closed"],
               condition_table()["light"], condition_table()["head_pitch"]]  # fmt: skip
    assert {entry["mark"] for entry in entries} <= set(marks())
    assert {limit.mark for limit in limits().values()} <= set(marks())


def test_what_conditions_touch_are_what_statements_are_about():
    about = {word for record in records().values() for word in record.about}
    for entry in condition_table()["medicine"].values():
        assert set(entry["touches"]) <= about
    assert set(condition_table()["light"]["touches"]) <= about


def digest(record):
    """Of everything that a rule says, with the values of its limits."""
    fields = {name: getattr(record, name) for name in record.__dataclass_fields__}
    del fields["version"]
    fields["limits"] = [
        (one, limits()[one].value, limits()[one].unit, limits()[one].source, limits()[one].mark)
        for one in record.limits
    ]
    fields["usual"] = dict(usual_words())
    return hashlib.sha256(json.dumps(fields, sort_keys=True).encode()).hexdigest()


def test_a_rule_that_says_something_else_has_another_version():
    """Raise `version` in statements/, then set SLOWPHASE_APPROVE=1 to write the digests anew."""
    known = tomllib.loads(DIGESTS.read_text(encoding="utf-8")) if DIGESTS.exists() else {}
    now = {code: {"version": r.version, "digest": digest(r)} for code, r in records().items()}
    for code, entry in now.items():
        if code in known and entry["digest"] != known[code]["digest"]:
            assert entry["version"] > known[code]["version"], f"{code} changed: raise its version"
    if os.environ.get("SLOWPHASE_APPROVE"):
        lines = [f'{code} = {{ version = {e["version"]}, digest = "{e["digest"]}" }}'
                 for code, e in now.items()]  # fmt: skip
        head = "# What each rule says, by version: SHA-256, written by test_statement_records.py.\n"
        DIGESTS.parent.mkdir(exist_ok=True)
        DIGESTS.write_text(head + "\n".join(lines) + "\n", encoding="utf-8")
        known = now
    assert known == now


def test_every_placeholder_of_a_text_is_filled_by_its_rule():
    for code, outcome in EVERY:
        (judged,) = said(code, CASES[code][outcome]())
        named = {name for _, name, _, _ in string.Formatter().parse(records()[code].text[outcome])}
        assert named - {None} <= set(judged.words)
