"""Does the spontaneous nystagmus beat away from the side whose response is the weaker?

After a loss the fast phase beats away from it (common practice, no source), so that on one axis
(to the right: beats to the R, response stronger when the R is excited) both point the same way.
"""

from slowphase.measures.result import TrialResult
from slowphase.reading.agreement.battery import Battery, half_asymmetries, step_asymmetry
from slowphase.reading.agreement.chance import Way, span, way
from slowphase.reading.agreement.comparison import Outcome, Panel, Row
from slowphase.reading.limits import limits
from slowphase.reading.pooling import Pooled
from slowphase.reading.rule import evidence
from slowphase.reading.rules.nystagmus import Nystagmus, in_the_dark
from slowphase.reading.statement import EvidenceItem
from slowphase.reading.words import with_interval

PLANE = "horizontal"
CHAIR = ("sinusoid", "step")
TARGETS = ("pursuit", "optokinetic")
ENDS = ("L", "R")


def judge(battery: Battery) -> Outcome:
    """The way of the nystagmus against the stronger side; a reversed channel before all else."""
    reversed_ = wrong_way(battery, CHAIR)
    if reversed_:
        return mirrored(battery, reversed_)
    nystagmus = in_the_dark(battery.findings, PLANE)
    steps, halves = step_asymmetry(battery), half_asymmetries(battery)
    sides = steps if steps is not None else middle_of(halves)
    if nystagmus is None or sides is None:
        return Outcome("not_tested", {"lacking": lacking(nystagmus, sides)})
    table = limits()
    beating = beats(nystagmus)
    ways = (
        way(beating, table["agreement_nystagmus"].value),
        way(span(sides), table["negligible_asymmetry"].value),
    )
    words = {
        "direction": nystagmus.direction,
        "speed": nystagmus.speed,
        "weaker": "right" if sides.value < 0.0 else "left",
        "stronger": "left" if sides.value < 0.0 else "right",
        "asymmetry": asymmetry_text(sides),
        "limits": f"{table['agreement_nystagmus'].cited} and {table['negligible_asymmetry'].cited}",
    }
    items = (*nystagmus.evidence("agreement_nystagmus"), *side_evidence(sides))
    return Outcome(outcome_of(*ways), words, items, panels(beating, steps, halves))


def outcome_of(nystagmus: Way, stronger: Way) -> str:
    """The name of how the two ways come together."""
    if "unsure" in (nystagmus, stronger):
        return "unsure"
    if nystagmus == stronger:
        return "neither" if nystagmus == "neither" else "away"
    if nystagmus == "neither":
        return "side_alone"
    return "nystagmus_alone" if stronger == "neither" else "toward"


def beats(nystagmus: Nystagmus) -> tuple[float, float, float]:
    """Velocity of the nystagmus by the way it beats: positive beats to the right."""
    velocity = nystagmus.velocity
    return -velocity.value, -velocity.high, -velocity.low


def wrong_way(battery: Battery, kinds: tuple[str, ...]) -> tuple[TrialResult, ...]:
    """The trials of these kinds in which the eyes go the wrong way."""
    trials = (trial for kind in kinds for trial in battery.findings.of_kind(kind))
    return tuple(t for t in trials if any("wrong_way" in m.why for m in t.measures))


def mirrored(battery: Battery, trials: tuple[TrialResult, ...]) -> Outcome:
    """The outcome of a channel whose sign is reversed: whose, as far as targets tell."""
    targets = [t for kind in TARGETS for t in battery.findings.of_kind(kind) if t.measures]
    turned = wrong_way(battery, TARGETS)
    name = "mirrored"
    if targets:
        name = "mirrored_eye" if len(turned) == len(targets) else "mirrored_chair"
        name = name if len(turned) in (0, len(targets)) else "mirrored"
    found = [m for t in trials for m in t.measures if "wrong_way" in m.why and m.name == "gain"]
    ids = tuple(trial.id for trial in (*trials, *turned))
    words = {"trials": ", ".join(ids)}
    return Outcome(name, words, tuple(evidence(m) for m in found), trials=ids)


def middle_of(halves: list[Pooled]) -> Pooled | None:
    """The asymmetry of sinusoids that is in the middle of all, with its own interval; of two in
    the middle the smaller one, so that a mirrored session says the same."""
    if not halves:
        return None
    ordered = sorted(halves, key=lambda half: half.value)
    two = ordered[(len(ordered) - 1) // 2], ordered[len(ordered) // 2]
    return min(two, key=lambda half: abs(half.value))


def lacking(nystagmus: Nystagmus | None, sides: Pooled | None) -> str:
    """What the session lacks, in words."""
    missing = [
        name
        for name, part in (
            ("a velocity of the spontaneous nystagmus in the dark", nystagmus),
            ("a comparison of both exciting directions", sides),
        )
        if part is None
    ]
    return " and ".join(missing)


def asymmetry_text(sides: Pooled) -> str:
    """Size of an asymmetry with its interval."""
    if sides.value < 0.0:
        return with_interval(-sides.value, -sides.high, -sides.low, "%")
    return with_interval(sides.value, sides.low, sides.high, "%")


def side_evidence(sides: Pooled) -> tuple[EvidenceItem, ...]:
    """The measures behind an asymmetry."""
    limit = limits()["negligible_asymmetry"]
    one = len(sides.members) == 1
    return tuple(evidence(m, limit if one else None) for m in sides.members)


def panels(
    beating: tuple[float, float, float], steps: Pooled | None, halves: list[Pooled]
) -> tuple[Panel, ...]:
    """The nystagmus and the sides, each on an axis from L to R."""
    rows = [Row("steps", steps.value, steps.low, steps.high)] if steps is not None else []
    rows += [
        Row(f"half gains, {half.members[0].id.split('/')[0]}", half.value, half.low, half.high)
        for half in halves
    ]
    return (
        Panel("nystagmus beats to", "deg/s", (Row("spontaneous, dark", *beating),), ENDS),
        Panel("stronger response when excited", "%", tuple(rows), ENDS),
    )
