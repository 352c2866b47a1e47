"""Made results for the rules of agreement, and their mirror image."""

from dataclasses import replace

import sessions as made

from slowphase.measures.result import GroupResult, PairResult, Quality, TrialResult
from slowphase.reading.agreement import Battery, compare
from slowphase.reading.findings import Findings
from slowphase.reading.function import FunctionPoint, Healthy

measure = made.measure
HEALTHY = Healthy(1.0, "chosen for this test", "practice")
OTHER = {"right": "left", "left": "right"}
TURNED = ("velocity", "bias", "offset", "asymmetry", "gain_difference", "unilateral_weakness",
          "directional_preponderance", "time_constant_difference", "spontaneous", "peak",
          "peak_without_nystagmus")  # fmt: skip


def compared(trials=(), pairs=(), groups=(), *, function=(), found=()):
    """Every comparison of made results, by its code."""
    findings = Findings(
        tuple(trials), tuple(pairs), groups=tuple(groups), incoherences=tuple(found)
    )
    battery = Battery(findings, tuple(function))
    return {each.code: each for each in compare(battery)}


def result(id_, kind, *measures, vision="dark", stimulus=None, quality=None):
    return TrialResult(
        id_, kind, vision, stimulus or {}, "done", None, quality, tuple(measures), parts=(id_,)
    )


def wrong_way(id_, kind, **keys):
    return result(id_, kind, measure(id_, "gain", None, why=("wrong_way",)), **keys)


def group(kind, **values):
    measures = [measure(kind, name, *value) for name, value in values.items()]
    return GroupResult(kind, kind, (), tuple(measures))


def spin(id_, per, post, half=0.3, gains=(0.5, 0.5), gain_half=0.01, quality=None):
    """A step whose per-rotatory response excites the side of its name."""
    side = "right" if id_.endswith("right") else "left"
    sides = {"per": side, "post": OTHER[side]}
    measures = []
    for of, constant, gain in (("per", per, gains[0]), ("post", post, gains[1])):
        keys = {"of": of, "exciting": sides[of]}
        measures += [
            measure(id_, "gain", gain, gain_half, **keys),
            measure(id_, "time_constant", constant, half, "s", definition="one_over_e", **keys),
        ]
    return result(id_, "step", *measures, quality=quality)


def point(test, share, *, side=None, frequency_hz=0.02, half=0.02):
    return FunctionPoint(
        test=test, frequency_hz=frequency_hz, side=side, exciting=False,
        measure=f"{test}/{side}", value=share, unit="1", share=share, low=share - half,
        high=share + half, healthy=HEALTHY, grade="sound",
    )  # fmt: skip


def awake(speed=1.0, *why):
    return Quality(90.0, "sound", why, quick_phase_speed=speed, quick_phase_speed_error=0.03)


def mirrored(part):
    """The same result of a person seen in a mirror: right and left exchanged, velocities turned."""
    measures = sorted((mirrored_measure(m) for m in part.measures), key=lambda m: m.id)
    stimulus = getattr(part, "stimulus", None)
    if stimulus is None:
        return replace(part, measures=tuple(measures))
    keys = {k: OTHER.get(v, v) if isinstance(v, str) else v for k, v in stimulus.items()}
    return replace(part, measures=tuple(measures), stimulus=keys)


def mirrored_measure(measure_):
    value, low, high = measure_.value, measure_.low, measure_.high
    if measure_.name in TURNED and measure_.of != "vertical":
        value, low, high = (None if v is None else -v for v in (value, high, low))
    name = {"gain_right": "gain_left", "gain_left": "gain_right"}.get(measure_.name, measure_.name)
    of = measure_.of
    for side, other in OTHER.items():
        if measure_.of and measure_.of.startswith(side):
            of = other + measure_.of[len(side) :]
    exciting = OTHER.get(measure_.exciting, measure_.exciting)
    return replace(measure_, name=name, of=of, exciting=exciting, value=value, low=low, high=high)


__all__ = ["GroupResult", "PairResult", "made"]
