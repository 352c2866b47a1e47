"""Signs of a steady nystagmus: which way it beats, how fast, whether it turns or is vertical."""

from slowphase.measures.measure import Measure
from slowphase.reading.findings import Findings, dark_sinusoids, in_plane
from slowphase.reading.limits import limits
from slowphase.reading.pooling import Pooled, pool
from slowphase.reading.rules.gaze import dependences
from slowphase.reading.rules.nystagmus import dark_trials, in_the_dark, measured
from slowphase.reading.signs.sign import (
    OPEN,
    Answer,
    any_of,
    chance_above,
    chance_below,
    held,
    size_of,
)
from slowphase.reference.method import recording_method


def steady(findings: Findings) -> Pooled | None:
    """The slow phase of a steady nystagmus: at rest in the dark, else the bias of rotations.

    None where the nystagmus at rest changes its direction, or hardly a quick phase beats.
    """
    found = in_the_dark(findings, "horizontal")
    if found is not None and (found.changes or found.beating is False):
        return None
    rest = pool(measured(dark_trials(findings), "velocity", "horizontal"))
    return rest or pool(biases(findings))


def biases(findings: Findings) -> list[Measure]:
    """The bias of every rotation in the dark."""
    trials = (*dark_sinusoids(findings), *findings.of_kind("step"))
    return [m for t in trials if (m := in_plane(t, "bias", "horizontal")) is not None]


def beats(findings: Findings, side: str, code: str) -> Answer:
    """Whether a nystagmus beats to this side, faster than the limit of that code."""
    found = steady(findings)
    if found is None:
        return OPEN
    limit = limits()[code].value
    chance = chance_below(-limit, found) if side == "right" else chance_above(limit, found)
    return Answer(chance, held(found.members, code), size_of(found, "deg/s"))


def clinic_limit(findings: Findings) -> str:
    """The code of the clinic limit of how the eyes were recorded; the wider where not stated."""
    video = recording_method(findings.conditions) == "video"
    return "spontaneous_velocity" if video else "spontaneous_velocity_electrodes"


def right_slight(findings: Findings) -> Answer:
    """A right-beating nystagmus, slow or fast."""
    return beats(findings, "right", "nystagmus_slight")


def left_slight(findings: Findings) -> Answer:
    """A left-beating nystagmus, slow or fast."""
    return beats(findings, "left", "nystagmus_slight")


def right_fast(findings: Findings) -> Answer:
    """A right-beating nystagmus beyond the clinic's limit."""
    return beats(findings, "right", clinic_limit(findings))


def left_fast(findings: Findings) -> Answer:
    """A left-beating nystagmus beyond the clinic's limit."""
    return beats(findings, "left", clinic_limit(findings))


def right_very_fast(findings: Findings) -> Answer:
    """A right-beating nystagmus faster than any healthy person was seen to have."""
    return beats(findings, "right", "healthy_largest")


def left_very_fast(findings: Findings) -> Answer:
    """A left-beating nystagmus faster than any healthy person was seen to have."""
    return beats(findings, "left", "healthy_largest")


def preponderance(findings: Findings) -> Answer:
    """A steady bias either way, at rest, in rotation or in calorics."""
    limit = limits()["preponderance"].value
    rest = in_the_dark(findings, "horizontal")
    turning = rest is not None and rest.changes
    pooled = () if turning else (steady(findings), pool(biases(findings)))
    known = [found for found in pooled if found is not None]
    either = any_of(
        chance for p in known for chance in (chance_below(-limit, p), chance_above(limit, p))
    )
    calorics = [m for group in findings.groups_of("caloric") for m in group.measures
                if m.name == "directional_preponderance"]  # fmt: skip
    more = pool(calorics)
    wide = limits()["caloric_preponderance"].value
    by_heat = any_of([chance_below(-wide, more), chance_above(wide, more)])
    members = tuple(dict.fromkeys(m for p in known for m in p.members))
    shown = more.members if more else ()
    items = (*held(members, "preponderance"), *held(shown, "caloric_preponderance"))
    return Answer(any_of([either, by_heat]), items)


def changes(findings: Findings) -> Answer:
    """A horizontal nystagmus that changes its direction at rest."""
    found = in_the_dark(findings, "horizontal")
    if found is None:
        return OPEN
    return Answer(float(found.changes), held(found.velocity.members))


def vertical(findings: Findings) -> Answer:
    """A vertical nystagmus in the dark."""
    found = in_the_dark(findings, "vertical")
    if found is None:
        return OPEN
    chance = found.faster_than(limits()["spontaneous_vertical"].value)
    beating = found.beating is not False
    return Answer(chance if beating else 0.0, held(found.velocity.members, "spontaneous_vertical"))


def turns_with_gaze(findings: Findings) -> Answer:
    """A nystagmus that beats outward on both sides."""
    known = list(dependences(findings))
    if not known:
        return OPEN
    turning = [m for m in known if "gaze_evoked" in m.why]
    return Answer(float(bool(turning)), held(turning or known))
