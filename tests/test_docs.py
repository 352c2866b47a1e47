"""The documentation says what the code does: its examples run, its generated pages are current."""

import re
from pathlib import Path

import pytest

from docs.make import reasons_page, settings_page
from slowphase.cli.demo_sessions import write_demo_sessions

ROOT = Path(__file__).parents[1]
LINK = re.compile(r"\]\((?!https?:|#|mailto:)([^)#]+)")


def test_the_page_of_reasons_is_what_the_table_makes():
    assert (ROOT / "docs" / "reasons.md").read_text(encoding="utf-8") == reasons_page()


def test_the_page_of_settings_is_what_the_sources_make():
    assert (ROOT / "docs" / "settings.md").read_text(encoding="utf-8") == settings_page()


def test_the_examples_of_the_python_interface_run(tmp_path, monkeypatch, capsys):
    write_demo_sessions(tmp_path / "demo")
    monkeypatch.chdir(tmp_path)
    text = (ROOT / "docs" / "api.md").read_text(encoding="utf-8")
    blocks = re.findall(r"```python\n(.*?)```", text, flags=re.DOTALL)
    assert len(blocks) >= 2
    for block in blocks:
        exec(block, {})
    assert "step-right/per/time_constant" in capsys.readouterr().out


@pytest.mark.parametrize(
    "page", sorted(ROOT.glob("*.md")) + sorted((ROOT / "docs").rglob("*.md")), ids=lambda p: p.name
)
def test_links_lead_somewhere(page):
    for target in LINK.findall(page.read_text(encoding="utf-8")):
        assert (page.parent / target).exists(), f"{page.name}: {target}"


def test_the_readme_opens_with_the_job_in_one_paragraph():
    title, first, *_ = (ROOT / "README.md").read_text(encoding="utf-8").split("\n\n")
    assert title == "# Slowphase"
    assert "raw traces" in first
    assert "reading" in first
