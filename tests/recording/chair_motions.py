"""Chair velocities by their formulas, in deg/s at 100 Hz."""

import numpy as np

RATE_HZ = 100


def clock(velocity):
    return np.arange(velocity.size) / RATE_HZ


def rest(seconds):
    return np.zeros(round(seconds * RATE_HZ))


def sinusoid(frequency_hz, peak_deg_s, cycles):
    time = np.arange(round(cycles / frequency_hz * RATE_HZ)) / RATE_HZ
    return peak_deg_s * np.sin(2.0 * np.pi * frequency_hz * time)


def spin(velocity_deg_s, ramp_s, seconds=40.0):
    ramp = np.linspace(0.0, velocity_deg_s, round(ramp_s * RATE_HZ))
    return np.concatenate([ramp, np.full(round(seconds * RATE_HZ), velocity_deg_s), ramp[::-1]])


def impulses(count, peak_deg_s=180.0):
    """Raised cosines of 150 ms to alternate sides, 1.5 s apart."""
    turn = peak_deg_s * 0.5 * (1.0 - np.cos(np.linspace(0.0, 2.0 * np.pi, round(0.15 * RATE_HZ))))
    one = np.concatenate([rest(1.0), turn, rest(0.5)])
    return np.concatenate([one * (-1.0) ** number for number in range(count)])
