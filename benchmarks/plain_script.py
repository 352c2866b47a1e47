"""The alternative: what a capable person writes in an afternoon with pandas and SciPy.

A fixed threshold of 60 deg/s, interpolation over what it removes, a least-squares sine, 37 % of
the raw peak. It stands for no program; it is the yardstick of the benchmarks. Run as a script it
prints its results as JSON, so that it pays for its own start-up.
"""

import json
import sys
import tomllib
from pathlib import Path

import numpy as np
import pandas as pd
from scipy.optimize import curve_fit
from scipy.signal import savgol_filter

THRESHOLD_DEG_S = 60.0


def slow_phase(time_s: np.ndarray, position: np.ndarray) -> np.ndarray:
    """Eye velocity without what is faster than the threshold, interpolated."""
    rate = 1.0 / np.median(np.diff(time_s))
    seen = np.isfinite(position)
    position = np.interp(time_s, time_s[seen], position[seen])
    window = max(5, int(0.03 * rate) | 1)
    velocity = savgol_filter(position, window, 2, deriv=1, delta=1 / rate)
    slow = pd.Series(velocity).rolling(int(rate * 0.5) | 1, center=True, min_periods=1).median()
    fast = np.abs(velocity - slow.to_numpy()) > THRESHOLD_DEG_S
    fast = np.convolve(fast, np.ones(int(0.04 * rate) | 1), mode="same") > 0
    good = ~fast & seen
    return np.interp(time_s, time_s[good], velocity[good])


def sine(time_s: np.ndarray, values: np.ndarray, frequency_hz: float) -> complex:
    angle = 2 * np.pi * frequency_hz * time_s
    design = np.column_stack([np.cos(angle), -np.sin(angle), np.ones_like(angle)])
    real, imaginary, _ = np.linalg.lstsq(design, values, rcond=None)[0]
    return complex(real, imaginary)


def sinusoid(time_s, velocity, head, frequency_hz) -> dict:
    ratio = -sine(time_s, velocity, frequency_hz) / sine(time_s, head, frequency_hz)
    return {"gain": abs(ratio), "phase": float(np.degrees(np.angle(ratio)))}


def step(time_s, velocity, head) -> dict:
    level = np.median(head[np.abs(head) > 0.5 * np.abs(head).max()])
    on = np.flatnonzero(np.abs(head) > 0.97 * abs(level))
    out = {}
    for of, start, stop, size in (
        ("per", time_s[on[0]], time_s[on[-1]], level),
        ("post", time_s[on[-1]] + 0.7, time_s[-1], -level),
    ):
        part = (time_s >= start) & (time_s < stop)
        speed = pd.Series(-np.sign(size) * velocity[part]).rolling(51, center=True).median()
        speed = speed.bfill().ffill().to_numpy()
        peak = int(np.argmax(speed[: max(2, int(len(speed) * 0.2))]))
        below = np.flatnonzero(speed[peak:] < 0.37 * speed[peak])
        times = time_s[part]
        crossing = float(times[peak + below[0]] - times[peak]) if below.size else None
        try:
            fit, _ = curve_fit(
                lambda t, a, tau: a * np.exp(-t / tau),
                times[peak:] - times[peak],
                speed[peak:],
                p0=(speed[peak], 12.0),
            )
            fitted = float(fit[1])
        except RuntimeError:
            fitted = None
        out[of] = {
            "gain": float(speed[peak] / abs(size)),
            "time_constant": crossing,
            "fitted": fitted,
        }
    return out


def analyse(folder: Path) -> dict:
    session = tomllib.loads((folder / "session.toml").read_text(encoding="utf-8"))
    columns = session["columns"]
    results = {}
    for trial in session["trial"]:
        table = pd.read_csv(folder / trial["file"])
        time_s = table[columns["time"]["name"]].to_numpy()
        head = table[columns["head_velocity"]["name"]].to_numpy()
        eyes = [table[columns[role]["name"]] for role in ("eye_h_right", "eye_h_left")]
        velocity = slow_phase(time_s, np.nanmean(np.array(eyes), axis=0))
        if trial["kind"] == "sinusoid":
            results[trial["id"]] = sinusoid(time_s, velocity, head, trial["frequency_hz"])
        elif trial["kind"] == "step":
            results[trial["id"]] = step(time_s, velocity, head)
        else:
            results[trial["id"]] = {"velocity": float(np.median(velocity))}
    return results


if __name__ == "__main__":
    import warnings

    warnings.simplefilter("ignore")
    print(json.dumps(analyse(Path(sys.argv[1]))))
