"""All sessions of one patient as a course: in order of date, matched, compared, judged."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from slowphase.course.comparison import Comparison, compare
from slowphase.course.not_judged import beyond_intervals, nearest, unused
from slowphase.course.retest import Retest, RetestSet, with_illustration
from slowphase.course.rules.judge import RuleVerdict, judge_rules
from slowphase.course.series import Series, series_of
from slowphase.course.session_state import SessionState, state_of
from slowphase.course.wording import beyond_words, overall_words
from slowphase.foundation.errors import InputError, UsageError
from slowphase.foundation.problem import Problem
from slowphase.recording.report_problem import make_problem

if TYPE_CHECKING:
    from slowphase.analysis.result import Analysis
    from slowphase.course.change import Change
    from slowphase.course.events import Event


@dataclass(frozen=True, slots=True)
class Judged:
    """One comparison with its sentence and how the rules came out.

    ``beyond`` are changes without retests beyond the recordings' own intervals, and ``beyond_text``
    says so (empty without any).
    """

    comparison: Comparison
    text: str
    rules: tuple[RuleVerdict, ...]
    beyond: tuple[Change, ...] = ()
    beyond_text: str = ""

    @property
    def texts(self) -> tuple[str, ...]:
        """Both sentences; where nothing could be judged, what changed goes first."""
        told = (self.text, self.beyond_text)
        first = self.comparison.overall.verdict == "cannot_tell"
        return tuple(text for text in (told[::-1] if first else told) if text)


@dataclass(frozen=True, slots=True)
class Course:
    """The sessions of one patient by date.

    ``analyses`` are the sessions, ``series`` every followed measure through all of them,
    ``comparisons`` those that were asked for, ``problems`` what is wrong with the sessions as a
    course (their own problems stay with them).
    """

    analyses: tuple[Analysis, ...]
    series: tuple[Series, ...]
    comparisons: tuple[Judged, ...]
    retest: RetestSet
    events: tuple[Event, ...] = ()
    problems: tuple[Problem, ...] = ()

    @property
    def states(self) -> tuple[SessionState, ...]:
        """Pattern and warnings of each session."""
        return tuple(state_of(analysis) for analysis in self.analyses)

    @property
    def unused_retests(self) -> tuple[tuple[Retest, tuple[tuple[str, str, str], ...]], ...]:
        """The clinic's retests that match no measure, each with what differs from the nearest."""
        found = unused(self.retest.entries, self.series)
        return tuple((entry, nearest(entry, self.series)) for entry in found)

    @property
    def days(self) -> tuple[date, ...]:
        """The day of each session."""
        return tuple(day_of(analysis) for analysis in self.analyses)

    @property
    def code(self) -> str:
        """The patient's code; several, joined, where different patients were allowed."""
        return ", ".join(dict.fromkeys(a.patient.code for a in self.analyses))


def follow(
    analyses: Iterable[Analysis],
    *,
    retest: RetestSet | None = None,
    events: Iterable[Event] = (),
    between: tuple[int, int] | None = None,
    different_patients: bool = False,
) -> Course:
    """The course of one patient from the analyses of the sessions, in any order.

    ``retest`` is the clinic's own retest variability; without it nothing decides. Without
    ``between`` (two sessions by their number in order of date, from 1) the last session is held
    against the first and against the one before it. A session without a date, or given twice, is
    left out and named in ``problems``.

    Raises ``InputError`` when fewer than two sessions are left, or the sessions are of different
    patients and that was not allowed; ``UsageError`` for a number that no session has.
    """
    ordered, problems = in_order(analyses)
    problems = (*problems, *_patient_problems(ordered, allowed=different_patients))
    used = with_illustration(retest)
    series = series_of(ordered)
    pairs = [_asked(between, len(ordered))] if between else _usual_pairs(len(ordered))
    made = {pair: compare(ordered, series, *pair, used) for pair in pairs}
    return Course(
        analyses=ordered,
        series=series,
        comparisons=tuple(
            _judged(one, ordered, _earlier(pair, ordered, series, used))
            for pair, one in made.items()
        ),
        retest=used,
        events=tuple(sorted(events, key=lambda event: event.date)),
        problems=problems,
    )


