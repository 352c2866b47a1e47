"""Small results with chosen values, for the tests of the rules."""

from slowphase.measures.measure import Measure
from slowphase.measures.result import PairResult, TrialResult
from slowphase.reading.findings import Findings
from slowphase.reading.read import read
from slowphase.recording.session import Patient


def measure(trial, name, value, half=None, unit="1", **more):
    low, high = (None, None) if value is None or half is None else (value - half, value + half)
    id_ = "/".join(part for part in (trial, more.get("of"), name) if part)
    if value is None:
        more = {"grade": "unusable", **more}
    return Measure(id_, name, value, low, high, unit, **more)


def spontaneous(velocity, half=0.3, vision="dark", beats=40.0, vertical=None, id_="spont", *,
                share=None, vertical_beats=None, vertical_why=(), **more):  # fmt: skip
    measures = [measure(id_, "velocity", velocity, half, "deg/s", of="horizontal", **more)]
    if beats is not None:
        measures.append(measure(id_, "beats_per_min", beats, 3.0, "/min"))
    if share is not None:
        measures.append(measure(id_, "beating_share", share, 2.0, "%"))
    if vertical is not None:
        measures.append(measure(id_, "velocity", vertical, half, "deg/s", of="vertical",
                                why=vertical_why))  # fmt: skip
    if vertical_beats is not None:
        measures.append(measure(id_, "beats_per_min", vertical_beats, 3.0, "/min", of="vertical"))
    return TrialResult(id_, "spontaneous", vision, {}, "done", None, None, tuple(measures))


def fixation(effect, half, of=None):
    measures = (measure("a~b", "fixation_effect", effect, half, "%", of=of),)
    return PairResult("fixation", "a", "b", measures)


def sinusoid(id_, gain, vision="dark", frequency_hz=0.04, bias=None, why=(), *, half=0.01,
             phase=None, halves=None, peak=60.0):  # fmt: skip
    measures = [measure(id_, "gain", gain, half, why=why, definition="steady_state")]
    if phase is not None:
        measures.append(measure(id_, "phase", phase, 2.0, "deg", definition="steady_state"))
    if bias is not None:
        measures.append(measure(id_, "bias", bias, 0.3, "deg/s"))
    for side, value in (halves or {}).items():
        measures.append(measure(id_, f"gain_{side}", value, half, exciting=side))
    stimulus = {"frequency_hz": frequency_hz, "peak_velocity_deg_s": peak}
    return TrialResult(id_, "sinusoid", vision, stimulus, "done", None, None, tuple(measures))


def step_sides(asymmetry, half, difference=None, difference_half=0.5):
    measures = [measure("r~l", "asymmetry", asymmetry, half, "%")]
    if difference is not None:
        measures.append(
            measure("r~l", "time_constant_difference", difference, difference_half, "s")
        )
    return PairResult("step_sides", "r", "l", tuple(measures))


def suppression(value, half, whole=None, why=()):
    measures = [measure("dark~fix", "suppression", value, half, "%", why=why)]
    if whole is not None:
        measures.append(measure("dark~fix", "suppression_whole", whole, 4.0, "%"))
    return PairResult("suppression", "dark", "fix", tuple(measures))


def step(id_, constants, half=0.5, raw=None, bias=None, why=(), raw_why=()):
    """``constants`` maps ``per`` and ``post`` to (exciting side, time constant in s or None)."""
    measures = []
    for of, (side, constant) in constants.items():
        keys = {"of": of, "exciting": side}
        measures.append(
            measure(id_, "time_constant", constant, half, "s", definition="one_over_e", why=why,
                    **keys)
        )  # fmt: skip
        if raw is not None:
            plain = raw[side]
            measures.append(
                measure(id_, "time_constant_raw", plain, None, "s", definition="raw_37_percent",
                        why=raw_why, **keys)
            )  # fmt: skip
    if bias is not None:
        measures.append(measure(id_, "bias", bias, 0.4, "deg/s"))
    return TrialResult(id_, "step", "dark", {}, "done", None, None, tuple(measures))


ALERTED = {"alerting": "naming towns", "recording": "video"}


def statements(trials, pairs=(), conditions=None, placements=None):
    return {s.code: s for s in reading(trials, pairs, conditions, placements)}


def reading(trials, pairs=(), conditions=None, placements=None):
    told = ALERTED if conditions is None else conditions
    return read(Findings(tuple(trials), tuple(pairs), placements or {}, Patient("p", 50.0), told))
