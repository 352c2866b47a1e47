"""A short made session for the tests of edits: one sinusoid, one rest, with quick phases."""

from datetime import date

import numpy as np

from slowphase.recording.session import Patient, Session
from slowphase.recording.trial import Recording, Trial
from tests.made_traces import RATE_HZ, beating, times

SIGNED = {"by": "R. Doe", "at": "2026-03-02T14:05:00+01:00", "reason": "talked"}


def recording(velocity_deg_s, head=None, seed=1, **more):
    time_s = times(len(velocity_deg_s) / RATE_HZ)
    eye = beating(velocity_deg_s, time_s)
    noise = np.random.default_rng(seed).normal(0, 0.02, (2, eye.size))
    channels = {"eye_h_right": eye + noise[0], "eye_h_left": eye + noise[1]}
    source = None if head is None else "measured"
    return Recording(time_s, RATE_HZ, channels, head, source, **more)


def made_session():
    time_s = times(60.0)
    head = 60.0 * np.sin(2 * np.pi * 0.1 * time_s)
    turning = recording(-0.6 * head, head)
    resting = recording(np.full(times(30.0).size, 4.0), seed=2)
    keys = {"frequency_hz": 0.1, "peak_velocity_deg_s": 60.0}
    trials = (
        Trial("sin-0.1", "sinusoid", "dark", keys, recording=turning),
        Trial("rest", "spontaneous", "dark", recording=resting),
    )
    return Session(Patient("E-1", 40.0), date(2026, 3, 2), trials)
