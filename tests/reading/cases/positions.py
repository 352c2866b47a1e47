"""Positional nystagmus."""

from dataclasses import replace

import numpy as np

from slowphase.measures.positional import PositionalShape
from slowphase.measures.result import Evidence
from tests.reading.cases.build import found, group, trial, value


def position(id_="right", *, across=0.3, up=0.3, latency=None, duration=None, lasting=False,
             turned=None, from_=None, half=0.3):  # fmt: skip
    """One position: peaks of both planes (None: not recorded), its times, and its curve.

    ``turned`` is the slow phase (deg/s) that the horizontal curve goes to behind its peak.
    """
    peaks = [
        value(id_, "peak", speed, half, "deg/s", of)
        for of, speed in (("horizontal", across), ("vertical", up))
        if speed is not None
    ]
    why = ("response_outlasts", "lasting_nystagmus") if lasting else ("too_short",)
    times = [
        value(id_, "latency", latency, 0.5, "s", why=() if latency else why),
        value(id_, "duration", duration, 2.0, "s", why=() if duration else why),
    ]
    stimulus = {"position": f"{id_}, head hanging", "sits_up_from": from_}
    made = trial(id_, "positional", *peaks, *times, vision="dark", **stimulus)
    return made if turned is None else replace(made, evidence=curve(across, turned))  # fmt: skip


def curve(peak, after):
    """Evidence with a curve that is at its peak for 10 s, then at another value for 10 s."""
    time_s = np.arange(0.0, 20.0, 0.1)
    speed = np.where(time_s < 10.0, peak, after)
    shape = PositionalShape(0.0, (("horizontal", time_s, speed),), None)
    return Evidence(None, own=shape)


def reversal(lying, number=80.0, why=("reverses_on_rising",)):
    return group("positional", "positional", value("positional", "reversal", number, 10.0, "%",
                                                   lying, why))  # fmt: skip


CASES = {
    "positional_nystagmus": {
        "downbeat": lambda: found(position(up=6.0, duration=40.0, latency=1.0), position("left")),
        "lasting": lambda: found(position(across=9.0, lasting=True)),
        "turns": lambda: found(position(across=9.0, turned=-6.0)),
        "other_way": lambda: found(position(across=9.0), position("left", across=-8.0)),
        "burst": lambda: found(
            position(up=-20.0, latency=3.0, duration=20.0),
            position("up", up=9.0, from_="right", duration=9.0),
            reversal("right"),
        ),
        "untimed": lambda: found(position(across=9.0)),
        "none": lambda: found(position(), position("left")),
        "near": lambda: found(position(across=2.0)),
        "in_part": lambda: found(position(up=None)),
        "missing": lambda: found(position(across=None, up=None)),
    },
}
