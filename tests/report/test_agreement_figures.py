"""Whether the tests agree, as a reader of the page and of the terminal meets it."""

import re
from dataclasses import replace

import pytest

from slowphase.analysis.document import document_schema
from slowphase.cli.writing import summary_text
from slowphase.reading.agreement import Battery, compare
from slowphase.reading.coherence import Incoherence
from slowphase.reading.findings import Findings
from slowphase.report.agreement_figure import agreement_figure, agreement_label
from slowphase.report.page import render_page

LAG = Incoherence("clock_lag", -32.0, -40.0, -25.0, "ms", 15.0, ("sin-0.16",))


def with_agreements(analysis, found=()):
    findings = Findings(analysis.trials, analysis.pairs, groups=analysis.groups, incoherences=found)
    compared = compare(Battery(findings, analysis.function))
    return replace(analysis, agreements=compared, incoherences=found)


@pytest.fixture(scope="module")
def agreed(analysis):
    return with_agreements(analysis)


def test_every_tested_question_with_numbers_has_a_picture_in_words_too(agreed):
    drawn = [found for found in agreed.agreements if found.panels]
    assert len(drawn) >= 4
    for found in drawn:
        label = agreement_label(found)
        assert agreement_figure(found).startswith('<svg role="img"')
        assert all(row.label in label for panel in found.panels for row in panel.rows)
        assert agreement_figure(found) == agreement_figure(found)


def test_sides_are_told_by_letter_in_picture_and_words(agreed):
    found = next(f for f in agreed.agreements if f.code == "nystagmus_weaker_side")
    assert "6.0 deg/s (5.7–6.3) to R" in agreement_label(found)
    assert "L ← deg/s" in agreement_figure(found)
    assert "→ R" in agreement_figure(found)


def test_the_page_opens_red_herrings_and_keeps_the_rest_closed(agreed):
    page = render_page(agreed)
    assert re.search(r'id="a-suppression_nystagmus" open>', page)
    assert re.search(r'id="a-nystagmus_weaker_side">', page)
    assert "Red herring: suppression only looks poor" in page
    assert "Not tested: " in page


def test_a_finding_of_the_session_stands_once_on_the_page_and_is_named_in_the_terminal(analysis):
    found = with_agreements(analysis, (LAG,))
    page, text = render_page(found), " ".join(summary_text(found).split())
    assert page.count("clocks do not agree. Found") == 1
    assert 'class="agreement disagree" id="a-clock_lag" open' in page
    assert text.count("clocks do not agree. Found") == 1
    assert "≠ Clocks of chair and eye – do not agree" in text


def test_the_terminal_tells_disagreements_and_red_herrings_in_full_and_names_the_rest(agreed):
    text = " ".join(summary_text(agreed).split())
    for found in agreed.agreements:
        assert found.title in text
        if found.heed:
            assert " ".join(found.text.split()) in text
    assert max(len(line) for line in summary_text(agreed).splitlines()) <= 80


def test_an_analysis_without_comparisons_has_no_such_section(analysis):
    assert "Do the tests agree?" not in render_page(analysis)
    assert "Do the tests agree?" not in summary_text(analysis)


def test_the_document_holds_every_comparison_and_fits_its_schema(agreed):
    import jsonschema

    document = agreed.to_document()
    jsonschema.validate(document, document_schema())
    entries = {entry["code"]: entry for entry in document["agreements"]}
    assert list(entries) == [found.code for found in agreed.agreements]
    rows = entries["nystagmus_weaker_side"]["panels"][0]["rows"]
    assert (rows[0]["value"], rows[0]["low"], rows[0]["high"]) == (6.0, 5.7, 6.3)


def test_the_first_page_names_what_does_not_agree_first_and_leads_to_it(analysis):
    page = render_page(with_agreements(analysis, (LAG,)))
    front = page[page.index('class="front"') : page.index('id="patterns"')]
    told = front[front.index("Do the tests agree?") :]
    assert told.index(f'<a href="#a-{LAG.code}">') < told.index("</a>")
