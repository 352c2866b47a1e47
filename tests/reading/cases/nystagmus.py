"""Nystagmus at rest, with gaze, on return from it, and jerks of fixation."""

from tests.reading.battery_findings import ACUTE_RIGHT, session
from tests.reading.cases.build import found, group, trial, value
from tests.reading.sessions import fixation, spontaneous


def at_rest(velocity, half=0.3, **keys):
    return found(spontaneous(velocity, half, **keys))


def gaze(law, right=-3.0, left=3.0, slope=-0.1):
    held = [trial(f"gaze-{name}", "gaze", value(name, "velocity", speed, 0.2, "deg/s",
                                                "horizontal"))
            for name, speed in (("right", right), ("left", left))]  # fmt: skip
    slope = value("gaze", "gaze_dependence", slope, 0.02, "/s", "dark", (law,))
    return found(*held, group("gaze", "gaze", slope))


def returned(number, half=0.2, why=()):
    return found(trial("gaze-left", "gaze", value("gaze-left", "rebound", number, half, "deg/s",
                                                  why=why)))  # fmt: skip


def jerks(rate, half=3.0, size=None, size_half=0.2, why=()):
    sizes = [] if size is None else [value("fix", "square_wave_size", size, size_half, "deg")]
    return found(trial("fix", "spontaneous", value("fix", "square_wave_jerks", rate, half, "/min",
                                                   why=why), *sizes, vision="light"))  # fmt: skip


def other_waveform():
    code = ("waveform_not_interpretable",)
    velocity = value("spont", "velocity", 6.0, 0.3, "deg/s", "horizontal", code, grade="unusable")
    return found(trial("spont", "spontaneous", velocity, vision="dark", quality_why=code))


CASES = {
    "spontaneous_nystagmus": {
        "above": lambda: found(spontaneous(8.0), pairs=[fixation(85.0, 5.0)]),
        "below": lambda: at_rest(2.0),
        "near": lambda: at_rest(4.1, 0.8),
        "absent": lambda: at_rest(0.1, 0.2, vertical=0.1),
        "slight": lambda: at_rest(0.6, 0.8),
        "drift": lambda: at_rest(3.0, beats=1.0),
        "changes": lambda: at_rest(1.0, share=62.0, why=("direction_changes",)),
        "unsure": lambda: at_rest(2.0, 4.0),
        "missing": found,
    },
    "vertical_nystagmus": {
        "beating": lambda: at_rest(0.1, vertical=5.9, vertical_beats=40.0),
        "changes": lambda: at_rest(0.1, vertical=1.0, vertical_why=("direction_changes",)),
        "drift": lambda: at_rest(0.1, vertical=6.0, vertical_beats=1.0),
        "near": lambda: at_rest(0.1, vertical=2.1),
        "slight": lambda: at_rest(0.1, vertical=0.9),
        "absent": lambda: at_rest(0.1, vertical=0.1),
        "not_recorded": lambda: at_rest(0.1),
        "missing": lambda: at_rest(None, beats=None, why=("too_short",)),
    },
    "nystagmus_without_loss": {
        "unexplained": lambda: session(velocity=8.0),
        "loss": lambda: session(**ACUTE_RIGHT),
        "unsure": lambda: session(velocity=8.0, impulses_of=(0.8, 0.95)),
    },
    "gaze_nystagmus": {
        "gaze_evoked": lambda: gaze("gaze_evoked"),
        "gaze_law_open": lambda: gaze("gaze_law_open"),
        "alexanders_law": lambda: gaze("alexanders_law", 5.0, 8.0),
        "steep": lambda: gaze("alexanders_law", 5.0, 14.0, -0.3),
        "gaze_independent": lambda: gaze("gaze_independent", 0.1, 0.1),
        "slight": lambda: gaze("gaze_evoked", -0.8, 0.8),
        "missing": lambda: found(trial("gaze-right", "gaze")),
    },
    "rebound_nystagmus": {
        "rebounds": lambda: returned(-3.0, 0.4, ("rebound",)),
        "none": lambda: returned(0.1),
        "near": lambda: returned(1.0),
        "missing": lambda: returned(None, why=("not_recorded_after",)),
    },
    "square_wave_jerks": {
        "many": lambda: jerks(34.0, size=1.0),
        "large": lambda: jerks(10.0, size=3.0),
        "few": lambda: jerks(8.0, size=0.8),
        "near": lambda: jerks(20.0, size=0.8),
        "missing": lambda: jerks(None, why=("waveform_not_interpretable",)),
    },
    "waveform_other": {"other": other_waveform},
}
