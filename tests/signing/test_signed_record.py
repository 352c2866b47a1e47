"""Signing: what is frozen, that any change is found, and that versions form a chain."""

import hashlib
import json
from dataclasses import replace

import invented_analysis
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from slowphase.foundation.errors import UsageError
from slowphase.signing.decisions import Decisions, check_decisions, statement_keys
from slowphase.signing.record import (
    check_chain,
    check_page,
    differences,
    digest_of,
    freeze,
    open_record,
    seal,
    signed_reading,
    since,
)
from slowphase.signing.signature import sign_as

AT = "2026-03-04T09:30:00+01:00"
PAGE = "<p>a page</p>"


@pytest.fixture(scope="module")
def analysis():
    return invented_analysis.invented_analysis()


def signed(analysis, decisions=None, earlier=None, page=PAGE):
    decisions = decisions or Decisions()
    signature = sign_as("A. Meyer, audiologist", AT, earlier)
    return seal(freeze(analysis, decisions, signature), page)


@pytest.fixture(scope="module")
def text(analysis):
    return signed(analysis)


def test_a_record_freezes_reading_digests_version_who_and_when(analysis, text):
    record = open_record(text, "v1.json").content
    document = analysis.to_document()
    assert record["software"] == document["software"]
    assert record["signed"] == {"by": "A. Meyer, audiologist", "at": AT}
    assert (record["version"], record["replaces"]) == (1, None)
    assert [s["text"] for s in record["reading"]["statements"]] == [
        s.text for s in analysis.statements
    ]
    assert record["reading"]["patterns"] == document["patterns"]
    assert record["reading"]["criteria"] == document["criteria"]
    assert {s["decision"] for s in record["reading"]["statements"]} == {"accepted"}


def test_what_the_signer_changed_stands_beside_what_was_there(analysis):
    decisions = Decisions(
        reworded={"spontaneous_nystagmus": "mine", "summary": "short"},
        dropped={"vertical_nystagmus": "not seen"},
        remark="a remark",
    )
    reading = open_record(signed(analysis, decisions), "v1.json").content["reading"]
    told = {s["key"]: s for s in reading["statements"]}
    assert told["spontaneous_nystagmus"]["decision"] == "reworded"
    assert told["spontaneous_nystagmus"]["signed"] == "mine"
    assert "right-beating" in told["spontaneous_nystagmus"]["text"]
    assert told["vertical_nystagmus"]["decision"] == "dropped"
    assert (reading["signed_summary"], reading["remark"]) == ("short", "a remark")
    assert reading["summary"]["referrer"] == analysis.summary.referrer


def test_the_digest_is_sha_256_of_the_sorted_content(text):
    # computed here from RFC 8259 text with hashlib alone
    content = json.loads(text)
    stated = content.pop("digest")
    plain = json.dumps(content, sort_keys=True, ensure_ascii=False, separators=(",", ":"))
    assert hashlib.sha256(plain.encode("utf-8")).hexdigest() == stated


@settings(max_examples=80, deadline=None)
@given(data=st.data())
def test_any_changed_byte_is_found(text, data):
    place = data.draw(st.integers(0, len(text) - 1))
    other = data.draw(st.characters(codec="ascii").filter(lambda c: c != text[place]))
    changed = text[:place] + other + text[place + 1 :]
    with pytest.raises(UsageError, match=r"digest does not match|no signed record|schema"):
        open_record(changed, "v1.json")


@pytest.mark.parametrize("more", ["\n", " "])
def test_even_white_space_is_found(text, more):
    with pytest.raises(UsageError, match="digest does not match"):
        open_record(text + more, "v1.json")


def test_a_changed_page_is_found(text):
    record = open_record(text, "v1.json")
    check_page(record, PAGE, "v1.html")
    with pytest.raises(UsageError, match=r"v1\.html was changed"):
        check_page(record, PAGE + " ", "v1.html")


def test_versions_form_a_chain_and_an_exchanged_one_breaks_it(analysis, text):
    first = open_record(text, "v1.json")
    second = open_record(signed(analysis, earlier=first.earlier), "v2.json")
    assert second.content["replaces"] == {
        "version": 1,
        "digest": first.digest,
        "reading_digest": first.reading_digest,
        "differs": [],
    }
    check_chain([first, second])
    other = open_record(signed(analysis, Decisions(remark="another")), "v1.json")
    with pytest.raises(UsageError, match="exchanged or is missing"):
        check_chain([other, second])
    with pytest.raises(UsageError, match="exchanged or is missing"):
        check_chain([second])


