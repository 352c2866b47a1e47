"""Pursuit, saccades, optokinetic response."""

from tests.reading.cases.build import found, group, trial, value

PAIR = ("rightward", "leftward")


def pursuit(gain=0.92, half=0.02, frequency_hz=0.2, asymmetry=0.0, ways=(0.92, 0.92), why=()):
    gains = [value("pur", "gain", one, half, of=way, why=why)
             for way, one in zip(PAIR, ways, strict=True)]  # fmt: skip
    return found(trial("pur", "pursuit", value("pur", "gain", gain, half, why=why), *gains,
                       value("pur", "asymmetry", asymmetry, half * 100, "%", why=why),
                       frequency_hz=frequency_hz))  # fmt: skip


def saccades(name, unit, right, left, half, why=()):
    own = [value("sac", name, number, half, unit, way, why)
           for way, number in zip(PAIR, (right, left), strict=True)]  # fmt: skip
    return found(trial("sac", "saccade", *own))


def late(right, left=200.0, half=10.0, why=()):
    return saccades("latency", "ms", right, left, half, why)


def short(right, left=95.0, half=3.0, why=()):
    return saccades("accuracy", "%", right, left, half, why)


def fast(right, left=350.0, half=15.0, why=()):
    return saccades("peak_velocity", "deg/s", right, left, half, why)


def eyes(right, left=1.0, half=0.03, why=()):
    """``right``: speed of the right over the left eye in saccades to the right."""
    return saccades("velocity_ratio", "1", right, left, half, why)


def scenes(asymmetry, half=3.0, gains=(0.7, 0.7), why=()):
    trials = [trial(f"okn-{way}", "optokinetic", value(way, "gain", gain, 0.02, of=way))
              for way, gain in zip(PAIR, gains, strict=True)]  # fmt: skip
    ratio = value("optokinetic-horizontal", "asymmetry", asymmetry, half, "%", why=why)
    return found(*trials, group("optokinetic-horizontal", "optokinetic", ratio,
                                trials=[t.id for t in trials]))  # fmt: skip


def after(right, left, half=0.5, why=()):
    return found(*(trial(f"okn-{way}", "optokinetic", value(way, "gain", 0.7, 0.02, of=way),
                         value(way, "velocity", speed, half, "deg/s", "after", why))
                   for way, speed in zip(PAIR, (right, left), strict=True)))  # fmt: skip


SHORT = ("too_short",)

CASES = {
    "pursuit_gain": {
        "low": lambda: pursuit(0.5),
        "usual": pursuit,
        "near": lambda: pursuit(0.7),
        "fast": lambda: pursuit(0.5, frequency_hz=0.8),
        "missing": lambda: pursuit(None, ways=(None, None), why=("wrong_way",), asymmetry=None),
    },
    "pursuit_sides": {
        "unequal": lambda: pursuit(asymmetry=-40.0, ways=(0.4, 0.93)),
        "alike": pursuit,
        "near": lambda: pursuit(asymmetry=20.0),
        "missing": lambda: pursuit(asymmetry=None, why=SHORT),
    },
    "saccade_latency": {
        "beyond": lambda: late(340.0),
        "usual": lambda: late(205.0),
        "near": lambda: late(260.0),
        "missing": lambda: late(None, None, why=("target_not_timed",)),
    },
    "saccade_accuracy": {
        "beyond": lambda: short(60.0),
        "usual": lambda: short(94.0),
        "near": lambda: short(80.0),
        "missing": lambda: short(None, None, why=("no_saccades",)),
    },
    "saccade_ways": {
        "slower": lambda: fast(200.0),
        "alike": lambda: fast(345.0),
        "near": lambda: fast(265.0),
        "missing": lambda: fast(None, why=("sampled_too_slowly",)),
    },
    "saccade_eyes": {
        "adduction": lambda: eyes(1.7),
        "alike": lambda: eyes(1.03),
        "scale": lambda: eyes(1.25, 1.25),
        "near": lambda: eyes(1.3),
        "missing": lambda: eyes(None, why=("eye_not_seen",)),
    },
    "optokinetic_sides": {
        "unequal": lambda: scenes(40.0, gains=(0.84, 0.36)),
        "alike": lambda: scenes(2.0),
        "near": lambda: scenes(25.0),
        "missing": lambda: scenes(None, why=("response_too_small",)),
    },
    "after_nystagmus_sides": {
        "differ": lambda: after(12.0, -4.0),
        "alike": lambda: after(8.0, -8.2),
        "unsure": lambda: after(8.0, -6.0, half=3.0),
        "missing": lambda: after(None, -8.0, why=("no_after_nystagmus",)),
    },
}
