"""Findings with chosen values of the whole battery, for tests of signs, patterns and criteria."""

from slowphase.measures.measure import Measure
from slowphase.measures.result import GroupResult, TrialResult
from slowphase.reading.coherence import Incoherence
from slowphase.reading.findings import Findings
from slowphase.recording.session import Patient
from tests.reading.sessions import ALERTED, fixation, sinusoid, spontaneous, step, step_sides
from tests.reading.sessions import suppression as suppressed

FREQUENCIES = (0.01, 0.02, 0.04, 0.08, 0.16, 0.32, 0.64)
HEALTHY_LEAD = {0.01: 44.0, 0.02: 25.0, 0.04: 13.0, 0.08: 7.0, 0.16: 3.0, 0.32: 2.0, 0.64: 1.0}
LOW_ALERTNESS = Incoherence("low_alertness", 0.6, 0.5, 0.7, "1", 0.75, ())
LIGHT_LEAK = Incoherence("light_leak", 5.0, 4.0, 6.0, "deg", 30.0, ())


def valued(id_, name, value, half, unit="1", of=None, **more):
    low, high = (None, None) if half is None else (value - half, value + half)
    return Measure(id_, name, value, low, high, unit, of=of, **more)


def calorics(right=45.0, left=45.0, preponderance=0.0, half=1.0, why=()):
    """Totals of both ears and what follows from them."""
    weak = 100.0 * (right - left) / (right + left)
    measures = (
        valued("caloric/right ear/total", "total", right, half, "deg/s", "right ear"),
        valued("caloric/left ear/total", "total", left, half, "deg/s", "left ear"),
        valued("caloric/unilateral_weakness", "unilateral_weakness", weak, 2.0, "%", why=why),
        valued("caloric/directional_preponderance", "directional_preponderance", preponderance,
               2.0, "%"),
    )  # fmt: skip
    return GroupResult("caloric", "caloric", (), measures)


def impulses(right=0.95, left=0.95, half=0.02):
    """The trial with both lateral gains, and the group with their difference."""
    gains = tuple(
        valued(f"imp/{side} lateral/gain", "gain", value, half, of=f"{side} lateral",
               definition="velocity_area")
        for side, value in (("right", right), ("left", left))
    )  # fmt: skip
    trial = TrialResult("imp", "impulse", "light", {}, "done", None, None, gains)
    difference = valued("impulse/lateral/gain_difference", "gain_difference", right - left,
                        1.4 * (half or 0.0), of="lateral")  # fmt: skip
    return trial, GroupResult("impulse", "impulse", ("imp",), (difference,))


def pursuit(gain=0.92, half=0.01, frequency_hz=0.2):
    measures = (valued("pur/gain", "gain", gain, half),)
    stimulus = {"frequency_hz": frequency_hz}
    return TrialResult("pur", "pursuit", "light", stimulus, "done", None, None, measures)


def session(
    *,
    velocity=0.0,
    gain=0.6,
    lead=1.0,
    constants=(14.0, 14.0),
    sides=0.0,
    suppression=92.0,
    calorics_of=(45.0, 45.0),
    impulses_of=(0.95, 0.95),
    pursuit_of=0.92,
    preponderance=0.0,
    age=50.0,
    effect=80.0,
    vertical=0.0,
    found=(),
    chair_hz=FREQUENCIES,
    conditions=None,
):
    """A session of every test; None leaves a test out.

    ``lead`` is a factor of the healthy leads, ``constants`` are right and left (s), ``sides`` the
    asymmetry of step gains (%).
    """
    trials, pairs, groups = [], [], []
    if velocity is not None:
        trials.append(spontaneous(velocity, vertical=vertical, vertical_beats=40.0))
        pairs.append(fixation(effect, 3.0))
    if gain is not None:
        trials += [
            sinusoid(f"sin-{f:g}", gain, frequency_hz=f, bias=velocity,
                     phase=HEALTHY_LEAD.get(f, 5.0) * lead)
            for f in chair_hz
        ]  # fmt: skip
    if constants is not None:
        right, left = constants
        trials.append(step("step", {"per": ("right", right), "post": ("left", left)}))
        pairs.append(step_sides(sides, 1.0))
    if suppression is not None:
        trials += [sinusoid("dark", gain or 0.6), sinusoid("fix", 0.05, "head-fixed target")]
        pairs.append(suppressed(suppression, 1.0))
    if calorics_of is not None:
        groups.append(calorics(*calorics_of, preponderance))
    if impulses_of is not None:
        trial, group = impulses(*impulses_of)
        trials.append(trial)
        groups.append(group)
    if pursuit_of is not None:
        trials.append(pursuit(pursuit_of))
    return Findings(
        tuple(trials),
        tuple(pairs),
        patient=Patient("p", age),
        conditions=ALERTED if conditions is None else conditions,
        groups=tuple(groups),
        incoherences=tuple(found),
    )


def mirrored(**keys):
    """The same session with right and left swapped."""
    turned = dict(keys)
    for key in ("constants", "calorics_of", "impulses_of"):
        if turned.get(key) is not None:
            turned[key] = turned[key][::-1]
    for key in ("velocity", "sides", "preponderance"):
        turned[key] = -turned.get(key, 0.0)
    return session(**turned)


ACUTE_RIGHT = {
    "velocity": 12.0,
    "gain": 0.35,
    "constants": (6.0, 8.0),
    "lead": 1.5,
    "sides": -20.0,
    "calorics_of": (4.0, 44.0),
    "impulses_of": (0.4, 0.75),
}
