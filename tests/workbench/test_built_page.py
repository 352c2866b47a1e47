"""The built page that is committed: whole, without anything that the page's policy forbids."""

import re

import pytest

from slowphase.workbench.app import built_page
from slowphase.workbench.door import POLICY

FILES = {"index.html", "app.js", "app.css", "icon.svg", "third-party.txt"}


@pytest.fixture(scope="module")
def page():
    return {path.name: path.read_text(encoding="utf-8") for path in built_page().iterdir()}


def test_the_page_is_built_and_holds_nothing_else(page):
    assert set(page) == FILES


def test_the_page_holds_no_inline_script_or_style(page):
    assert "script-src 'self'" in POLICY
    html = page["index.html"]
    assert re.findall(r"<script[^>]*>", html)
    assert all("src=" in tag for tag in re.findall(r"<script[^>]*>", html))
    assert not re.search(r"<style|\sstyle=|\son\w+=|javascript:", html)


def test_every_file_that_the_page_names_is_there(page):
    named = re.findall(r'(?:src|href)="/([^"]+)"', page["index.html"])
    assert set(named) == {"app.js", "app.css", "icon.svg"}


@pytest.mark.parametrize("name", ["app.js", "app.css"])
def test_nothing_is_asked_for_elsewhere_and_no_source_map_is_named(page, name):
    addresses = set(re.findall(r"https?://[\w.-]+", page[name]))
    assert addresses <= {"http://www.w3.org"}
    assert "sourceMappingURL" not in page[name]


def test_the_licences_of_what_is_bundled_go_with_it(page):
    for name in ("preact", "uplot"):
        assert re.search(rf"^{name} \d", page["third-party.txt"], flags=re.MULTILINE)
    assert page["third-party.txt"].count("Permission is hereby granted") == 2
