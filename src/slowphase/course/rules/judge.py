"""Whether a declared rule holds between two sessions: yes, no, or it cannot be told.

Answers are three-valued (Kleene): what is not known stays unknown unless the rest decides. A change
counts only where both values are graded sound and its retest variability may decide. ``lowest``,
``all`` and ``any`` are of the sound ones; two neighbours must both be sound, nothing between them.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from slowphase.course.rules.declared import Clause, CourseRule, course_rules
from slowphase.course.wording import change_words
from slowphase.reading.statement import Verdict

if TYPE_CHECKING:
    from slowphase.course.change import Change
    from slowphase.course.comparison import Comparison

Answer = bool | None
VERDICTS: dict[Answer, Verdict] = {True: "holds", False: "does_not_hold", None: "cannot_tell"}


@dataclass(frozen=True, slots=True)
class RuleVerdict:
    """How one rule came out, with its sentence; ``evidence`` are ids of the later measures."""

    rule: CourseRule
    verdict: Verdict
    text: str
    evidence: tuple[str, ...] = ()


def judge_rules(
    comparison: Comparison, earlier: Comparison | None = None
) -> tuple[RuleVerdict, ...]:
    """Every rule on one comparison.

    ``earlier`` is the session before the last against the same first one, for the rules that must
    hold twice; None where there is none.
    """
    return tuple(_judge(rule, comparison, earlier) for rule in course_rules())


def _judge(rule: CourseRule, comparison: Comparison, earlier: Comparison | None) -> RuleVerdict:
    if rule.confirms is not None:
        answer = _confirmed(rule.confirms, comparison, earlier)
        return RuleVerdict(rule, VERDICTS[answer], rule.texts[VERDICTS[answer]])
    answer = answer_of(rule, comparison)
    changes = [c for clause in rule.clauses for c in _resting_on(clause, comparison.changes)]
    lacking = [_lacking(c) for c in rule.clauses if not candidates(c, comparison.changes)]
    words = "; ".join(dict.fromkeys([*map(change_words, changes), *lacking]))
    text = rule.texts[VERDICTS[answer]].format(evidence=words)
    ids = tuple(dict.fromkeys(c.after.id for c in changes))
    return RuleVerdict(rule, VERDICTS[answer], text, ids)


def _resting_on(clause: Clause, changes: Sequence[Change]) -> list[Change]:
    """The changes that a clause's answer rests on; its lowest sound one alone, where that is it."""
    found = candidates(clause, changes)
    if clause.need != "lowest":
        return found
    return [one for one in found if "not_sound" not in one.why][:1] or found[:1]


def _lacking(clause: Clause) -> str:
    band = (
        f" between {clause.between_hz[0]:g} and {clause.between_hz[1]:g} Hz"
        if clause.between_hz
        else ""
    )
    return f"no {clause.name.replace('_', ' ')} ({clause.kind}){band} was compared"


def _confirmed(code: str, comparison: Comparison, earlier: Comparison | None) -> Answer:
    rule = next(r for r in course_rules() if r.code == code)
    if earlier is None:
        return None
    return every([answer_of(rule, earlier), answer_of(rule, comparison)])


def answer_of(rule: CourseRule, comparison: Comparison) -> Answer:
    """The answer of a rule's clauses; unknown where the sessions cannot be compared at all."""
    if {"settings_differ", "patients_differ"} & set(comparison.why):
        return None
    answers = [answer_clause(clause, comparison.changes) for clause in rule.clauses]
    return every(answers) if rule.combine == "all" else some(answers)


def answer_clause(clause: Clause, changes: Sequence[Change]) -> Answer:
    """The answer of one clause; unknown where nothing was compared that it is about."""
    found = candidates(clause, changes)
    if clause.need == "two_neighbours":
        answers = [_went(clause, one) for one in found]
        return some([every(pair) for pair in itertools.pairwise(answers)])
    sound = [_went(clause, one) for one in found if "not_sound" not in one.why]
    if clause.need == "lowest":
        return every(sound[:1])
    return every(sound) if clause.need == "all" else some(sound)


def candidates(clause: Clause, changes: Iterable[Change]) -> list[Change]:
    """The changes that a clause is about, by frequency."""
    low, high = clause.between_hz or (0.0, float("inf"))
    found = [
        one
        for one in changes
        if (one.key.kind, one.key.name, one.key.vision) == (clause.kind, clause.name, clause.vision)
        and clause.of in (None, one.key.of)
        and low <= (one.key.number("frequency_hz") or 0.0) <= high
    ]
    return sorted(found, key=lambda one: one.key.number("frequency_hz") or 0.0)


def _went(clause: Clause, one: Change) -> Answer:
    if "not_sound" in one.why:
        return None
    if clause.goes == "is_left":
        return None if one.after.low is None else one.after.low > 0.0
    if one.direction == "cannot_tell":
        return None
    if one.direction == "within":
        return False
    first, last = float(one.before.value or 0.0), float(one.after.value or 0.0)
    back = (one.direction == "falls") == (first > 0.0)
    toward = back and abs(last) < abs(first)
    ways = {"toward_zero": toward, "away_from_zero": not toward}
    return ways.get(clause.goes, one.direction == clause.goes)


def every(answers: Sequence[Answer]) -> Answer:
    """And of three-valued answers; unknown where there are none."""
    if False in answers:
        return False
    return None if None in answers or not answers else True


def some(answers: Sequence[Answer]) -> Answer:
    """Or of three-valued answers; unknown where there are none."""
    if True in answers:
        return True
    return None if None in answers or not answers else False
