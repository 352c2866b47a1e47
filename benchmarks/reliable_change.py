"""How often is an unchanged patient called changed, and how often is a true change found?

Level of measures: each clinic draws pairs of stable people and builds its retest file from them;
unchanged patients (`alarm_pct`, aim 4–6 % with the correlation of the retests) and patients with a
planted change are then judged by the whole of `follow`. A value is truth + day-to-day variation
(correlated between measures) + an error as large as its interval says, and intervals differ from
session to session. `per_measure_pct` is the share of single measures beyond their own limit (aim
5 %), `found_pct` the power. `full pairs`: the same simulated person on two days, recorded, analysed
and compared; the 95 % intervals of the changes against the true changes, and how often a pair was
called changed by the retests of all the others. The sizes of the day-to-day variation are chosen.
"""

from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np
from threadpoolctl import threadpool_limits

from slowphase.analysis.result import Analysis, Provenance
from slowphase.analysis.run import analyze
from slowphase.cli.simulated_session import session_from
from slowphase.course.change import Change
from slowphase.course.comparison import Comparison, Overall, judged
from slowphase.course.retest import RetestSet
from slowphase.course.retest_build import build_retest
from slowphase.course.timeline import follow
from slowphase.measures.interval import Z95
from slowphase.measures.measure import Measure
from slowphase.measures.result import PairResult, TrialResult
from slowphase.physiology.person import Person
from slowphase.physiology.protocol import standard_protocol
from slowphase.physiology.recorder import Equipment
from slowphase.physiology.simulate import simulate
from slowphase.recording.session import Patient

from . import regimes

SEED = 20261127
CLINICS, PATIENTS = 100, 40  # 4,000 unchanged patients
FULL_PAIRS = 40
DAY = date(2026, 3, 2)
FREQUENCIES_HZ = (0.01, 0.02, 0.04, 0.08, 0.16, 0.32, 0.64)
PROVENANCE = Provenance("0", "settings", "", "", "")
RULES = ("ototoxic_change", "ototoxic_one_sign", "nystagmus_grows")
Generator = np.random.Generator


@dataclass(frozen=True, slots=True)
class Drawn:
    """One measure: usual value, its spread between people and between days, and its error.

    ``shared`` is the part (0–1) of the day-to-day variance that all measures of ``family`` share.
    """

    trial: str
    kind: str
    name: str
    unit: str
    family: str
    usual: float
    between_people: float
    between_days: float
    error: float
    shared: float = 0.6
    of: str | None = None
    exciting: str | None = None
    stimulus: tuple[tuple[str, object], ...] = ()


def battery() -> tuple[Drawn, ...]:
    """The 21 measures of a session: gains, leads, time constants, nystagmus, suppression."""
    drawn = []
    for place, hz in enumerate(FREQUENCIES_HZ):
        stimulus = (("frequency_hz", hz), ("peak_velocity_deg_s", 60.0))
        trial, gain, lead = f"sin-{hz:g}", 0.45 + 0.03 * place, 45.0 * 0.5**place
        drawn.append(Drawn(trial, "sinusoid", "gain", "1", "gain", gain, 0.12, 0.05, 0.015,
                           stimulus=stimulus))  # fmt: skip
        drawn.append(Drawn(trial, "sinusoid", "phase", "deg", "lead", lead, 5.0, 2.0, 1.0, 0.4,
                           stimulus=stimulus))  # fmt: skip
    drawn += [
        Drawn(f"step-{side}", "step", "time_constant", "s", "storage", 13.5, 3.6, 1.5, 0.7, 0.5,
              of, exciting, (("direction", side),))
        for side, other in (("right", "left"), ("left", "right"))
        for of, exciting in (("per", side), ("post", other))
    ]  # fmt: skip
    drawn.append(Drawn("dark", "spontaneous", "velocity", "deg/s", "bias", 0.0, 1.2, 0.7, 0.2,
                       of="horizontal"))  # fmt: skip
    for hz in (0.04, 0.32):
        drawn.append(Drawn(f"sin-{hz:g}~fix", "suppression", "suppression", "%", "fixation", 90.0,
                           4.0, 2.0, 1.0, stimulus=(("frequency_hz", hz),)))  # fmt: skip
    return tuple(drawn)


BATTERY = battery()