def in_order(analyses: Iterable[Analysis]) -> tuple[tuple[Analysis, ...], tuple[Problem, ...]]:
    """The sessions by date, and what is wrong with their dates. Raises ``InputError``."""
    problems: list[Problem] = []
    kept: list[Analysis] = []
    for analysis in analyses:
        problem = _undated(analysis) or _twice(analysis, kept)
        if problem is None:
            kept.append(analysis)
        else:
            problems.append(problem)
    kept.sort(key=day_of)
    problems += [_one_day(day) for day in _shared_days(kept)]
    if len(kept) < 2:
        raise InputError([*problems, _too_few(len(kept))])
    return tuple(kept), tuple(problems)


def day_of(analysis: Analysis) -> date:
    """The day of a session that has one."""
    if analysis.date is None:
        raise ValueError("a session of a course has a date")
    return analysis.date


def _undated(analysis: Analysis) -> Problem | None:
    if analysis.date is not None:
        return None
    return make_problem(
        "session_without_date",
        f"a session of patient {analysis.patient.code} has no date",
        expected="date = 2026-03-02 in [session]",
        remedy="the session is left out; add the date to its session.toml",
    )


def _twice(analysis: Analysis, kept: Sequence[Analysis]) -> Problem | None:
    digest = analysis.provenance.input_digest
    if not digest or digest not in [one.provenance.input_digest for one in kept]:
        return None
    return make_problem(
        "session_twice",
        f"the session of {analysis.date} was given twice, byte for byte",
        expected="each session once",
        remedy="the second is left out",
        file=None,
    )


def _shared_days(kept: Sequence[Analysis]) -> list[date]:
    days = [day_of(one) for one in kept]
    return [day for day in dict.fromkeys(days) if days.count(day) > 1]


def _one_day(day: date) -> Problem:
    return make_problem(
        "sessions_on_one_date",
        f"several sessions are of {day.isoformat()}",
        expected="one session a day",
        remedy="they are kept in the order given; which was first is not known from the date",
        key="date",
    )


def _too_few(count: int) -> Problem:
    return make_problem(
        "too_few_sessions",
        f"{count} session{'' if count == 1 else 's'} that can be used",
        expected="two or more, each with its date",
        remedy="name the folders of at least two sessions of the patient",
        file=None,
    )


def _patient_problems(ordered: Sequence[Analysis], *, allowed: bool) -> tuple[Problem, ...]:
    codes = list(dict.fromkeys(one.patient.code for one in ordered))
    if codes == ["unknown"]:
        return (_patient_unknown(),)
    if len(codes) == 1:
        return ()
    problem = make_problem(
        "different_patients",
        f"the sessions are of {len(codes)} patients: {', '.join(codes)}",
        expected="one patient code in every session",
        remedy="correct the codes, or allow it with --different-patients"
        if not allowed
        else "allowed; nothing is called a change",
        found=", ".join(codes),
        key="code",
    )
    if not allowed:
        raise InputError([problem])
    return (problem,)


def _patient_unknown() -> Problem:
    return make_problem(
        "patient_unknown",
        "no session has a patient code",
        expected="the same code in every session",
        remedy="whether they are of one patient was not checked; add the code",
        key="code",
    )


def _usual_pairs(count: int) -> list[tuple[int, int]]:
    """Last against first, and against the one before where that is another one."""
    return list(dict.fromkeys([(0, count - 1), (count - 2, count - 1)]))


def _asked(between: tuple[int, int], count: int) -> tuple[int, int]:
    first, second = between
    if first == second or not all(1 <= one <= count for one in between):
        raise UsageError(
            f"--between {first} {second}: name two different sessions by their number in order of "
            f"date, 1 to {count}"
        )
    return first - 1, second - 1


def _earlier(
    pair: tuple[int, int], ordered: Sequence[Analysis], series: Sequence[Series], retest: RetestSet
) -> Comparison | None:
    """The session before the later one against the same earlier one, where there is one."""
    before, after = pair
    if after - before < 2:
        return None
    return compare(ordered, series, before, after - 1, retest)


def _judged(one: Comparison, ordered: Sequence[Analysis], earlier: Comparison | None) -> Judged:
    days = (day_of(ordered[one.before]).isoformat(), day_of(ordered[one.after]).isoformat())
    beyond = beyond_intervals(one)
    return Judged(
        comparison=one,
        text=overall_words(one.overall, one.changes, days),
        rules=judge_rules(one, earlier),
        beyond=beyond,
        beyond_text=beyond_words(beyond),
    )
