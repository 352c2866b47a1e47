"""The page of statements: every rule with its condition, texts, limits, sources and version."""

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from slowphase.reading.cautions import standing_cautions
from slowphase.reading.conditions import condition_table
from slowphase.reading.limits import limits
from slowphase.reading.record import Record, records
from slowphase.reading.rules import RULES
from slowphase.reference.sets import marks

DOCS = Path(__file__).parent
SHOWN = {"holds": "holds", "does_not_hold": "does not hold", "cannot_tell": "cannot tell"}


def statements_page() -> str:
    """How statements are made, every rule in the order in which it is read, and the conditions."""
    head = (DOCS / "statements.template").read_text(encoding="utf-8")
    rules = [line for rule in RULES for line in _rule(records()[rule.code])]
    return "\n".join([head, "## The rules", "", *rules, *_conditions(), *_always()]) + "\n"


def _rule(record: Record) -> Iterator[str]:
    yield from (f"### `{record.code}`: {record.title}", "", record.condition, "")
    yield from ("| outcome | verdict | when | text |", "|---|---|---|---|")
    for outcome, text in record.text.items():
        verdict = SHOWN[record.verdict(outcome)]
        yield f"| `{outcome}` | {verdict} | {record.when[outcome]} | {text} |"
    yield ""
    for verdict, reason in record.never.items():
        yield f"- Never \u201c{SHOWN[verdict]}\u201d: {reason}"
    yield from (f"- Limit `{line}" for line in _limits(record))
    yield f"- Sources: {'; '.join(record.sources)}."
    yield f"- Does not show: {' '.join(record.does_not_show)}"
    yield from (f"- About: {', '.join(record.about)}. Version {record.version}.", "")


def _limits(record: Record) -> Iterator[str]:
    for limit in (limits()[code] for code in record.limits):
        told = marks()[limit.mark].text
        known = "" if told in limit.source else f" ({told})"
        yield f"{limit.code}`, {limit.text}: {limit.label}. {limit.source}{known}; `{limit.mark}`."


def _conditions() -> list[str]:
    table = condition_table()
    lines = [
        "## Conditions of the test",
        "",
        "What is written in `[conditions]` (and `medication` in `[session]`) is searched for",
        "these words, and quoted in the caution. A medicine is not counted where the same part of",
        "the text denies it before. Other medicines are said to be unknown. The list is short and",
        "no substitute for a pharmacist.",
        "",
        "| condition | found by | what it does | touches | source | mark |",
        "|---|---|---|---|---|---|",
    ]
    for code, entry in table["medicine"].items():
        lines.append(_row(f"medication: {code}", ", ".join(entry["words"]), entry))
    lines.append(_row("eyes", ", ".join(table["eyes"]["closed"]["words"]), table["eyes"]["closed"]))
    dark = ", ".join(table["light"]["dark"])
    lines.append(_row("light", f"anything that does not say darkness ({dark})", table["light"]))
    pitch = table["head_pitch"]
    far = (
        f"more than {pitch['tolerance_deg']:g} deg from {pitch['expected_deg']:g} deg, either sign"
    )
    lines.append(_row("head_pitch_deg", far, pitch))
    return [*lines, ""]


def _row(name: str, found: str, entry: Mapping[str, Any]) -> str:
    touched = ", ".join(entry["touches"])
    known = f"{entry['source']} | {entry['mark']}"
    return f"| {name} | {found} | {entry['effect']} | {touched} | {known} |"


def _always() -> list[str]:
    return ["## Cautions that are always shown", "", *(f"- {line}" for line in standing_cautions())]
