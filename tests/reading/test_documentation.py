"""Nothing in the reading, the references or the document goes undocumented."""

from pathlib import Path

import pytest

from slowphase.analysis.document import document_schema
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
