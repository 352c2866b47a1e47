"""An invented patient's analysis, made with plain numpy: not measured, so that the faces, the
reading and the document can be tested on values that are known beforehand.

A right-beating spontaneous nystagmus of 6 deg/s after a loss on the left; suppression good in the
modulated part (90 %) and poor-looking in the whole response (58 %).
"""

from dataclasses import dataclass, field
from datetime import date

import numpy as np

from slowphase.analysis.result import Analysis, Provenance
from slowphase.eye.trace import UNUSED_REASONS, EyeTrace, QuickPhases
from slowphase.foundation.problem import Problem
from slowphase.measures.measure import Measure
from slowphase.measures.result import Evidence, PairResult, Quality, TrialResult
from slowphase.reading.criteria import read_criteria
from slowphase.reading.findings import Findings
from slowphase.reading.patterns import read_patterns
from slowphase.reading.read import read
from slowphase.reading.summary import summarise
from slowphase.recording.session import Patient
from slowphase.reference.select import place_all

SAMPLING_HZ = 100.0
BIAS_DEG_S = -6.0


@dataclass(frozen=True, slots=True)
class Motion:
    time_s: np.ndarray
    head_deg_s: np.ndarray
    slow_deg_s: np.ndarray
    lapse_s: tuple[float, float] | None = None
    lost_s: tuple[tuple[float, float], ...] = field(default_factory=tuple)


def measure(trial, name, value, half=None, unit="1", **more):
    low = high = None
    if value is not None and half is not None:
        low, high = value - half, value + half
    of = more.get("of")
    id_ = "/".join(part for part in (trial, of, name) if part)
    if value is None:
        more = {"grade": "unusable", **more}
    return Measure(id=id_, name=name, value=value, low=low, high=high, unit=unit, **more)


def eye_trace(motion: Motion, seed: int) -> EyeTrace:
    rng = np.random.default_rng(seed)
    position, quick = np.zeros(motion.time_s.size), np.zeros(motion.time_s.size, dtype=bool)
    at, onsets, jumps = 0.0, [], []
    index, limit = 0, 8.0
    while index < position.size:
        at += motion.slow_deg_s[index] / SAMPLING_HZ
        if abs(at) > limit:
            jump = -at - 3.0 * np.sign(at)
            stop = min(index + 5, position.size)
            position[index:stop] = at + np.linspace(0, jump, stop - index)
            quick[index:stop] = True
            onsets.append(motion.time_s[index])
            jumps.append(jump)
            at, index, limit = at + jump, stop, rng.uniform(5, 10)
            continue
        position[index] = at
        index += 1
    use = np.where(quick, UNUSED_REASONS.index("quick_phase"), 0).astype(np.int64)
    position += rng.normal(0, 0.05, position.size)
    for low, high in motion.lost_s:
        lost = (motion.time_s >= low) & (motion.time_s < high)
        position[lost] = np.nan
        use[lost] = UNUSED_REASONS.index("blink" if high - low < 1 else "lost")
    if motion.lapse_s:
        asleep = (motion.time_s >= motion.lapse_s[0]) & (motion.time_s < motion.lapse_s[1])
        use[asleep & (use == 0)] = UNUSED_REASONS.index("lapse")
    velocity = motion.slow_deg_s + rng.normal(0, 0.8, position.size)
    velocity[(use != 0) & (use != UNUSED_REASONS.index("lapse"))] = np.nan
    onset = np.array(onsets, dtype=float)
    amplitude = np.array(jumps, dtype=float)
    phases = QuickPhases(onset, onset + 0.05, amplitude, amplitude * 30)
    return EyeTrace(motion.time_s, position, velocity, use, phases)


def clock(duration_s: float) -> np.ndarray:
    return np.arange(int(duration_s * SAMPLING_HZ)) / SAMPLING_HZ


def spontaneous(id_: str, vision: str, velocity: float, seed: int) -> TrialResult:
    time = clock(30)
    still = np.zeros(time.size)
    motion = Motion(time, still, still + velocity, lost_s=((6.0, 6.3), (19.0, 19.2)))
    measures = (
        measure(id_, "velocity", velocity, 0.3, "deg/s", of="horizontal"),
        measure(id_, "velocity", 0.2, 0.4, "deg/s", of="vertical"),
        measure(id_, "beats_per_min", 44.0 if vision == "dark" else 5.0, 4, "/min"),
        measure(id_, "beating_share", 92.0, 3, "%"),
    )
    return TrialResult(
        id_, "spontaneous", vision, {}, "done", None, Quality(94.0, "sound"), measures,
        Evidence(eye_trace(motion, seed), fit_deg_s=still + velocity), (id_,),
    )  # fmt: skip


def sinusoid(id_: str, frequency: float, gain: float, phase: float, vision: str) -> TrialResult:
    time, peak = clock(max(3 / frequency, 20)), 60.0
    head = peak * np.sin(2 * np.pi * frequency * time)
    shifted = np.sin(2 * np.pi * frequency * time + np.radians(phase))
    right, left = 1.12 * gain, 0.88 * gain
    slow = BIAS_DEG_S - peak * np.where(shifted > 0, right, left) * shifted
    if vision != "dark":
        slow += 0.8 * -BIAS_DEG_S
    fit = slow.copy()
    end = time[-1]
    lapse = (0.55 * end, 0.62 * end) if frequency == 0.04 else None
    lost = ((0.2 * end, 0.2 * end + 0.3), (0.8 * end, 0.8 * end + 1.5))
    measures = (
        measure(id_, "gain", gain, 0.02, definition="steady_state"),
        measure(id_, "phase", phase, 0.8, "deg", definition="steady_state"),
        measure(id_, "bias", BIAS_DEG_S, 0.4, "deg/s"),
        measure(id_, "gain_right", right, 0.03, exciting="right"),
        measure(id_, "gain_left", left, 0.03, exciting="left"),
        measure(id_, "asymmetry", 21.0, 3, "%"),
        measure(id_, "gaze_slope", None, unit="/s", why=("gaze_unknown",)),
        measure(id_, "cycles", 3.0),
    )
    why = ("lapse_left_out",) if lapse else ()
    motion = Motion(time, head, slow, lapse, lost)
    return TrialResult(
        id_, "sinusoid", vision, {"frequency_hz": frequency, "peak_velocity_deg_s": peak},
        "done", None, Quality(88.5, "caution" if lapse else "sound", why), measures,
        Evidence(eye_trace(motion, int(frequency * 1000)), head, fit), (id_,),
    )  # fmt: skip


