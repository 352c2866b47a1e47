"""How the trials of one session refer to one another: ``repeat_of`` and ``sits_up_from``."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

from slowphase.foundation.problem import Problem
from slowphase.recording.plan import TrialPlan
from slowphase.recording.report_problem import make_problem, quote
from slowphase.recording.toml_lines import TomlLines
from slowphase.recording.trial import Trial


def check_references(
    plan: TrialPlan, plans: Sequence[TrialPlan], lines: TomlLines
) -> tuple[TrialPlan, tuple[Problem, ...]]:
    """The plan without a wrong ``repeat_of``, and what is wrong with its references."""
    kinds = {other.trial.id: other.trial.kind for other in plans if other is not plan}
    plan, repeat = _check_repeat(plan, kinds, lines)
    return plan, (*repeat, *_check_rising(plan, kinds, lines))


def _check_repeat(
    plan: TrialPlan, kinds: Mapping[str, str], lines: TomlLines
) -> tuple[TrialPlan, tuple[Problem, ...]]:
    target = plan.trial.repeat_of
    if target is None or kinds.get(target) == plan.trial.kind:
        return plan, ()
    problem = make_problem(
        "wrong_repeat",
        f"{quote(target)} is {_what_it_is(target, plan.trial, kinds)}",
        expected=f'the id of another trial of kind "{plan.trial.kind}"',
        remedy="correct repeat_of; the trial is read on its own",
        found=target,
        trial=plan.trial.id,
        line=lines.of("trial", "repeat_of", index=plan.index),
        key="repeat_of",
    )
    return replace(plan, trial=replace(plan.trial, repeat_of=None)), (problem,)


def _check_rising(
    plan: TrialPlan, kinds: Mapping[str, str], lines: TomlLines
) -> tuple[Problem, ...]:
    """The position that a patient sat up from; a wrong one stays, or the trial would be lying."""
    target = plan.trial.stimulus.get("sits_up_from")
    if plan.trial.kind != "positional" or target is None or kinds.get(str(target)) == "positional":
        return ()
    problem = make_problem(
        "wrong_position",
        f"{quote(target)} is {_what_it_is(str(target), plan.trial, kinds)}",
        expected='the id of another trial of kind "positional"',
        remedy="correct sits_up_from; a reversal on rising is not judged",
        found=target,
        trial=plan.trial.id,
        line=lines.of("trial", "sits_up_from", index=plan.index),
        key="sits_up_from",
    )
    return (problem,)


def _what_it_is(target: str, trial: Trial, kinds: Mapping[str, str]) -> str:
    if target == trial.id:
        return "this trial itself"
    return f'of kind "{kinds[target]}"' if target in kinds else "no trial of this session"
