"""Small results with chosen values, for the tests of the rules."""

from slowphase.measures.measure import Measure
from slowphase.measures.result import PairResult, TrialResult
from slowphase.reading.read import read
from slowphase.recording.session import Patient


def measure(trial, name, value, half=None, unit="1", **more):
    low, high = (None, None) if value is None or half is None else (value - half, value + half)
    id_ = "/".join(part for part in (trial, more.get("of"), name) if part)
    if value is None:
        more = {"grade": "unusable", **more}
    return Measure(id_, name, value, low, high, unit, **more)


def spontaneous(velocity, half=0.3, vision="dark", beats=40.0, vertical=None, id_="spont", **more):
    measures = [measure(id_, "velocity", velocity, half, "deg/s", of="horizontal", **more)]
    if vertical is not None:
        measures.append(measure(id_, "velocity", vertical, half, "deg/s", of="vertical"))
    if beats is not None:
        measures.append(measure(id_, "beats_per_min", beats, 3.0, "/min"))
    return TrialResult(id_, "spontaneous", vision, {}, "done", None, None, tuple(measures))


def fixation(effect, half):
    measures = (measure("a~b", "fixation_effect", effect, half, "%"),)
    return PairResult("fixation", "a", "b", measures)


def sinusoid(id_, gain, vision="dark", frequency_hz=0.04, bias=None, why=()):
    measures = [measure(id_, "gain", gain, 0.01, why=why, definition="steady_state")]
    if bias is not None:
        measures.append(measure(id_, "bias", bias, 0.3, "deg/s"))
    stimulus = {"frequency_hz": frequency_hz, "peak_velocity_deg_s": 60.0}
    return TrialResult(id_, "sinusoid", vision, stimulus, "done", None, None, tuple(measures))


def suppression(value, half, whole=None, why=()):
    measures = [measure("dark~fix", "suppression", value, half, "%", why=why)]
    if whole is not None:
        measures.append(measure("dark~fix", "suppression_whole", whole, 4.0, "%"))
    return PairResult("suppression", "dark", "fix", tuple(measures))


def step(id_, constants, half=0.5, raw=None, bias=None, why=()):
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
                        **keys)
            )  # fmt: skip
    if bias is not None:
        measures.append(measure(id_, "bias", bias, 0.4, "deg/s"))
    return TrialResult(id_, "step", "dark", {}, "done", None, None, tuple(measures))


def statements(trials, pairs=(), conditions=None):
    found = read(trials, pairs, {}, Patient("p", 50.0), conditions)
    return {statement.code: statement for statement in found}
