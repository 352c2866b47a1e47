"""Invented analyses for the tests of follow-up: values that are known, nothing measured."""

from dataclasses import replace
from datetime import date

from slowphase.analysis.result import Analysis, Provenance
from slowphase.course.key import Key
from slowphase.course.retest import Retest, RetestSet
from slowphase.measures.measure import Measure
from slowphase.measures.result import TrialResult
from slowphase.recording.session import Patient

PROVENANCE = Provenance("0.1.0", "settings", "", "", "")
FREQUENCIES_HZ = (0.01, 0.02, 0.04, 0.08)
DAYS = (date(2026, 1, 5), date(2026, 2, 9), date(2026, 3, 30))


def measure(name, value, half=0.01, unit="1", trial="sin", **more):
    low, high = (None, None) if half is None or value is None else (value - half, value + half)
    grade = more.pop("grade", "unusable" if value is None else "sound")
    return Measure(f"{trial}/{name}", name, value, low, high, unit, grade=grade, **more)


def sinusoid(hz, gain, lead, asymmetry=0.0, *, id_=None, peak=60.0, **more):
    id_ = id_ or f"sin-{hz:g}"
    measures = (
        measure("gain", gain, 0.01, trial=id_, **more),
        measure("phase", lead, 1.0, "deg", id_, **more),
        measure("asymmetry", asymmetry, 1.0, "%", id_, **more),
    )
    stimulus = {"frequency_hz": hz, "peak_velocity_deg_s": peak}
    return TrialResult(id_, "sinusoid", "dark", stimulus, "done", None, None, measures)


def spontaneous(velocity, **more):
    one = measure("velocity", velocity, 0.2, "deg/s", "dark/horizontal", of="horizontal", **more)
    return TrialResult("dark", "spontaneous", "dark", {}, "done", None, None, (one,))


def step(side, constant):
    id_ = f"step-{side}"
    one = measure("time_constant", constant, 0.5, "s", f"{id_}/per", of="per", exciting=side,
                  definition="one_over_e")  # fmt: skip
    stimulus = {"direction": side, "velocity_deg_s": 100.0}
    return TrialResult(id_, "step", "dark", stimulus, "done", None, None, (one,))


def session(day, gains=(0.5, 0.55, 0.6, 0.6), leads=(45.0, 25.0, 13.0, 6.0), *, velocity=0.0,
            asymmetry=0.0, constant=15.0, code="K-1", digest=None, **more):  # fmt: skip
    sines = [
        sinusoid(hz, gain, lead, asymmetry)
        for hz, gain, lead in zip(FREQUENCIES_HZ, gains, leads, strict=True)
    ]
    trials = (*sines, spontaneous(velocity), step("right", constant), step("left", constant))
    provenance = replace(PROVENANCE, input_digest=digest or f"{day}{gains}{leads}{velocity}")
    return Analysis(Patient(code), day, trials, (), (), (), provenance, **more)


def entry(name, kind, unit, sd, *, of=None, exciting=None, definition=None, stimulus=(), n=None,
          index=None, **more):  # fmt: skip
    key = Key("trial", kind, name, unit, of, exciting, definition, "dark", stimulus)
    return Retest(key, sd, "made up", "local", n=n, index=index, **more)


def retests(n=None, **more):
    """SDs of paired differences: gain 0.05, lead 3 deg, asymmetry 5 %, nystagmus 1, constant 2."""
    entries = []
    for hz in FREQUENCIES_HZ:
        stimulus = (("frequency_hz", hz), ("peak_velocity_deg_s", 60.0))
        entries += [
            entry("gain", "sinusoid", "1", 0.05, stimulus=stimulus, n=n, **more),
            entry("phase", "sinusoid", "deg", 3.0, stimulus=stimulus, n=n, **more),
            entry("asymmetry", "sinusoid", "%", 5.0, stimulus=stimulus, n=n, **more),
        ]
    entries.append(entry("velocity", "spontaneous", "deg/s", 1.0, of="horizontal", n=n, **more))
    for side in ("right", "left"):
        stimulus = (("velocity_deg_s", 100.0), ("direction", side))
        entries.append(entry("time_constant", "step", "s", 2.0, of="per", exciting=side, n=n,
                             definition="one_over_e", stimulus=stimulus, **more))  # fmt: skip
    return RetestSet("made up", tuple(entries))
