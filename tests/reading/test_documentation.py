"""Nothing in the reading, the references or the document goes undocumented."""

from pathlib import Path

import pytest

from docs.make import agreement_page
from docs.statement_docs import statements_page
from slowphase.analysis.document import document_schema
from slowphase.reading.agreement import RULES as AGREEMENT_RULES
from slowphase.reading.agreement.compare import agreement_texts, outcomes
from slowphase.reading.conditions import condition_table
from slowphase.reading.limits import limits
from slowphase.reading.record import records
from slowphase.reading.rules import RULES
from slowphase.reference.sets import marks, reference_sets

DOCS = Path(__file__).parents[2] / "docs"


def page(name):
    return (DOCS / name).read_text(encoding="utf-8")


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.code)
def test_every_statement_code_has_its_place_in_the_docs(rule):
    assert f"`{rule.code}`" in page("statements.md")


def test_the_page_of_statements_is_what_the_records_make():
    assert page("statements.md") == statements_page()


@pytest.mark.parametrize("code", records())
def test_every_text_condition_limit_and_source_of_a_statement_is_in_the_docs(code):
    record, text = records()[code], page("statements.md")
    held = [limits()[one] for one in record.limits]
    said = [record.title, record.condition, *record.text.values(), *record.when.values(),
            *record.does_not_show, *record.sources, *record.never.values()]  # fmt: skip
    said += [part for one in held for part in (one.source, f"`{one.code}`, {one.text}")]
    assert [part for part in said if part not in text] == []
    section = text[text.index(f"### `{code}`") :].split("\n### ")[0]
    assert f"Version {record.version}." in section


def test_every_condition_is_in_the_docs_with_its_source_and_mark():
    text = page("statements.md")
    for entry in condition_table()["medicine"].values():
        assert all(word in text for word in entry["words"])
        assert f"| {entry['source']} | {entry['mark']} |" in text


def test_every_set_and_mark_has_its_place_in_the_docs():
    for name in {entry.set for entry in reference_sets()} | set(marks()):
        assert f"`{name}`" in page("references.md")


def test_every_key_of_the_document_has_its_place_in_the_docs():
    schema, text = document_schema(), page("document.md")
    for key in schema["properties"]:
        assert f"`{key}`" in text
    for name in ("problem", "trial", "pair", "statement", "measure", "placement"):
        for key in schema["$defs"][name]["properties"]:
            assert key in text, (name, key)


def test_the_page_of_agreement_is_what_the_table_makes_and_holds_every_text_and_source():
    text = page("agreement.md")
    assert text == agreement_page()
    for rule in AGREEMENT_RULES:
        entry = agreement_texts()[rule.code]
        said = [outcome["says"] for outcome in outcomes(rule.code).values()]
        assert all(part in text for part in (*said, *entry["sources"], entry["condition"]))


def test_every_key_of_an_agreement_has_its_place_in_the_docs():
    for name in ("agreement", "panel", "panel_row"):
        for key in document_schema()["$defs"][name]["properties"]:
            assert key in page("document.md"), (name, key)
