"""The page of follow-up: its text, with tables of measures, of rules and of the benchmark."""

import json
from pathlib import Path
from string import Template

from slowphase.course.followed import followed
from slowphase.course.retest_build import LEAST_PAIRS
from slowphase.course.rules.declared import course_rules

TEXT = Path(__file__).parent / "course.template"
RESULTS = Path(__file__).parents[1] / "benchmarks" / "results" / "reliable_change.json"


def course_page() -> str:
    """The page as Markdown."""
    rows = json.loads(RESULTS.read_text("utf-8"))["rows"] if RESULTS.exists() else []
    parts = {"followed": _followed(), "rules": _rules(), "bench": _bench(rows)}
    text = {name: "\n".join(lines) for name, lines in parts.items()}
    return Template(TEXT.read_text("utf-8")).substitute(text, least=str(LEAST_PAIRS))


def _followed() -> list[str]:
    lines = ["| measure | kind | name | role |", "|---|---|---|---|"]
    return lines + [f"| {e.short} | {e.kind} | `{e.name}` | {e.role} |" for e in followed()]


def _rules() -> list[str]:
    lines = []
    for rule in course_rules():
        lines += [
            f"### `{rule.code}`: {rule.title}",
            "",
            f"{rule.set_title}. Holds when {rule.condition}.",
            "",
        ]
        lines += [f"- holds: “{rule.texts['holds']}”"]
        lines += [f"- does not hold: “{rule.texts['does_not_hold']}”"]
        lines += [f"- cannot tell: “{rule.texts['cannot_tell']}”"]
        lines += [f"- {rule.does_not_show}", f"- Source ({rule.mark}): {rule.source}.", ""]
    return lines[:-1]


def _bench(rows: list[dict]) -> list[str]:
    if not rows:
        return ["", "**Not run yet.**"]
    measures = [row for row in rows if row["study"] == "measures"]
    full = [row for row in rows if row["study"] == "full pairs"]
    keys = ("patients", "retest_pairs", "method", "n", "alarm_pct", "per_measure_pct", "found_pct",
            "ototoxic_change", "ototoxic_one_sign", "nystagmus_grows")  # fmt: skip
    lines = [
        "At the level of measures (21 of them, correlated), in % of patients; `alarm_pct`: any"
    ]
    lines += [
        "alarm in unchanged patients (aim 4–6); `per_measure_pct`: measures beyond their limit;"
    ]
    lines += ["`found_pct`: planted changes found; the last three: rules that held.", ""]
    lines += _table(measures, keys)
    lines += [
        "",
        "The same simulated people, recorded on two days and analysed: how often the 95 %",
    ]
    lines += [
        "interval of a change held the true one; alarms by the retests of all other pairs.",
        "",
    ]
    return lines + _table(full, ("patients", "n", "coverage_pct", "alarm_pct", "per_measure_pct"))


def _table(rows: list[dict], keys: tuple[str, ...]) -> list[str]:
    lines = ["| " + " | ".join(keys) + " |", "|" + "---|" * len(keys)]
    return lines + ["| " + " | ".join(str(row.get(k, "")) for k in keys) + " |" for row in rows]
