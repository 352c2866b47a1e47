"""The documentation says what the code does: its examples run, its generated pages are current."""

import re
from dataclasses import fields
from pathlib import Path

import pytest

from benchmarks.aims import AIMS
from docs.make import reasons_page, settings_page, validation_page
from docs.reading_pages import patterns_page
from docs.validation import NAMES, pooled, reached, results
from docs.validation_pictures import crossed, wilson_pct
from slowphase.cli.demo_sessions import write_demo_sessions
from slowphase.eye.settings import EyeSettings
from slowphase.fit.settings import FitSettings
from slowphase.measures.battery_settings import BatterySettings
from slowphase.measures.settings import MeasureSettings

ROOT = Path(__file__).parents[1]
LINK = re.compile(r"\]\((?!https?:|#|mailto:)([^)#]+)")
NUMBER = re.compile(r"^[A-Z][A-Z_0-9, ]* = (?=np\.|math\.|[-\d(\[])[^#\n]*\d.*$", re.MULTILINE)


def test_the_page_of_reasons_is_what_the_table_makes():
    assert (ROOT / "docs" / "reasons.md").read_text(encoding="utf-8") == reasons_page()


def test_the_page_of_settings_is_what_the_sources_make():
    assert (ROOT / "docs" / "settings.md").read_text(encoding="utf-8") == settings_page()


def test_the_page_of_patterns_is_what_the_tables_make():
    assert (ROOT / "docs" / "patterns.md").read_text(encoding="utf-8") == patterns_page()


def test_no_setting_is_without_effect_in_the_sources():
    sources = {path: path.read_text(encoding="utf-8") for path in (ROOT / "src").rglob("*.py")}
    used = "\n".join(
        text for path, text in sources.items() if not path.name.endswith("settings.py")
    )
    tests = fields(BatterySettings)
    battery = [test.default_factory for test in tests]
    kinds = (EyeSettings, MeasureSettings, FitSettings, *battery)
    names = {field.name for kind in kinds for field in fields(kind)} - {"battery"}
    names |= {test.name for test in tests}
    assert [name for name in sorted(names) if not re.search(rf"\b\w+\.{name}\b", used)] == []


@pytest.mark.parametrize("layer", ["eye", "measures", "fit"])
def test_a_number_that_stands_beside_its_use_instead_of_in_the_settings_says_why(layer):
    files = sorted((ROOT / "src" / "slowphase" / layer).glob("*.py"))
    found = [line for file in files for line in NUMBER.findall(file.read_text(encoding="utf-8"))]
    assert found
    assert [line for line in found if "  # " not in line] == []


def test_the_page_of_validation_is_what_the_results_make():
    assert (ROOT / "docs" / "validation.md").read_text(encoding="utf-8") == validation_page()


def test_the_page_of_validation_says_what_was_not_run_and_shows_no_picture_of_it():
    page = validation_page({name: [] for name in NAMES})
    for name in NAMES:
        assert f"**Not run yet:** there are no results. `python3 dev.py bench {name}`" in page
    assert "![" not in page


def test_every_error_beyond_its_aim_stands_out_on_the_page_of_validation():
    found = results() | {"coverage": [], "detection": [], "limits": [], "speed": []}
    gain = {"recordings": "usual", "kind": "step", "measure": "gain", "unit": "%", "n": 40}
    good = {"median": 0.4, "p90": 1.7, "worst_sound": 5.5, "median_half_width": 1.0}
    shares = {"given_pct": 95.0, "sound_pct": 65.0, "coverage_pct": 94.0}
    every = {"recordings": "usual", "kind": "all", "measure": "all", "n": 40} | shares
    found["accuracy"] = [every, gain | good | shares]
    assert "| step | gain | 40 | % | 0.4 | 1.7 | 5.5 | 1 | 95 | 65 | 94 |" in validation_page(found)
    bad = {"median": 0.6, "p90": None, "worst_sound": 7.0, "given_pct": 80.0, "coverage_pct": 84.0}
    found["accuracy"] = [every, gain | good | shares | bad]
    row = (
        "| step | gain | 40 | % | **0.6** (0.5) | **missing** (2) | **7** (6) | 1 | **80** (92) "
        "| 65 | **84** (85) |"
    )
    assert row in validation_page(found)


def test_a_limit_of_use_is_the_last_level_before_the_error_first_passes_its_aim():
    aim = AIMS["sinusoid", "gain"].p90

    def levels(*errors):
        return [{"kind": "sinusoid", "measure": "gain", "p90": error} for error in errors]

    assert reached(levels(0.5 * aim, aim, 1.1 * aim, 0.2 * aim)) == 2
    assert reached(levels(0.5 * aim, None, 0.2 * aim)) == 1
    assert reached(levels(2 * aim, 0.1 * aim)) == 0
    assert reached(levels(0.1 * aim, 0.2 * aim)) == 2


def test_a_share_over_several_measures_is_weighed_by_their_numbers():
    rows = [{"n": 10, "sound_pct": 50.0}, {"n": 30, "sound_pct": 90.0}, {"n": 5, "sound_pct": None}]
    assert pooled(rows, "sound_pct") == pytest.approx(80.0)


def test_the_crossing_of_an_aim_lies_between_the_levels_beside_it():
    assert crossed([0, 1, 2], [0.25, 0.5, 2.0]) == pytest.approx(1.5)
    assert crossed([0, 1, 2], [0.1, 0.2, 0.9]) is None


def test_error_bars_of_coverage_agree_with_statsmodels():
    from statsmodels.stats.proportion import proportion_confint

    for covered, count in ((1900, 2000), (24, 24), (5, 6)):
        expected = proportion_confint(covered, count, alpha=0.05, method="wilson")
        bars = [bar / 100 for bar in wilson_pct(100 * covered / count, count)]
        assert bars == pytest.approx(expected, abs=1e-6)


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
