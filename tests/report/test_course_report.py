"""The faces of a course: document, page, picture and terminal, with known values."""

import os
import re
from html import unescape
from html.parser import HTMLParser
from pathlib import Path

import jsonschema
import pytest
from course.made_course import DAYS, retests, session

from slowphase.analysis.document import to_json
from slowphase.cli.writing import as_text
from slowphase.course.document import course_document, course_schema
from slowphase.course.events import Event
from slowphase.course.timeline import follow
from slowphase.report.course_figure import course_figure
from slowphase.report.course_page import render_course
from slowphase.report.course_panels import panels
from slowphase.report.course_terminal import course_view

VALIDATOR = jsonschema.Draft202012Validator
GOLDEN = Path(__file__).parent / "golden"
EVENT = Event(DAYS[1], 'dose <b>"x"</b>', "dose")


@pytest.fixture(scope="module")
def course():
    low = {"gains": (0.2, 0.25, 0.3, 0.3), "leads": (70.0, 50.0, 30.0, 20.0), "constant": 5.0}
    sessions = [session(DAYS[0], digest="a"), session(DAYS[1], digest="b"),
                session(DAYS[2], digest="c", **low)]  # fmt: skip
    return follow(sessions, retest=retests(n=30), events=[EVENT])


@pytest.fixture(scope="module")
def bare():
    return follow([session(day, digest=str(day)) for day in DAYS])


def test_the_documents_follow_their_schema(course, bare):
    VALIDATOR.check_schema(course_schema())
    for one in (course, bare):
        document = course_document(one)
        assert [e.message for e in VALIDATOR(course_schema()).iter_errors(document)] == []
        assert "NaN" not in to_json(document)


def test_the_schema_refuses_what_is_wrong(course):
    document = course_document(course)
    document["comparisons"][0]["verdict"] = "better"
    document["extra"] = 1
    errors = list(VALIDATOR(course_schema()).iter_errors(document))
    assert len(errors) == 2


def test_the_document_holds_the_numbers_of_the_course(course):
    one = course_document(course)["comparisons"][0]
    gain = next(c for c in one["changes"] if c["label"] == "gain, 0.01 Hz")
    assert gain["value"] == pytest.approx(-0.3)
    assert gain["retest"]["mdc95"] == pytest.approx(0.098, abs=1e-3)
    assert (one["verdict"], gain["direction"]) == ("real_change", "falls")


def test_the_page_stands_alone_and_escapes_what_people_wrote(course):
    page = render_course(course)
    assert not re.search(r"<script|https?://(?!www\.w3\.org)|<link|@import", page)
    assert "dose &lt;b&gt;" in page
    assert "<b>&#34;" not in page
    assert "Real change from 2026-01-05 to 2026-03-30" in page
    assert render_course(course) == page
    for rule in course.comparisons[0].rules:
        assert rule.rule.code in page
        assert rule.rule.does_not_show in unescape(page)


class _Tags(HTMLParser):
    def __init__(self):
        super().__init__()
        self.ids, self.links = [], []

    def handle_starttag(self, tag, attributes):
        named = dict(attributes)
        self.ids += [named["id"]] if named.get("id") else []
        self.links += [named["href"]] if tag == "a" else []


def test_links_of_the_page_lead_somewhere_and_no_id_is_there_twice(course):
    tags = _Tags()
    tags.feed(render_course(course))
    assert len(set(tags.ids)) == len(tags.ids)
    assert all(link[1:] in tags.ids for link in tags.links)


def test_the_picture_says_in_words_what_it_shows(course):
    svg = course_figure(course)
    label = re.search(r'aria-label="([^"]*)"', svg)[1]
    assert "gain, 0.01 Hz: 2026-01-05 0.50 (0.49–0.51)" in label
    assert "1 2026-02-09 dose" in label
    for word in ("time constant, exciting L (s)", "lead, 0.01 Hz (deg)"):
        assert word in svg


def test_panels_show_every_gain_and_the_lead_at_the_lowest_frequency_alone(course):
    titles = [panel.title for panel in panels(course)]
    assert sum(title.startswith("gain") for title in titles) == 4
    assert [title for title in titles if title.startswith("lead")] == ["lead, 0.01 Hz (deg)"]


def test_an_illustration_is_marked_as_one_in_picture_and_page(bare):
    assert "dotted: illustration" in course_figure(bare)
    page = render_course(bare)
    assert "0.22, illustration" in page
    assert "Cannot tell whether anything changed" in page


def test_the_terminal_says_it_within_eighty_columns(course, bare):
    for one in (course, bare):
        text = as_text(course_view(one))
        assert max(map(len, text.splitlines())) <= 80
    text = as_text(course_view(course))
    assert "2026-03-30 against 2026-01-05: real change" in text
    assert re.search(r"gain, 0\.01 Hz +0\.50 \(0\.49–0\.51\)", text)
    assert "● Gain falls at two neighbouring frequencies" in text
    assert "does not mean that nothing" in " ".join(text.split())


@pytest.mark.parametrize("name", ["course", "bare"])
def test_the_terminal_text_is_the_golden_one(name, request):
    """Set SLOWPHASE_APPROVE=1 to write the texts anew, then read what changed."""
    text, file = as_text(course_view(request.getfixturevalue(name))), GOLDEN / f"course-{name}.txt"
    if os.environ.get("SLOWPHASE_APPROVE"):
        file.write_text(text, encoding="utf-8")
    assert text == file.read_text(encoding="utf-8")
