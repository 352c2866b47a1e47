"""The pure-tone audiogram, typed in: thresholds, averages, and how the ears compare."""

from collections.abc import Iterator, Mapping
from typing import cast

import numpy as np

from slowphase.measures.interval import NOTHING, Estimate, Maker
from slowphase.measures.measure import Measure
from slowphase.measures.settings import MeasureSettings

EARS = ("right", "left")
WAYS = ("air", "bone")
AVERAGES: Mapping[str, tuple[int, ...]] = {  # common practice, no source
    "low_tone_average": (250, 500, 1000),
    "pure_tone_average": (500, 1000, 2000, 4000),
}


def read_audiogram(
    make: Maker, values: Mapping[str, object], settings: MeasureSettings
) -> list[Measure]:
    """Every threshold (dB HL) of each ear, averages of each ear, and their difference R − L.

    A tone that was not heard at the loudest level is missing (``not_heard``), and so is every
    average that needs it; an average of a tone that was not tested is ``not_given``.
    """
    measures = [m for ear in EARS for way in WAYS for m in thresholds(make, values, ear, way)]
    return [*measures, *averages(make, values)]


def thresholds(make: Maker, values: Mapping[str, object], ear: str, way: str) -> Iterator[Measure]:
    """The thresholds of one ear by air or bone, from low to high frequency."""
    for frequency, level in sorted(levels(values, ear, way).items()):
        yield make(
            f"threshold_{way}_{frequency}_hz",
            NOTHING if level is None else Estimate(level),
            "dB",
            of=f"{ear} ear",
            definition="hearing_level",
            why=("not_heard",) if level is None else (),
        )


def averages(make: Maker, values: Mapping[str, object]) -> Iterator[Measure]:
    """Averages by air of each ear that has thresholds, and their difference R − L."""
    for name, tones in AVERAGES.items():
        found = {ear: average(levels(values, ear, "air"), tones) for ear in EARS}
        if all(why == "not_given" for _, why in found.values()):
            continue
        for ear, (mean, why) in found.items():
            yield make(name, Estimate(mean), "dB", of=f"{ear} ear", definition="air",
                       why=(why,) if why else ())  # fmt: skip
        right, left = (found[ear][0] for ear in EARS)
        lacking = tuple(dict.fromkeys(why for _, why in found.values() if why))
        difference = None if right is None or left is None else right - left
        yield make(f"{name}_difference", Estimate(difference), "dB", definition="air", why=lacking)


def average(heard: Mapping[int, float | None], tones: tuple[int, ...]) -> tuple[float | None, str]:
    """Mean threshold (dB) over the tones and, where there is none, why."""
    if any(tone not in heard for tone in tones):
        return None, "not_given"
    known = [level for tone in tones if (level := heard[tone]) is not None]
    return (None, "not_heard") if len(known) < len(tones) else (float(np.mean(known)), "")


def levels(values: Mapping[str, object], ear: str, way: str) -> dict[int, float | None]:
    """Thresholds (dB) by frequency (Hz); None where the loudest tone was not heard."""
    given = cast("Mapping[str, object]", values.get(f"{ear}_{way}_db") or {})
    return {
        int(frequency): float(level) if isinstance(level, int | float) else None
        for frequency, level in given.items()
    }
