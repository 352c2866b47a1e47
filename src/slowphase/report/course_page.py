"""A course as one self-contained page: picture, sentences, tables; no script, no other file."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from slowphase.course.followed import label
from slowphase.course.wording import cautions, verdict_words, warning_words, word
from slowphase.reading.cautions import standing_cautions
from slowphase.reading.words import unit_words
from slowphase.reference.sets import marks
from slowphase.report.course_figure import course_figure, event_number
from slowphase.report.course_rows import (
    chance_text,
    change_text,
    doubts,
    limit_text,
    result_text,
    retest_rows,
    session_rows,
    session_warnings,
    split_changes,
    unmatched_groups,
    unused_rows,
    value_words,
)
from slowphase.report.drawing import inline
from slowphase.report.labels import condition_text
from slowphase.report.page_style import style_sheet

if TYPE_CHECKING:
    from slowphase.course.change import Change
    from slowphase.course.rules.judge import RuleVerdict
    from slowphase.course.timeline import Course, Judged

Context = dict[str, Any]


def render_course(course: Course) -> str:
    """The page as HTML; the same course gives the same bytes."""
    from jinja2 import Environment, PackageLoader, StrictUndefined
    from markupsafe import Markup

    environment = Environment(
        loader=PackageLoader("slowphase.report"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    return environment.get_template("course.html").render(
        css=Markup(style_sheet()),
        code=course.code,
        days=[day.isoformat() for day in course.days],
        sessions=[_session(course, index) for index in range(len(course.analyses))],
        standing=standing_cautions(),
        cautions=cautions(),
        warnings=session_warnings(course),
        problems=course.problems,
        figure=inline(course_figure(course)),
        events=[(event_number(i), e.date.isoformat(), e.label, e.kind)
                for i, e in enumerate(course.events)],
        comparisons=[_comparison(judged, course) for judged in course.comparisons],
        rough=word("why", "spread_grows"),
        retest=course.retest,
        retest_rows=retest_rows(course.retest),
        unused=unused_rows(course),
        unused_title=word("not_judged", "retest_unused"),
    )  # fmt: skip


def _session(course: Course, index: int) -> Context:
    analysis = course.analyses[index]
    told = [" ".join(condition_text(key, value)) for key, value in analysis.conditions.items()]
    return {
        "day": course.days[index].isoformat(),
        "pattern": session_rows(course)[index][1],
        "warnings": warning_words(course.states[index]),
        "conditions": "; ".join(told),
        "problems": len(analysis.problems),
        "provenance": analysis.provenance,
    }


def _comparison(judged: Judged, course: Course) -> Context:
    one = judged.comparison
    tested, others = split_changes(one)
    return {
        "anchor": f"c-{one.before + 1}-{one.after + 1}",
        "before": course.days[one.before].isoformat(),
        "after": course.days[one.after].isoformat(),
        "verdict": one.overall.verdict,
        "verdict_words": verdict_words(one.overall, one.changes),
        "css": {"real_change": "holds", "no_real_change": "does_not_hold"}.get(
            one.overall.verdict, "cannot_tell"
        ),
        "texts": judged.texts,
        "why": [word("why", code) for code in one.why],
        "differing": one.differing,
        "tested": [_row(change) for change in tested],
        "others": [_row(change) for change in others],
        "unmatched": unmatched_groups(one),
        "rules": _rules(judged.rules),
    }


def _row(one: Change) -> Context:
    unit = unit_words(one.key.unit)
    return {
        "label": label(one.key) + (f" ({unit})" if unit else ""),
        "before": value_words(one, after=False),
        "after": value_words(one, after=True),
        "change": change_text(one),
        "limit": limit_text(one),
        "p": chance_text(one.p_adjusted),
        "result": result_text(one),
        "real": one.direction in ("rises", "falls"),
        "why": doubts(one),
    }


def _rules(verdicts: tuple[RuleVerdict, ...]) -> list[tuple[str, list[Context]]]:
    groups: dict[str, list[Context]] = {}
    for one in verdicts:
        groups.setdefault(one.rule.set_title, []).append(
            {
                "title": one.rule.title,
                "code": one.rule.code,
                "verdict": one.verdict,
                "verdict_words": word("rule_verdict", one.verdict),
                "text": one.text,
                "condition": one.rule.condition,
                "source": one.rule.source,
                "mark": marks()[one.rule.mark].text,
                "does_not_show": one.rule.does_not_show,
            }
        )
    return list(groups.items())
