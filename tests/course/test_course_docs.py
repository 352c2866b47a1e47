"""The page of follow-up is what the sources make, and leaves nothing out."""

import re
import tomllib
from pathlib import Path

from docs.course_docs import course_page
from slowphase.course.comparison import comparison_why
from slowphase.course.document import course_schema
from slowphase.course.events import KINDS
from slowphase.course.followed import followed
from slowphase.course.rules.declared import course_rules
from slowphase.course.wording import course_words

ROOT = Path(__file__).parents[2]
COURSE = ROOT / "src" / "slowphase" / "course"


def page():
    return (ROOT / "docs" / "course.md").read_text(encoding="utf-8")


def test_the_page_of_follow_up_is_what_the_sources_make():
    assert page() == course_page()


def test_every_rule_sentence_condition_and_source_stands_on_the_page():
    for rule in course_rules():
        for text in (
            rule.code,
            rule.condition,
            rule.does_not_show,
            rule.source,
            *rule.texts.values(),
        ):
            assert text in page()


def test_every_key_of_the_document_has_its_place_on_the_page():
    schema = course_schema()
    names = [*schema["properties"], *schema["$defs"]["comparison"]["properties"]]
    names += [*schema["$defs"]["change"]["properties"], *schema["$defs"]["retest"]["properties"]]
    for name in (*names, *schema["$defs"]["rule"]["properties"], *KINDS):
        assert re.search(rf"\b{name}\b", page()), name


def test_every_problem_of_a_course_stands_on_the_page():
    sources = "\n".join(path.read_text("utf-8") for path in COURSE.rglob("*.py"))
    codes = set(re.findall(r'make_problem\(\s*"([a-z_]+)"', sources))
    assert len(codes) >= 7
    assert [code for code in sorted(codes) if f"`{code}`" not in page()] == []


def test_every_reason_of_a_course_is_used_and_has_its_words():
    sources = "\n".join(path.read_text("utf-8") for path in COURSE.rglob("*.py"))
    for group in ("why", "unmatched", "cannot_tell"):
        for code in course_words()[group]:
            assert f'"{code}"' in sources, code
    assert comparison_why.__doc__


def test_every_measure_that_people_read_is_followed_or_about_the_recording_or_left_out_on_purpose():
    labels = tomllib.loads((ROOT / "src/slowphase/report/labels.toml").read_text("utf-8"))[
        "measure"
    ]
    names = {
        name.split("/")[0] for name, entry in labels.items() if entry.get("about") != "recording"
    }
    known = {entry.name for entry in followed()}
    assert sorted(names - known - LEFT_OUT) == []


LEFT_OUT = {  # says the same as one that is followed, or is no measure of one session's function
    "beats_per_min", "offset", "peak_speed", "suppression_whole", "time_constant_raw", "duration",
    "cumulative_eye_position", "decay_right", "decay_left", "time_constant_right",
    "time_constant_left", "adaptation", "latency", "nystagmus", "nystagmus_change",
    "peak_without_nystagmus", "spontaneous", "peak_time", "total_all", "unilateral_weakness_warm",
    "unilateral_weakness_cool", "directional_preponderance_nystagmus",
    "directional_preponderance_rest", "rebound", "velocity_at_centre", "gaze_dependence",
    "gaze_chance", "reversal", "positions_beating", "latency_p1", "latency_n1", "threshold",
    "pure_tone_average_difference", "low_tone_average_difference", "score_share", "gain_spread",
    "speed_slope", "gain_difference", "early_saccades", "early_latency", "early_amplitude",
    "early_scatter", "late_saccades", "late_latency", "late_amplitude", "late_scatter",
    "catch_up_saccades", "accuracy", "peak_velocity", "velocity_ratio", "anticipations", "missed",
    "square_wave_jerks", "square_wave_size",
}  # fmt: skip
