"""What a calibration trial says of the recorder: size, shape, and whether both eyes agree.

Velocities and gains of the whole session are off by as much as their calibration.
"""

from collections.abc import Iterator
from itertools import product

from slowphase.measures.measure import Measure
from slowphase.measures.result import TrialResult
from slowphase.reading.findings import Findings, named
from slowphase.reading.limits import limits
from slowphase.reading.rule import Judgement, Rule, evidence, plain, strength_of, verdict_of
from slowphase.reading.rules.against import above, below, known, ratio
from slowphase.reading.statement import Verdict
from slowphase.reading.words import reason_clause, with_interval
from slowphase.reference.normal import probability_outside

PLACES = tuple(f"{side}/{plane}" for plane, side in product(("horizontal", "vertical"),
                                                            ("right", "left")))  # fmt: skip
ORDER = ("off", "eyes_differ", "bent", "apart")  # gravest first
SIZE, STEADY = "calibration_off", "eye_steadiness"


def judge(findings: Findings) -> Iterator[Judgement]:
    """One judgement for each calibration."""
    for trial in findings.of_kind("calibration"):
        gains = {of: m for of in PLACES if (m := named(trial, "gain", of=of)) and known(m)}
        if gains:
            yield _judge(trial, gains)
        else:
            codes = dict.fromkeys(c for m in trial.measures if m.name == "gain" for c in m.why)
            words = {"trial": trial.id, "reason": reason_clause(tuple(codes))}
            yield Judgement("missing", "cannot_tell", words)


def _judge(trial: TrialResult, gains: dict[str, Measure]) -> Judgement:
    apart = named(trial, "conjugacy", of="horizontal")
    apart = apart if apart is not None and known(apart) else None
    chances = {"off": _off(gains), "eyes_differ": _eyes_differ(gains),
               "bent": _bent(trial), "apart": _apart(apart)}  # fmt: skip
    verdicts = {name: verdict_of(p) for name, p in chances.items()}
    bad = [name for name in ORDER if verdicts[name] == "holds"]
    near = "cannot_tell" in verdicts.values()
    outcome = bad[0] if bad else "near" if near else "fits"
    verdict: Verdict = "holds" if bad else "cannot_tell" if near else "does_not_hold"
    decided = chances[bad[0]] if bad else max(chances.values(), key=lambda p: min(p, 1.0 - p))
    used = [*gains.values(), *([apart] if apart else [])]
    return Judgement(
        outcome=outcome,
        verdict=verdict,
        words={
            "trial": trial.id,
            "gains": ", ".join(f"{of.replace('/', ' eye ')} {plain(m)}" for of, m in gains.items()),
            "ratio": _ratio_text(gains),
            "apart": f"; the eyes' fixations differ by {plain(apart)}" if apart else "",
            "limit": limits()[SIZE].cited,
            "steady": limits()[STEADY].cited,
        },
        strength=strength_of(decided, used, [limits()[SIZE]]),
        evidence=(*(evidence(m, limits()[SIZE]) for m in gains.values()),
                  *([evidence(apart, limits()[STEADY])] if apart else [])),
        cautions=("recalibrate",) if verdict != "does_not_hold" else (),
    )  # fmt: skip


def _off(gains: dict[str, Measure]) -> float:
    """Chance that a recording in degrees shows targets at another size than they had."""
    share = limits()[SIZE].value / 100.0
    return max(
        (min(1.0, below(1.0 - share, m) + above(1.0 + share, m))
         for m in gains.values() if m.unit == "1"),
        default=0.0,
    )  # fmt: skip


def _eyes_differ(gains: dict[str, Measure]) -> float:
    """Chance that one eye, in degrees, is recorded larger than the other in the same plane."""
    share = limits()[SIZE].value / 100.0
    found = [ratio(right, left) for right, left in _pairs(gains)]
    chances = (probability_outside(r.value, r.low, r.high, 1.0 - share, 1.0 + share) for r in found)
    return max(chances, default=0.0)


def _pairs(gains: dict[str, Measure]) -> Iterator[tuple[Measure, Measure]]:
    for plane in ("horizontal", "vertical"):
        both = [gains.get(f"{side}/{plane}") for side in ("right", "left")]
        right, left = both
        if right and left and (right.unit, left.unit) == ("1", "1") and (left.value or 0.0) > 0.0:
            yield right, left


def _bent(trial: TrialResult) -> float:
    """The measures told whether places lie off the straight line."""
    return float(any("not_linear" in m.why for m in trial.measures))


def _apart(apart: Measure | None) -> float:
    return above(limits()[STEADY].value, apart) if apart else 0.0


def _ratio_text(gains: dict[str, Measure]) -> str:
    shown = [ratio(right, left) for right, left in _pairs(gains)]
    return ", ".join(with_interval(r.value, r.low, r.high, "1") for r in shown)


CALIBRATION = Rule("calibration_fits_not", judge)