def run(clinics: int = CLINICS, full_pairs: int = FULL_PAIRS) -> list[dict[str, object]]:
    """Rows of the study at the level of measures, then those of full recordings."""
    few = max(clinics // 4, 1)
    studies = [(30, None, clinics), (15, None, few), (60, None, few), (30, "loss", few),
               (30, "one", few)]  # fmt: skip
    with ProcessPoolExecutor() as pool:
        rows = []
        for size, planted, count in studies:
            tasks = [(size, planted, clinic) for clinic in range(count)]
            found = [one for some in pool.map(_clinic, tasks) for one in some]
            rows += _rows(size, planted, found)
        pairs = list(pool.map(full_pair, range(full_pairs)))
        judged_pairs = list(pool.map(_judged_by_others, [pairs] * len(pairs), range(len(pairs))))
    return [*rows, *_full_rows(pairs, judged_pairs)]


def _clinic(task: tuple[int, str | None, int]) -> list[dict[str, dict[str, object]]]:
    pairs, planted, number = task
    with threadpool_limits(1):
        rng = np.random.default_rng([SEED, pairs, ("loss", "one", None).index(planted), number])
        retest = build_retest(
            [one for k in range(pairs) for one in two_sessions(rng, f"S{k}")], source="drawn"
        ).retest
        plain = replace(retest, correlation=None)
        found = []
        for k in range(PATIENTS):
            sessions = two_sessions(rng, f"P{k}", planted, retest)
            course = follow(sessions, retest=retest).comparisons[0]
            changes, overall = judged(course.comparison.changes, plain)
            rules = {r.rule.code: r.verdict == "holds" for r in course.rules}
            own = course.comparison
            found.append({
                "correlated": _outcome(own.changes, own.overall) | rules,
                "holm": _outcome(changes, overall),
            })  # fmt: skip
        return found


def _outcome(changes: tuple[Change, ...], overall: Overall) -> dict[str, object]:
    return {
        "alarm": overall.verdict == "real_change",
        "single": [one.direction != "within" for one in changes],
        "planted": next(c.p_adjusted < 0.05 for c in changes if _is_planted(c.key)),
    }


def _is_planted(key) -> bool:
    return key.name == "gain" and key.number("frequency_hz") == 0.04


def two_sessions(
    rng: Generator, code: str, planted: str | None = None, retest: RetestSet | None = None
) -> tuple[Analysis, Analysis]:
    """One person on two days, as two analyses; a planted change is in the second."""
    usual = np.array([d.usual + d.between_people * rng.standard_normal() for d in BATTERY])
    moved = np.zeros(len(BATTERY)) if planted is None else _planted(planted, usual, retest)
    return tuple(
        _analysis(rng, code, usual + day * moved, DAY + timedelta(days=30 * day)) for day in (0, 1)
    )


def _planted(planted: str, usual: np.ndarray, retest: RetestSet | None) -> np.ndarray:
    """``loss``: gain −25 %, lead +6 deg, time constant −25 %; ``one``: a fall of gain at 0.04 Hz.

    The fall is the change that the clinic's file says would be found with 80 % power.
    """
    if planted == "one":
        unchanged = two_sessions(np.random.default_rng(1), "X")
        course = follow(unchanged, retest=retest)
        changes = course.comparisons[0].comparison.changes
        size = next(c.smallest for c in changes if _is_planted(c.key))
        here = [d.name == "gain" and dict(d.stimulus)["frequency_hz"] == 0.04 for d in BATTERY]
        return -size * np.array(here, dtype=float)
    falls = {"gain": -0.25 * usual, "time_constant": -0.25 * usual, "phase": 6.0 + 0.0 * usual}
    zero = np.zeros(len(BATTERY))
    return np.array([falls.get(d.name, zero)[i] for i, d in enumerate(BATTERY)])


def _analysis(rng: Generator, code: str, true: np.ndarray, day: date) -> Analysis:
    shared = {d.family: rng.standard_normal() for d in BATTERY}
    shared["lead"] = -0.6 * shared["storage"] + 0.8 * shared["lead"]
    parts: dict[str, list[tuple[Drawn, Measure]]] = {}
    for d, value in zip(BATTERY, true, strict=True):
        common, own = d.shared**0.5 * shared[d.family], (1 - d.shared) ** 0.5 * rng.normal()
        error = d.error * np.exp(0.4 * rng.standard_normal())
        seen = value + d.between_days * (common + own) + error * rng.standard_normal()
        parts.setdefault(d.trial, []).append((d, _measure(d, float(seen), float(error))))
    made = [_part(found) for found in parts.values()]
    trials = tuple(p for p in made if isinstance(p, TrialResult))
    pairs = tuple(p for p in made if isinstance(p, PairResult))
    return Analysis(Patient(code), day, trials, pairs, (), (), PROVENANCE)


def _measure(d: Drawn, value: float, error: float) -> Measure:
    id_ = "/".join(part for part in (d.trial, d.of, d.name) if part)
    reach = Z95 * error
    return Measure(id_, d.name, value, value - reach, value + reach, d.unit, of=d.of,
                   exciting=d.exciting)  # fmt: skip


def _part(found: list[tuple[Drawn, Measure]]) -> TrialResult | PairResult:
    d, measures = found[0][0], tuple(m for _, m in found)
    if d.kind == "suppression":
        dark, fixation = d.trial.split("~")
        return PairResult(d.kind, dark, fixation, measures, dict(d.stimulus))
    return TrialResult(d.trial, d.kind, "dark", dict(d.stimulus), "done", None, None, measures)


def _rows(pairs: int, planted: str | None, found: list[dict]) -> list[dict[str, object]]:
    truth = {None: "unchanged", "loss": "loss of a quarter", "one": "gain at 0.04 Hz, 80 % power"}
    rows = []
    for method in ("correlated", "holm"):
        outcomes = [one[method] for one in found]
        overall = _pct([one["alarm"] for one in outcomes])
        row = {"study": "measures", "patients": truth[planted], "retest_pairs": pairs,
               "method": method, "n": len(outcomes),
               "alarm_pct" if planted is None else "found_pct": overall}  # fmt: skip
        if planted is None:
            row["per_measure_pct"] = _pct([hit for one in outcomes for hit in one["single"]])
        if planted == "one":
            row["found_pct"] = _pct([one["planted"] for one in outcomes])
        if method == "correlated" and planted != "one":
            row |= {code: _pct([one[code] for one in outcomes]) for code in RULES}
        rows.append(row)
    return rows


def _pct(hits: list[bool]) -> float:
    return round(100.0 * float(np.mean(hits)), 2)


@dataclass(frozen=True, slots=True)
class FullPair:
    """Two analyses of one simulated person, and the true values of both days by measure's id."""

    first: Analysis
    second: Analysis
    truth: tuple[dict[str, float], dict[str, float]]


def full_pair(number: int) -> FullPair:
    """One person who sits through the standard protocol on two days, recorded and analysed."""
    with threadpool_limits(1):
        rng = np.random.default_rng([SEED, 9, number])
        person = regimes.nobody_special(rng)
        days = [_one_day(person, number, day, rng) for day in (0, 1)]
    return FullPair(days[0][0], days[1][0], (days[0][1], days[1][1]))


def _one_day(
    person: Person, number: int, day: int, rng: Generator
) -> tuple[Analysis, dict[str, float]]:
    today = on_another_day(person, rng)
    trials = simulate(today, standard_protocol(), Equipment(), seed=int(rng.integers(2**31)))
    session = session_from(trials, Patient(f"INVENTED-{number}", 40.0), DAY + timedelta(7 * day),
                           conditions={"alerting": "mental arithmetic"})  # fmt: skip
    truth = {f"{t.plan.id}/{name}": value for t in trials for name, value in
             t.truth.measures.items() if value is not None}  # fmt: skip
    analysis = analyze(session)
    bare = tuple(replace(t, evidence=None, carried=None) for t in analysis.trials)
    return replace(analysis, trials=bare), truth


def on_another_day(person: Person, rng: Generator) -> Person:
    """The same person on another day: gain ±6 %, decay ±8 %, nystagmus ±0.5 deg/s (chosen)."""
    gain, decay = np.exp(0.06 * rng.standard_normal()), np.exp(0.08 * rng.standard_normal())
    sides = {
        side: replace(
            old,
            gain=float(old.gain * gain * np.exp(0.02 * rng.standard_normal())),
            dynamics=replace(old.dynamics, decay_s=float(old.dynamics.decay_s * decay)),
        )
        for side, old in (("right", person.reflex.right), ("left", person.reflex.left))
    }
    bias = person.spontaneous.bias_deg_s + 0.5 * rng.standard_normal()
    return replace(
        person,
        reflex=replace(person.reflex, **sides),
        spontaneous=replace(person.spontaneous, bias_deg_s=float(bias)),
    )


def _full_rows(pairs: list[FullPair], others: list[Comparison]) -> list[dict[str, object]]:
    held: dict[str, list[bool]] = {}
    for pair, comparison in zip(pairs, others, strict=True):
        for one in comparison.changes:
            true = [_true(values, one) for values in pair.truth]
            if None not in true and one.low is not None:
                name = f"{one.key.kind}/{one.key.name}"
                held.setdefault(name, []).append(one.low <= true[1] - true[0] <= one.high)
    rows = [{"study": "full pairs", "patients": name, "n": len(hits), "coverage_pct": _pct(hits)}
            for name, hits in held.items()]  # fmt: skip
    alarms = [one.overall.verdict == "real_change" for one in others]
    single = [c.direction in ("rises", "falls") for one in others for c in one.changes
              if c.p_adjusted is not None]  # fmt: skip
    rows.append({"study": "full pairs", "patients": "unchanged", "retest_pairs": len(pairs) - 1,
                 "method": "correlated", "n": len(pairs), "alarm_pct": _pct(alarms),
                 "per_measure_pct": _pct(single)})  # fmt: skip
    return rows


def _judged_by_others(pairs: list[FullPair], number: int) -> Comparison:
    others = [one for k, p in enumerate(pairs) if k != number for one in (p.first, p.second)]
    with threadpool_limits(1):
        retest = build_retest(others, source="the other simulated pairs").retest
        own = pairs[number]
        return follow((own.first, own.second), retest=retest).comparisons[0].comparison


def _true(values: dict[str, float], change) -> float | None:
    """The true value of a measure; a pair's stands with its trial under fixation."""
    trial, _, rest = change.after.id.partition("/")
    return values.get(f"{trial.split('~')[-1]}/{rest}")