def step(id_: str, direction: str) -> TrialResult:
    time = clock(125)
    sign, speed = (1.0 if direction == "right" else -1.0), 100.0
    head = sign * speed * (np.clip(time - 5, 0, 1) - np.clip(time - 65, 0, 1))
    constants = {"right": 12.0, "left": 6.0}
    sides = (direction, "left" if direction == "right" else "right")
    slow, measures = np.full(time.size, BIAS_DEG_S), []
    for of, side, at, way in zip(("per", "post"), sides, (5.5, 65.5), (-sign, sign), strict=True):
        since = np.maximum(time - at, 0)
        gain = 0.55 if side == "right" else 0.42
        slow = slow + np.where(time > at, way * gain * speed * np.exp(-since / constants[side]), 0)
        raw = 21.0 if side == "right" else 4.0
        measures += [
            measure(id_, "gain", gain, 0.03, of=of, exciting=side),
            measure(id_, "time_constant", constants[side], 0.8, "s", of=of, exciting=side,
                    definition="one_over_e"),
            measure(id_, "decay", constants[side] * 1.3, 1.5, "s", of=of, exciting=side,
                    definition="model"),
            measure(id_, "time_constant_raw", raw, None, "s", of=of, exciting=side,
                    definition="raw_37_percent"),
        ]  # fmt: skip
    measures.append(measure(id_, "bias", BIAS_DEG_S, 0.5, "deg/s"))
    motion = Motion(time, head, slow, lost_s=((30.0, 30.3), (80.0, 80.25)))
    return TrialResult(
        id_, "step", "dark", {"direction": direction, "velocity_deg_s": speed}, "done", None,
        Quality(90.0, "sound"), tuple(measures),
        Evidence(eye_trace(motion, 7), head, slow.copy()), (id_,),
    )  # fmt: skip


def not_done() -> TrialResult:
    keys = {"frequency_hz": 0.64, "peak_velocity_deg_s": 60.0}
    measures = (measure("sin-0.64", "gain", None, why=("not_done",)),)
    return TrialResult(
        "sin-0.64", "sinusoid", "dark", keys, "not done", "nausea", None, measures
    )  # fmt: skip


def pairs() -> tuple[PairResult, ...]:
    pair = "sin-0.04~fix-0.04"
    return (
        PairResult("suppression", "sin-0.04", "fix-0.04", (
            measure(pair, "suppression", 90.0, 2, "%"),
            measure(pair, "suppression_whole", 58.0, 4, "%"),
        )),
        PairResult("fixation", "spont-dark", "spont-light", (
            measure("spont-dark~spont-light", "fixation_effect", 80.0, 6, "%"),
        )),
        PairResult("step_sides", "step-right", "step-left", (
            measure("step-right~step-left", "asymmetry", 13.0, 4, "%"),
            measure("step-right~step-left", "time_constant_difference", 6.0, 1.1, "s"),
        )),
    )  # fmt: skip


def trials() -> tuple[TrialResult, ...]:
    return (
        spontaneous("spont-dark", "dark", BIAS_DEG_S, 1),
        spontaneous("spont-light", "light", -1.2, 2),
        sinusoid("sin-0.01", 0.01, 0.30, 55.0, "dark"),
        sinusoid("sin-0.04", 0.04, 0.48, 17.0, "dark"),
        sinusoid("sin-0.16", 0.16, 0.55, 5.0, "dark"),
        not_done(),
        sinusoid("fix-0.04", 0.04, 0.048, 10.0, "head-fixed target"),
        step("step-right", "right"),
        step("step-left", "left"),
    )


PROBLEM = Problem(
    code="not_a_number",
    message="trials/sin-0.08.csv, line 501: found “oops” in column Rx where a number was expected.",
    trial="sin-0.08",
    file="trials/sin-0.08.csv",
    line=501,
    found="oops",
    expected="a number",
)


def invented_analysis() -> Analysis:
    patient = Patient("K-0417", 57.0, "female")
    results, together = trials(), pairs()
    placements = place_all(results, together, patient)
    conditions = {"alerting": "mental arithmetic", "light": "dark"}
    findings = Findings(results, together, placements, patient, conditions)
    statements, patterns = read(findings), read_patterns(findings)
    criteria, day = read_criteria(findings), date(2026, 3, 2)
    return Analysis(
        patient=patient,
        date=day,
        trials=results,
        pairs=together,
        statements=statements,
        patterns=patterns,
        criteria=criteria,
        summary=summarise(findings, statements, patterns, criteria, day),
        problems=(PROBLEM,),
        provenance=Provenance("0.1.0", "a" * 64, "b" * 64, "c" * 64, "d" * 64),
        placements=placements,
        notes={"indication": "dizzy since an <acute> attack & after"},
        conditions=conditions,
    )
