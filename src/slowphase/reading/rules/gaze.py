"""Nystagmus that turns with gaze, held apart from one that only grows toward its quick phase.

Gaze-evoked nystagmus may be a central sign and is read first. The law of each plane and vision was
told by the measures (`gaze_dependence` carries it as a reason).
"""

from collections.abc import Iterator, Mapping

from slowphase.measures.measure import Measure
from slowphase.reading.findings import Findings, named
from slowphase.reading.limits import limits
from slowphase.reading.rule import Judgement, Rule, evidence, plain
from slowphase.reading.statement import Verdict

LAWS = ("gaze_evoked", "gaze_law_open", "alexanders_law", "gaze_independent")  # gravest first
VERDICTS: Mapping[str, Verdict] = {
    "gaze_evoked": "holds",
    "gaze_law_open": "cannot_tell",
    "alexanders_law": "does_not_hold",
    "steep": "cannot_tell",
    "gaze_independent": "does_not_hold",
    "slight": "does_not_hold",
}
MAY_BE_CENTRAL = ("gaze_evoked", "gaze_law_open", "steep")
VISIONS = ("dark", "light")


def judge(findings: Findings) -> Iterator[Judgement]:
    """One judgement where the dependence on gaze was measured."""
    known = [(m, law) for m in dependences(findings) for law in LAWS if law in m.why]
    if known:
        measure, law = min(known, key=lambda pair: LAWS.index(pair[1]))
        limit, leak = limits()["gaze_nystagmus"], limits()["gaze_leak"]
        outcome = outcome_of(law, fastest(findings), measure)
        yield Judgement(
            outcome=outcome,
            verdict=VERDICTS[outcome],
            words={"where": str(measure.of), "positions": positions(findings, str(measure.of)),
                   "limit": limit.cited, "leak": leak.cited, "slope": plain(measure)},
            strength="moderate" if measure.grade == "sound" else "weak",
            evidence=tuple(evidence(m) for m, _ in known),
            cautions=("gaze_other",) if outcome in MAY_BE_CENTRAL else (),
            leads=outcome == "gaze_evoked",
        )  # fmt: skip
    elif findings.of_kind("gaze"):
        yield Judgement("missing", "cannot_tell")


def outcome_of(law: str, speed_deg_s: float, dependence: Measure) -> str:
    """The law as told, unless the nystagmus is slight or its growth too steep for that law."""
    if speed_deg_s < limits()["gaze_nystagmus"].value and law != "gaze_independent":
        return "slight"
    steep = abs(dependence.value or 0.0) > limits()["gaze_leak"].value
    return "steep" if steep and law == "alexanders_law" else law


def dependences(findings: Findings) -> Iterator[Measure]:
    """The slopes on gaze that can be judged."""
    for group in findings.groups_of("gaze"):
        for measure in group.measures:
            if measure.name == "gaze_dependence" and measure.grade != "unusable":
                yield measure


def held(findings: Findings) -> Iterator[tuple[str, Measure]]:
    """The horizontal slow phase of each position, by the trial's id."""
    for trial in findings.of_kind("gaze"):
        measure = named(trial, "velocity", of="horizontal")
        if measure is not None and measure.value is not None:
            yield trial.id, measure


def fastest(findings: Findings) -> float:
    """The largest slow-phase speed of any position (deg/s)."""
    return max((abs(measure.value or 0.0) for _, measure in held(findings)), default=0.0)


def positions(findings: Findings, where: str) -> str:
    """The slow phase of each position in words, of the vision that is judged."""
    visions = {trial.id: trial.vision or "dark" for trial in findings.of_kind("gaze")}
    own = [(id_, m) for id_, m in held(findings) if where not in VISIONS or visions[id_] == where]
    return "; ".join(f"{trial} {plain(measure)}" for trial, measure in own)


GAZE = Rule("gaze_nystagmus", judge)