def test_the_digest_on_the_page_is_that_of_the_frozen_reading(analysis):
    signature = sign_as("A. Meyer, audiologist", AT)
    frozen = freeze(analysis, Decisions(), signature)
    shown = signed_reading(frozen, Decisions(), signature).reading_digest
    assert open_record(seal(frozen, PAGE), "v1.json").content["reading_digest"] == shown


@pytest.mark.parametrize(
    ("key", "words"),
    [
        ("input_digest", "input"),
        ("settings_digest", "settings"),
        ("edits_digest", "edits"),
        ("reference_digest", "references"),
        ("version", "software version"),
    ],
)
def test_what_differs_from_the_signed_version_is_named(analysis, text, key, words):
    record = open_record(text, "v1.json")
    assert differences(record, analysis) == ()
    changed = replace(analysis, provenance=replace(analysis.provenance, **{key: "f" * 64}))
    assert differences(record, changed) == (words,)


def test_other_numbers_from_the_same_digests_are_noticed(analysis, text):
    assert differences(open_record(text, "v1.json"), replace(analysis, pairs=())) == ("numbers",)


def test_other_input_that_gives_other_numbers_says_both(analysis, text):
    provenance = replace(analysis.provenance, input_digest="f" * 64)
    changed = replace(analysis, provenance=provenance, pairs=())
    assert differences(open_record(text, "v1.json"), changed) == ("input", "numbers")


def test_a_later_signature_says_what_changed_of_the_analysis_and_of_the_signers_words(
    analysis, text
):
    record = open_record(text, "v1.json")
    edited = replace(analysis, provenance=replace(analysis.provenance, edits_digest="f" * 64))
    decisions = Decisions(
        reworded={"spontaneous_nystagmus": "mine", "summary": "short"}, remark="later"
    )
    signature = since(record, edited, decisions, sign_as("A", AT, record.earlier))
    assert signature.replaces.differs == (
        "edits",
        "statements reworded or left out by the signer",
        "the signer's summary",
        "the signer's remark",
    )
    unchanged = since(record, analysis, Decisions(), sign_as("A", AT, record.earlier))
    assert unchanged.replaces.differs == ()


@pytest.mark.parametrize("name", ["", "   ", "x" * 201])
def test_a_signature_needs_a_name(name):
    with pytest.raises(UsageError, match="a name and a role"):
        sign_as(name, AT)


@pytest.mark.parametrize("at", ["yesterday", "2026-03-04T09:30:00", "2026-03-04"])
def test_a_signature_needs_a_time_with_its_offset(at):
    with pytest.raises(UsageError, match="expected"):
        sign_as("A", at)


@pytest.mark.parametrize(
    ("decisions", "said"),
    [
        (Decisions(dropped={"nonsense": "x"}), "is no statement of this reading"),
        (Decisions(dropped={"summary": "x"}), "is no statement of this reading"),
        (Decisions(dropped={"spontaneous_nystagmus": " "}), "an empty text"),
        (Decisions(reworded={"spontaneous_nystagmus": "a"},
                   dropped={"spontaneous_nystagmus": "b"}), "both dropped and reworded"),
    ],
)  # fmt: skip
def test_a_decision_that_makes_no_sense_is_refused(analysis, decisions, said):
    with pytest.raises(UsageError, match=said):
        freeze(analysis, decisions, sign_as("A", AT))


def test_statements_that_share_a_code_are_told_apart_by_number(analysis):
    twice = (*analysis.statements, analysis.statements[0])
    keys = statement_keys(twice)
    code = analysis.statements[0].code
    assert (keys[0], keys[-1]) == (f"{code}:1", f"{code}:2")
    with pytest.raises(UsageError, match=f"name one of {code}:1, {code}:2"):
        check_decisions(Decisions(dropped={code: "x"}), statement_keys(twice))
    check_decisions(Decisions(dropped={f"{code}:2": "x"}), statement_keys(twice))


def test_the_digest_does_not_depend_on_the_order_of_keys():
    assert digest_of({"a": 1, "b": 2}) == digest_of({"b": 2, "a": 1})
