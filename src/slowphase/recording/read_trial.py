"""From the columns of a trace file to the recording of one trial."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from slowphase.foundation.arrays import FloatArray, IntArray
from slowphase.foundation.problem import Problem
from slowphase.recording.clock import Clock, sampling_rate
from slowphase.recording.columns import EYE_H_ROLES, EYE_ROLES, HEAD_ROLES, PASSED_ROLES
from slowphase.recording.contradictions import contradicts
from slowphase.recording.eye_scale import plausible_eyes
from slowphase.recording.eyes import is_alive
from slowphase.recording.head import rebuild_velocity, velocity_of_position
from slowphase.recording.lost import lost_as_zeros, without_sentinels
from slowphase.recording.plan import TrialPlan
from slowphase.recording.raw_columns import raw_units_of
from slowphase.recording.readers.layout import Fault, TextCell
from slowphase.recording.report_problem import make_problem
from slowphase.recording.stimulus_check import AGREES, StimulusVerdict, check_stimulus
from slowphase.recording.target_check import check_target
from slowphase.recording.trace_file import Matched, TraceFile, match_columns
from slowphase.recording.trial import HeadSource, Recording

MIN_SAMPLES = 10
MIN_EYE_SHARE = 0.05
MIN_HEAD_SHARE = 0.5
RATE_RANGE_HZ = (5.0, 20_000.0)
NO_TIME: FloatArray = np.zeros(0)
_NEEDS_HEAD = ("sinusoid", "step")
_NEEDS_HORIZONTAL = ("spontaneous", "sinusoid", "step", "caloric", "optokinetic", "head-shaking")


@dataclass(frozen=True, slots=True)
class _Part:
    """The rows of a trial and its clock."""

    rows: IntArray
    time_s: FloatArray
    sampling_hz: float
    repaired: bool
    origin_s: float


@dataclass(frozen=True, slots=True)
class _Head:
    velocity_deg_s: FloatArray | None = None
    source: HeadSource | None = None
    why: tuple[str, ...] = ()


ReadTrial = tuple[Recording | None, tuple[Problem, ...]]


def read_trial(plan: TrialPlan, trace: TraceFile) -> ReadTrial:
    """The recording of a trial, or None, and the problems met on the way."""
    matched = match_columns(plan.columns, trace.layout)
    problems = _role_problems(plan, matched)
    if _lacks_its_ground(plan, matched):
        return None, problems
    part = _find_part(plan, trace, matched)
    if isinstance(part, Fault):
        return None, (*problems, _problem(plan, part))
    problems += _cut_problem(plan, trace, part)
    texts = _texts_in(part, trace, tuple(matched.places.values()))
    if texts:
        return None, (*problems, _problem(plan, _text_fault(trace, texts)))
    recording, found = _record(plan, trace, matched, part)
    return recording, (*problems, *found)


def _lacks_its_ground(plan: TrialPlan, matched: Matched) -> bool:
    """Whether the time, the head of a rotation, or every eye is named but not to be had."""
    lost = plan.lost_roles | matched.faults.keys()
    if "time" in lost:
        return True
    if plan.trial.kind in _NEEDS_HEAD and lost & set(HEAD_ROLES):
        return not set(HEAD_ROLES) & matched.places.keys()
    return bool(lost & set(EYE_H_ROLES)) and not set(EYE_H_ROLES) & matched.places.keys()


def _find_part(plan: TrialPlan, trace: TraceFile, matched: Matched) -> _Part | Fault:
    clock = _clock(plan, trace, matched)
    if isinstance(clock, Fault):
        return clock
    start, stop = plan.trial.start_s, plan.trial.stop_s
    first = float(clock.time_s[0]) if clock.time_s.size else 0.0
    time_s = clock.time_s - (first if trace.table.clock_from_text else 0.0)
    low = 0 if start is None else int(np.searchsorted(time_s, start - 1e-9))
    high = time_s.size if stop is None else int(np.searchsorted(time_s, stop + 1e-9))
    if high - low < MIN_SAMPLES:
        return _too_few(plan, time_s, high - low)
    return _part(clock, time_s[low:high], slice(low, high), start)


def _part(clock: Clock, time_s: FloatArray, rows: slice, start: float | None) -> _Part | Fault:
    rate = sampling_rate(time_s)
    if not RATE_RANGE_HZ[0] <= rate <= RATE_RANGE_HZ[1]:
        return _odd_rate(rate)
    near = start is not None and time_s[0] - start < 1.0
    origin = start if start is not None and near else float(time_s[0])
    return _Part(clock.kept[rows], time_s - origin, rate, clock.repaired, origin)


def _clock(plan: TrialPlan, trace: TraceFile, matched: Matched) -> Clock | Fault:
    if "time" in matched.places:
        place = matched.places["time"]
        clock = trace.clock(plan.columns["time"], place)
        texts = [cell for cell in trace.table.text_cells if cell.column == place]
        if clock is None and texts:
            return _text_fault(trace, texts)
        too_few = trace.table.n_rows < MIN_SAMPLES
        return clock or (
            _too_few(plan, NO_TIME, trace.table.n_rows) if too_few else _time_unusable()
        )
    if plan.sampling_hz is not None:
        return trace.even_clock(plan.sampling_hz)
    if not plan.columns:
        return Fault(
            "no_clock",
            "there is no column map, so that no column is the time",
            expected="a [columns] table that names the columns of the trace files",
            remedy="let `slowphase columns FILE` propose one, and paste it into session.toml",
        )
    return Fault(
        "no_clock",
        "the column map has no time column",
        expected="a time column in [columns], or sampling_hz at the top of session.toml",
        remedy="add one of them",
    )


def _record(plan: TrialPlan, trace: TraceFile, matched: Matched, part: _Part) -> ReadTrial:
    channels, implausible = plausible_eyes(plan, _channels(plan, trace, matched, part))
    eye_problem = _eye_problem(plan, channels, part)
    if eye_problem is not None:
        return None, implausible or (eye_problem,)
    head = _head(plan, channels, part)
    verdict = _verdict(plan, head, part)
    if verdict.contradiction is not None:
        return None, (*implausible, contradicts(plan.trial, "head", *verdict.contradiction))
    target = _target_contradiction(plan, channels, part)
    if target is not None:
        return None, (*implausible, target)
    unknown = head.velocity_deg_s is None and plan.trial.kind in _NEEDS_HEAD
    recording = Recording(
        time_s=part.time_s,
        sampling_hz=part.sampling_hz,
        channels={role: values for role, values in channels.items() if role not in HEAD_ROLES},
        head_velocity_deg_s=head.velocity_deg_s,
        head_source=head.source,
        why=(
            *(("time_repaired",) if part.repaired else ()),
            *head.why,
            *(("stimulus_differs",) if verdict.differs else ()),
        ),
        raw_units=raw_units_of(plan.columns, channels),
        origin_s=part.origin_s,
    )
    return recording, (*implausible, *((_head_unknown(plan),) if unknown else ()))


def _channels(
    plan: TrialPlan, trace: TraceFile, matched: Matched, part: _Part
) -> dict[str, FloatArray]:
    """Channels in degrees and deg/s by role; what passes through keeps its values."""
    raw = {
        role: without_sentinels(_at_rows(trace.table.columns[place], part.rows))
        for role, place in matched.places.items()
        if role != "time"
    }
    for side in ("right", "left"):
        raw = _without_zeros(raw, f"eye_h_{side}", f"eye_v_{side}")
    return {role: _scaled(plan, role, values) for role, values in raw.items()}


def _at_rows(values: FloatArray, rows: IntArray) -> FloatArray:
    """The rows of a part; a view where they follow one another, to save memory."""
    if rows[-1] - rows[0] == rows.size - 1:
        return values[rows[0] : rows[-1] + 1]
    return values[rows]


def _without_zeros(
    raw: dict[str, FloatArray], horizontal: str, vertical: str
) -> dict[str, FloatArray]:
    if horizontal not in raw or vertical not in raw:
        return raw
    lost = lost_as_zeros(raw[horizontal], raw[vertical])
    if not lost.any():
        return raw
    cleared = {role: np.where(lost, np.nan, raw[role]) for role in (horizontal, vertical)}
    return {**raw, **cleared}


def _scaled(plan: TrialPlan, role: str, values: FloatArray) -> FloatArray:
    column = plan.columns[role]
    passes = role in PASSED_ROLES and column.unit is None and column.scale == 1.0
    if (passes or column.slope == 1.0) and not column.offset:
        return values
    scaled: FloatArray = values * column.slope + column.intercept
    return scaled


def _eye_problem(plan: TrialPlan, channels: dict[str, FloatArray], part: _Part) -> Problem | None:
    kind = plan.trial.kind
    if kind in ("other", "values", "calibration"):
        return None
    roles = EYE_H_ROLES if kind in _NEEDS_HORIZONTAL else EYE_ROLES
    side = plan.trial.eye
    chosen = [role for role in roles if side == "both" or role.endswith(side)]
    shares = [_moving_share(channels[role]) for role in chosen if role in channels]
    enough = max(MIN_EYE_SHARE, 1.0 / max(float(part.time_s[-1] - part.time_s[0]), 1.0))
    if any(share >= enough for share in shares):
        return None
    return _no_usable_eye(plan, shares, enough)


def _moving_share(eye: FloatArray) -> float:
    """Share of the samples that are there; none of an eye that is at one value throughout."""
    return float(np.mean(np.isfinite(eye))) if is_alive(eye) else 0.0


def _no_usable_eye(plan: TrialPlan, shares: Sequence[float], enough: float) -> Problem:
    best = f"{100 * max(shares):.1f} % of the samples of the better eye" if shares else "no column"
    fault = Fault(
        "no_usable_eye",
        f"no usable eye: {best} can be used (an eye at one value throughout is none)",
        expected=f"a horizontal eye position in at least {100 * enough:.0f} % of the samples"
        if enough < 1.0
        else "a recording of more than 1 s, so that an eye is seen for 1 s",
        remedy="map an eye that was recorded (eye_h_right or eye_h_left)",
        found=best,
    )
    return _problem(plan, fault)


def _head(plan: TrialPlan, channels: dict[str, FloatArray], part: _Part) -> _Head:
    if _is_known(channels.get("head_velocity")):
        return _Head(channels["head_velocity"], "measured")
    if _is_known(channels.get("head_position")):
        velocity = _differentiated(part.time_s, channels["head_position"])
        if _is_known(velocity):
            return _Head(velocity, "position")
    rebuilt = rebuild_velocity(plan.trial.kind, plan.trial.stimulus, part.time_s)
    return _Head() if rebuilt is None else _Head(rebuilt, "rebuilt", ("head_rebuilt",))


def _differentiated(time_s: FloatArray, position_deg: FloatArray) -> FloatArray:
    """Velocity of a position that may be known in some rows only, NaN in the others."""
    known = np.isfinite(position_deg)
    velocity = np.full(time_s.size, np.nan)
    velocity[known] = velocity_of_position(time_s[known], position_deg[known])
    return velocity


def _is_known(head: FloatArray | None) -> bool:
    """Whether enough of a head channel is there to tell the motion between."""
    if head is None:
        return False
    return bool(np.isfinite(head).sum() >= max(MIN_HEAD_SHARE * head.size, 3))


def _verdict(plan: TrialPlan, head: _Head, part: _Part) -> StimulusVerdict:
    if head.velocity_deg_s is None or head.source == "rebuilt":
        return AGREES
    trial = plan.trial
    return check_stimulus(
        trial.kind,
        trial.stimulus,
        part.time_s,
        head.velocity_deg_s,
        of_position=head.source == "position",
    )


def _target_contradiction(
    plan: TrialPlan, channels: dict[str, FloatArray], part: _Part
) -> Problem | None:
    if plan.trial.kind != "pursuit":
        return None
    found = check_target(plan.trial.stimulus, part.time_s, channels)
    return None if found is None else contradicts(plan.trial, "target", *found)


def _head_unknown(plan: TrialPlan) -> Problem:
    return make_problem(
        "head_unknown",
        "there is no head channel, and the keys do not tell how the chair moved",
        expected="a head_velocity or head_position column, or acceleration_deg_s2 and constant_s",
        remedy="map the chair's column, or add these keys (and start_at_s) to the trial",
        trial=plan.trial.id,
        file=plan.trial.file,
    )


def _texts_in(part: _Part, trace: TraceFile, places: Sequence[int]) -> list[TextCell]:
    first, last = int(part.rows[0]), int(part.rows[-1])
    return [
        cell
        for cell in trace.table.text_cells
        if first <= cell.row <= last and cell.column in places
    ]


def _text_fault(trace: TraceFile, cells: Sequence[TextCell]) -> Fault:
    first = min(cells, key=lambda cell: (cell.row, cell.column))
    place = first.column
    name = trace.layout.names[place] if place < len(trace.layout.names) else str(place + 1)
    more = f" (and {len(cells) - 1} more texts)" if len(cells) > 1 else ""
    return Fault(
        "text_in_number_column",
        f'found "{first.text[:60]}" in column "{name}"{more}',
        expected="a number",
        remedy="correct the value, or leave the cell empty if the sample was lost",
        found=first.text[:60],
        line=first.line,
    )


def _cut_problem(plan: TrialPlan, trace: TraceFile, part: _Part) -> tuple[Problem, ...]:
    cut = trace.table.truncated
    reaches_end = int(part.rows[-1]) >= trace.table.n_rows - MIN_SAMPLES
    return (_problem(plan, cut),) if cut is not None and reaches_end else ()


def _too_few(plan: TrialPlan, time_s: FloatArray, n: int) -> Fault:
    start, stop = plan.trial.start_s, plan.trial.stop_s
    if (start is None and stop is None) or time_s.size < MIN_SAMPLES:
        return Fault(
            "too_few_samples",
            f"the trial has {max(n, 0)} sample{'' if n == 1 else 's'}",
            expected=f"at least {MIN_SAMPLES}",
            remedy="export the trial again",
            found=f"{max(n, 0)} samples",
        )
    asked = f"{'the start' if start is None else f'{start:g} s'} to " + (
        "the end" if stop is None else f"{stop:g} s"
    )
    return Fault(
        "part_outside_file",
        f"the part from {asked} holds {max(n, 0)} samples",
        expected=f"a part of {time_s[0]:g} to {time_s[-1]:g} s, the clock of the file",
        remedy="correct start_s and stop_s",
        found=asked,
    )


def _odd_rate(rate: float) -> Fault:
    return Fault(
        "implausible_rate",
        f"the time stamps make {rate:.4g} samples a second",
        expected=f"{RATE_RANGE_HZ[0]:g} to {RATE_RANGE_HZ[1]:g} Hz",
        remedy="correct the unit of the time column (s, ms or us)",
        found=f"{rate:.4g} Hz",
    )


def _time_unusable() -> Fault:
    return Fault(
        "time_unusable",
        "more than a fifth of the time stamps are missing, repeated or run backward",
        expected="stamps that rise",
        remedy="export the file with a continuous clock, or map sampling_hz in place of time",
    )


def _problem(plan: TrialPlan, fault: Fault) -> Problem:
    return fault.problem(file=plan.trial.file, trial=plan.trial.id)


def _role_problems(plan: TrialPlan, matched: Matched) -> tuple[Problem, ...]:
    """The problem of every role; a header that is too short is one, whatever was looked for."""
    found = (
        _problem(plan, fault)
        if fault.code == "header_too_short"
        else _role_problem(plan, role, fault)
        for role, fault in matched.faults.items()
    )
    return tuple(dict.fromkeys(found))


def _role_problem(plan: TrialPlan, role: str, fault: Fault) -> Problem:
    problem = _problem(plan, fault)
    return make_problem(
        problem.code,
        fault.what,
        expected=fault.expected,
        remedy=fault.remedy,
        found=fault.found,
        trial=plan.trial.id,
        file=plan.trial.file,
        line=fault.line,
        key=role,
    )
