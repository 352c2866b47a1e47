"""Sinusoids, steps, suppression."""

from tests.reading.cases.build import found
from tests.reading.sessions import sinusoid, step, step_sides, suppression


def steps(right=12.0, left=12.0, **keys):
    return found(step("a", {"per": ("right", right), "post": ("left", left)}, **keys))


def compared(pair, right=12.0, left=12.0):
    return found(step("a", {"per": ("right", right), "post": ("left", left)}), pairs=[pair])


def suppressed(percent, half=2.0, dark=0.6, frequency_hz=0.04, whole=None, why=(), fix_why=()):
    trials = (sinusoid("dark", dark, frequency_hz=frequency_hz),
              sinusoid("fix", 0.1, "head-fixed target", frequency_hz=frequency_hz, bias=6.0,
                       why=fix_why))  # fmt: skip
    return found(*trials, pairs=[suppression(percent, half, whole=whole, why=why)])


def constant(side):
    """The outcomes of one exciting direction."""
    other = "left" if side == "right" else "right"

    def of(seconds, **keys):
        return lambda: steps(**{side: seconds, other: 12.0}, **keys)

    return {
        "short": of(6.0),
        "usual": of(14.0),
        "long": of(26.0),
        "near": of(9.1),
        "drowsy": of(6.0, why=("low_alertness",)),
        "missing": of(None, why=("no_response",)),
    }


CASES = {
    "response_to_rotation": {
        "none": lambda: found(sinusoid("a", 0.003, half=0.003, why=("no_response",))),
        "weak": lambda: found(sinusoid("a", 0.06, frequency_hz=0.16)),
        "answers": lambda: found(sinusoid("a", 0.5)),
        "missing": lambda: found(sinusoid("a", None, half=None, why=("too_short",))),
    },
    "response_sides": {
        "differ": lambda: compared(step_sides(-37.0, 3.0)),
        "alike": lambda: compared(step_sides(1.0, 3.0)),
        "unsure": lambda: compared(step_sides(5.0, 8.0)),
        "halves": lambda: found(sinusoid("a", 0.3, halves={"right": 0.2, "left": 0.4})),
    },
    "time_constant_right": constant("right"),
    "time_constant_left": constant("left"),
    "time_constant_sides": {
        "differ": lambda: compared(step_sides(0.0, 1.0, 6.0), right=12.0, left=6.0),
        "alike": lambda: compared(step_sides(0.0, 1.0, 0.2)),
        "unsure": lambda: compared(step_sides(0.0, 1.0, 1.0, 3.0)),
    },
    "time_constant_raw_misleads": {
        "misleads": lambda: steps(raw={"right": 21.0, "left": 4.0}, bias=6.0),
    },
    "suppression": {
        "poor": lambda: suppressed(40.0),
        "good": lambda: suppressed(92.0),
        "near": lambda: suppressed(80.0, 4.0),
        "weak_dark": lambda: suppressed(40.0, dark=0.1),
        "drowsy": lambda: suppressed(40.0, fix_why=("low_alertness",)),
        "fast": lambda: suppressed(40.0, frequency_hz=0.64),
        "missing": lambda: suppressed(None, why=("too_short",)),
    },
    "suppression_whole_misleads": {
        "misleads": lambda: suppressed(92.0, whole=58.0),
    },
}
