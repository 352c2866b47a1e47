"""The pages of the reading that are made from its data files: patterns, signs, criteria."""

from pathlib import Path

from slowphase.reading.criteria import criteria_table
from slowphase.reading.limits import limits
from slowphase.reading.pattern_table import pattern_table, rows
from slowphase.reading.signs.table import sign_words
from slowphase.reference.sets import marks

DOCS = Path(__file__).parent


def patterns_page() -> str:
    """Signs, what each pattern expects of them, and the consensus criteria."""
    table, weighing = pattern_table(), pattern_table()["weighing"]
    words = ", ".join(f"{word} {chance:.0%}" for word, chance in table["expectation"].items())
    template = (DOCS / "patterns.template").read_text(encoding="utf-8")
    head = template.format(
        words=words,
        share=weighing["share_of_evidence"],
        told=f"{weighing['told_from']:.0%}",
        moderate=f"{weighing['moderate_from']:.0%}",
        firm=f"{weighing['firm_from']:.0%}",
        apart=weighing["variants_apart"],
    )
    return "\n".join([head, *_patterns(), *_signs(), *_matrix(), *_criteria()]) + "\n"


def _patterns() -> list[str]:
    lines = ["## The patterns", ""]
    entries = [*pattern_table()["pattern"], pattern_table()["not_interpretable"]]
    for entry in entries:
        title = entry["title"].format(side="right or left", other="other")
        lines += [f"### `{entry['code'].replace('{side}', 'right')}`: {title}", ""]
        if "text" in entry:
            lines += [entry["text"].format(side="right or left", other="other"), ""]
        for because, text in entry.get("because", {}).items():
            lines += [f"- `{because}`: {text}"]
        stages = [v["title"] for v in entry.get("variants", ()) if v["title"]]
        if stages:
            lines += [f"Variants: {'; '.join(stages)}.", ""]
        lines += [f"Told apart by: {entry['told_apart']}", ""]
        lines += [f"- {line}" for line in entry["does_not_show"]]
        lines.append("")
    return lines


def _signs() -> list[str]:
    lines = ["## The signs", "", "| sign | test | question |", "|---|---|---|"]
    values = {code: limit.cited for code, limit in limits().items()}
    for code, entry in sign_words().items():
        question = entry["question"].format(**values)
        lines.append(f"| `{code}`: {entry['title']} | {entry['test']} | {question} |")
    return [*lines, ""]


def _matrix() -> list[str]:
    lines = [
        "## What each pattern expects",
        "",
        "Where it differs from the healthy; the left side of a sided pattern is its mirror image.",
        "",
        "| pattern | expects |",
        "|---|---|",
        f"| healthy | {_expected(pattern_table()['healthy'])} |",
    ]
    healthy = pattern_table()["healthy"]
    for row in rows():
        if row.side != "left":
            own = {code: w for code, w in row.expects.items() if w != healthy[code]}
            lines.append(f"| {row.title} | {_expected(own) or 'as the healthy'} |")
    return [*lines, ""]


def _expected(expects: dict[str, str]) -> str:
    by_word = {word: [c for c, w in expects.items() if w == word] for word in
               pattern_table()["expectation"]}  # fmt: skip
    return "; ".join(
        f"{word}: {', '.join(f'`{c}`' for c in codes)}" for word, codes in by_word.items() if codes
    )


def _criteria() -> list[str]:
    lines = [(DOCS / "criteria.template").read_text(encoding="utf-8")]
    table = criteria_table()
    for code, entry in table.items():
        if code == "item":
            continue
        known = marks()[entry["mark"]].text
        lines += [f"### `{code}`: {entry['title']}", "", f"{entry['source']} ({known}).", ""]
        lines += [f"- {table['item'][item]['title']}" for item in entry["items"]]
        lines += ["", f"Not measured: {entry['history']}.", "", entry["trap"], ""]
        if "contradicted" in entry:
            lines += [
                f"Contradicted where a sign surely speaks against it: {entry['contradicted']}",
                "",
            ]
    return lines
