"""Calorics, head impulses, evoked potentials, calibration."""

from slowphase.measures.evoked_potential import read_evoked_potential
from slowphase.measures.interval import Maker
from slowphase.measures.settings import MeasureSettings
from tests.reading.cases.build import found, group, trial, value


def calorics(right=45.0, left=45.0, weakness=None, half=2.0, preponderance=0.0, parts=None, why=()):
    weak = 100.0 * (right - left) / (right + left) if weakness is None else weakness
    measures = [
        value("caloric", "total", right, 0.5, "deg/s", "right ear"),
        value("caloric", "total", left, 0.5, "deg/s", "left ear"),
        value("caloric", "unilateral_weakness", weak if not why else None, half, "%", why=why),
        value("caloric", "directional_preponderance", preponderance if not why else None, half,
              "%", why=why),
    ]  # fmt: skip
    for name, part in zip(("nystagmus", "rest"), parts or (), strict=False):
        measures.append(value("caloric", f"directional_preponderance_{name}", part, 2.0, "%"))
    return found(group("caloric", "caloric", *measures))


def fixated(*indices, why=()):
    return found(*(trial(f"irrigation-{i}", "caloric",
                         value(f"irrigation-{i}", "fixation_index", index, 0.04, why=why))
                   for i, index in enumerate(indices)))  # fmt: skip


def impulses(canals, half=0.02, why=()):
    gains = [value("imp", "gain", gain, half, of=canal, definition="velocity_area", why=why)
             for canal, gain in canals.items()]  # fmt: skip
    return found(trial("imp", "impulse", *gains), group("impulse", "impulse", trials=["imp"]))


def lateral(right, left, **keys):
    return impulses({"right lateral": right, "left lateral": left}, **keys)


def upright(right, left, **keys):
    return impulses({"right anterior": right, "left posterior": left}, **keys)


def evoked(**values):
    told = {"response": "cervical", **values}
    measures = read_evoked_potential(Maker("cervical"), told, MeasureSettings())
    return found(trial("cervical", "values", *measures))


def sides(right, left):
    return evoked(right_amplitude=right, left_amplitude=left)


def calibrated(right=1.0, left=1.0, half=0.01, apart=0.5, why=()):
    measures = [value("cal", "gain", gain, half, of=f"{side}/horizontal", why=why)
                for side, gain in (("right", right), ("left", left))]  # fmt: skip
    measures.append(value("cal", "conjugacy", apart, 0.2, "deg", "horizontal"))
    return found(trial("cal", "calibration", *measures))


CASES = {
    "caloric_weakness": {
        "both": lambda: calorics(2.0, 3.0),
        "weaker": lambda: calorics(18.0, 52.0),
        "near": lambda: calorics(weakness=25.0, half=5.0),
        "even": lambda: calorics(50.0, 47.0),
        "missing": lambda: calorics(why=("left_cool_missing",)),
    },
    "caloric_preponderance": {
        "beats": lambda: calorics(preponderance=44.7, parts=(5.0, 39.7)),
        "nystagmus": lambda: calorics(preponderance=-44.7, parts=(-40.0, -4.7)),
        "even": lambda: calorics(preponderance=0.9),
        "near": lambda: calorics(preponderance=30.0, half=5.0),
        "missing": lambda: calorics(why=("left_cool_missing",)),
    },
    "caloric_fixation": {
        "poor": lambda: fixated(0.85, 0.9),
        "good": lambda: fixated(0.4),
        "near": lambda: fixated(0.6),
        "missing": lambda: fixated(None, why=("fixation_not_seen",)),
    },
    "impulse_gain": {
        "both": lambda: lateral(0.3, 0.35),
        "right": lambda: lateral(0.4, 0.95),
        "left": lambda: lateral(0.95, 0.4),
        "near": lambda: lateral(0.8, 0.95),
        "usual": lambda: lateral(0.95, 0.92),
        "missing": lambda: lateral(None, None, why=("no_impulse_accepted",)),
    },
    "impulse_gain_vertical": {
        "low": lambda: upright(0.4, 0.9),
        "usual": lambda: upright(0.85, 0.9),
        "near": lambda: upright(0.7, 0.9),
        "missing": lambda: upright(None, None, why=("no_impulse_accepted",)),
    },
    "evoked_potential_sides": {
        "unequal": lambda: sides(100, 40),  # 42.9 %
        "one_absent": lambda: evoked(right_amplitude=84, left_absent=True),
        "alike": lambda: sides(84, 51),  # 24.4 %
        "near": lambda: sides(100, 45),  # 37.9 %
        "both_absent": lambda: evoked(right_absent=True, left_absent=True),
        "missing": lambda: evoked(right_amplitude=84),
    },
    "calibration_fits_not": {
        "off": lambda: calibrated(1.3, 1.28, why=("calibration_off",)),
        "eyes_differ": lambda: calibrated(1.07, 0.93),
        "bent": lambda: calibrated(why=("not_linear",)),
        "apart": lambda: calibrated(apart=5.0),
        "fits": calibrated,
        "near": lambda: calibrated(1.1, 1.1),
        "missing": lambda: calibrated(None, None, apart=None, why=("targets_unknown",)),
    },
}
