"""Nothing in the reading, the references or the document goes undocumented."""

from pathlib import Path

import pytest

from docs.make import agreement_page
from slowphase.analysis.document import document_schema
from slowphase.reading.agreement import RULES as AGREEMENT_RULES
from slowphase.reading.agreement.compare import agreement_texts, outcomes
from slowphase.reading.rules import RULES
from slowphase.reference.sets import marks, reference_sets

DOCS = Path(__file__).parents[2] / "docs"


def page(name):
    return (DOCS / name).read_text(encoding="utf-8")


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.code)
def test_every_statement_code_has_its_place_in_the_docs(rule):
    assert f"`{rule.code}`" in page("statements.md")


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
