"""Files as a recorder of no known kind might export them."""

import numpy as np
import polars as pl

from tests.recording.chair_motions import RATE_HZ, clock, rest, sinusoid, spin


def strange_export(head_deg_s):
    """Semicolons, decimal commas, German headers, milliseconds, another code page."""
    slow = np.cumsum(-0.6 * head_deg_s) / RATE_HZ
    noise = np.random.default_rng(1).normal(0.0, 0.02, head_deg_s.size)
    eye = (slow + 10.0) % 20.0 - 10.0 + noise
    table = {"Zeit": 1000.0 * clock(head_deg_s), "Stuhl": head_deg_s, "Auge rechts h": eye}
    return pl.DataFrame(table).write_csv(separator=";", decimal_comma=True).encode("cp1252")


def write_exports(folder):
    """A sinusoid and a spin; returns their paths."""
    motions = {
        "sine": sinusoid(0.16, 60.0, 8),
        "spin": np.concatenate([rest(4), spin(100.0, 1.0), rest(50)]),
    }
    for name, head_deg_s in motions.items():
        (folder / f"{name}.csv").write_bytes(strange_export(head_deg_s))
    return [folder / f"{name}.csv" for name in motions]
