"""The irrigations of a session together: totals, weakness, preponderance.

With signed culminations in the expected direction (a wrong-way response is negative), total =
RW + RC + LW + LC:

    unilateral weakness          100·[(RW + RC) − (LW + LC)] / total   (negative: right weaker)
    directional preponderance    100·[(RW + LC) − (LW + RC)] / total   (positive: right-beating)

(Jongkees, Maas, Philipszoon 1962). A steady spontaneous nystagmus cancels in the weakness and in
the totals; in the preponderance it is the part that is given apart.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from slowphase.foundation.arrays import FloatArray
from slowphase.measures.caloric_irrigations import (
    MISSING,
    PLACES,
    SIGNS,
    Irrigated,
    irrigations,
    stimuli_differ,
)
from slowphase.measures.caloric_ratio import ratio_pct, weighted_sum
from slowphase.measures.caloric_settings import CaloricSettings
from slowphase.measures.interval import NOTHING, Estimate, Maker
from slowphase.measures.measure import Measure
from slowphase.measures.prepare import roughly
from slowphase.measures.result import GroupResult, TrialResult
from slowphase.measures.settings import MeasureSettings

ID = "caloric"
BOUNDED = (  # within ±100 % unless one response goes the wrong way
    "unilateral_weakness",
    "unilateral_weakness_warm",
    "unilateral_weakness_cool",
    "directional_preponderance",
)
JONGKEES, MONOTHERMAL = "jongkees_signed", "monothermal_signed"
RIGHT = np.array([1.0, 1.0, 0.0, 0.0])  # factors of RW, RC, LW, LC in the sums
LEFT = 1.0 - RIGHT  # the left ear's
RIGHT_BEATING = np.array([1.0, 0.0, 0.0, 1.0])  # what should beat to the right
ALL = np.ones(4)  # every irrigation
ALONG = np.array([SIGNS[place] for place in PLACES])  # what a nystagmus adds to each


@dataclass(frozen=True, slots=True)
class Four:
    """Values of RW, RC, LW, LC (deg/s) with standard errors, shape (4,) each."""

    raw: FloatArray
    raw_error: FloatArray
    spontaneous: FloatArray
    spontaneous_error: FloatArray


def group_calorics(
    results: tuple[TrialResult, ...], settings: MeasureSettings
) -> tuple[GroupResult, ...]:
    """Totals, weakness and preponderance of all irrigations, recorded and typed.

    Sets ``right_warm_missing`` and its like, ``caloric_totals_small``, ``irrigations_differ``,
    ``irrigations_disagree``, ``combined_repeats``, ``spontaneous_unknown``, ``known_roughly``,
    ``response_reversed``, and hands on the reasons of the irrigations.
    """
    found = irrigations(results, settings.battery.caloric)
    if not found:
        return ()
    make, own = Maker(ID), settings.battery.caloric
    measures = [*totals(make, found), *ratios(make, found, own), *monothermal(make, found, own)]
    parts = {trial for one in found.values() for trial in one.trials}
    order = tuple(result.id for result in results if result.id in parts)
    return (GroupResult(ID, "caloric", order, tuple(measures)),)


def absent(found: Mapping[str, Irrigated], places: Sequence[str]) -> tuple[str, ...]:
    """Why some of the places have no response: no irrigation, or none that may be used."""
    lacking = [place for place in places if place not in found or not found[place].usable]
    codes = (found[p].why if p in found else (MISSING[p],) for p in lacking)
    return tuple(dict.fromkeys(code for each in codes for code in each))


def reasons_of(found: Mapping[str, Irrigated], places: Sequence[str]) -> tuple[str, ...]:
    """The reasons of the irrigations of these places, each once."""
    return tuple(dict.fromkeys(code for place in places for code in found[place].why))


def totals(make: Maker, found: Mapping[str, Irrigated]) -> list[Measure]:
    """Sum of both responses of each ear, and of all four."""
    ears = [("right", "right ear"), ("left", "left ear")]
    of_ears = [
        total(make, "total", [place for place in PLACES if place.startswith(ear)], found, of)
        for ear, of in ears
    ]
    return [*of_ears, total(make, "total_all", PLACES, found, None)]


def total(
    make: Maker,
    name: str,
    places: Sequence[str],
    found: Mapping[str, Irrigated],
    of: str | None,
) -> Measure:
    """The sum of the responses of these places, in the expected direction."""
    if lacking := absent(found, places):
        return make(name, NOTHING, "deg/s", of=of, why=lacking)
    values, errors = np.array([found[place].raw for place in places]).T
    estimate = weighted_sum(np.ones(len(places)), values, errors)
    return make(name, estimate, "deg/s", of=of, why=reasons_of(found, places))


def ratios(make: Maker, found: Mapping[str, Irrigated], settings: CaloricSettings) -> list[Measure]:
    """Weakness and the three preponderances of four irrigations; missing where one is."""
    names = (
        "unilateral_weakness",
        "directional_preponderance",
        "directional_preponderance_nystagmus",
        "directional_preponderance_rest",
    )
    if lacking := absent(found, PLACES):
        return [make(name, NOTHING, "%", definition=JONGKEES, why=lacking) for name in names]
    four = four_of(found)
    why = (*reasons_of(found, PLACES), *compared(found, settings))
    small = ("caloric_totals_small",) if too_small(four, settings) else ()
    estimates = (NOTHING,) * 4 if small else jongkees(four)
    nystagmus_known = bool(np.isfinite(four.spontaneous).all())
    more = ((), (), *(((), ()) if nystagmus_known else (("spontaneous_unknown",),) * 2))
    quantile = quantile_behind(found.values())
    return [
        ratio_measure(make, name, estimate, (*small, *own, *why), quantile, settings)
        for name, estimate, own in zip(names, estimates, more, strict=True)
    ]


def ratio_measure(
    make: Maker,
    name: str,
    estimate: Estimate,
    why: tuple[str, ...],
    quantile: float,
    settings: CaloricSettings,
) -> Measure:
    """One ratio in percent; one that the responses cannot carry is withheld.

    ``quantile`` is the one behind the intervals that went in.
    Sets ``response_reversed`` beyond 100 %.
    """
    if estimate.value is None:
        why = why or ("caloric_totals_small",)
        if "spontaneous_unknown" not in why:
            why = tuple(dict.fromkeys(("caloric_totals_small", *why)))
    elif estimate.high is not None and estimate.low is not None:
        error = 0.5 * (estimate.high - estimate.low) / quantile
        why = (*why, *roughly(error, settings.rough_pct))
    if name in BOUNDED and abs(estimate.value or 0.0) > 100.0:
        why = (*why, "response_reversed")
    definition = MONOTHERMAL if name.endswith(("_warm", "_cool")) else JONGKEES
    return make(name, estimate, "%", definition=definition, why=why)


def quantile_behind(parts: Iterable[Irrigated]) -> float:
    """The least quantile behind the intervals of the parts: no error is then taken too small."""
    return min(one.quantile for one in parts)


def four_of(found: Mapping[str, Irrigated]) -> Four:
    """The four irrigations as arrays."""
    raw, raw_error = np.array([found[place].raw for place in PLACES]).T
    level, level_error = np.array([found[place].spontaneous for place in PLACES]).T
    return Four(raw, raw_error, level, level_error)


def jongkees(four: Four) -> tuple[Estimate, Estimate, Estimate, Estimate]:
    """Weakness, preponderance by the formula, its part that is the nystagmus, and the rest."""
    turned = 2.0 * RIGHT_BEATING - 1.0
    values = np.concatenate([four.raw, four.spontaneous])
    errors = np.concatenate([four.raw_error, four.spontaneous_error])
    nothing = np.zeros(4)
    below = np.concatenate([ALL, nothing])
    part = np.concatenate([nothing, turned * ALONG])
    whole = np.concatenate([turned, nothing])

    def known(above: FloatArray) -> Estimate:
        told = np.isfinite(four.spontaneous).all()
        return ratio_pct(above, below, values, errors) if told else NOTHING

    return (
        ratio_pct(RIGHT - LEFT, ALL, four.raw, four.raw_error),
        ratio_pct(turned, ALL, four.raw, four.raw_error),
        known(part),
        known(whole - part),
    )


def too_small(four: Four, settings: CaloricSettings) -> bool:
    """Whether both ears stay under the limit of one, or all four together do."""
    ears = float(RIGHT @ four.raw), float(LEFT @ four.raw)
    return max(ears) < settings.ear_min_deg_s or sum(ears) < settings.ear_min_deg_s


def compared(found: Mapping[str, Irrigated], settings: CaloricSettings) -> tuple[str, ...]:
    """The reason of ears that were not irrigated alike."""
    warmths = [
        one for one in ("warm", "cool") if not absent(found, (f"right_{one}", f"left_{one}"))
    ]
    apart = any(
        stimuli_differ(found[f"right_{one}"], found[f"left_{one}"], settings) for one in warmths
    )
    return ("irrigations_differ",) if apart else ()


def monothermal(
    make: Maker, found: Mapping[str, Irrigated], settings: CaloricSettings
) -> list[Measure]:
    """100·(R − L)/(R + L) of each temperature that both ears have, where the four are not whole.

    Without the spontaneous nystagmus, which does not cancel between two irrigations.
    """
    if not absent(found, PLACES):
        return []
    return [
        one_temperature(make, warmth, found, settings)
        for warmth in ("warm", "cool")
        if not absent(found, (f"right_{warmth}", f"left_{warmth}"))
    ]


def one_temperature(
    make: Maker, warmth: str, found: Mapping[str, Irrigated], settings: CaloricSettings
) -> Measure:
    """The weakness from one temperature."""
    pair = found[f"right_{warmth}"], found[f"left_{warmth}"]
    raw, raw_error = np.array([one.raw for one in pair]).T
    level, level_error = np.array([one.spontaneous for one in pair]).T
    along = np.array([SIGNS[one.place] for one in pair])
    why = (*pair[0].why, *pair[1].why)
    if stimuli_differ(*pair, settings):
        why = (*why, "irrigations_differ")
    if not np.isfinite(level).all():
        level, level_error, why = np.zeros(2), np.zeros(2), (*why, "spontaneous_unknown")
    alone = raw - along * level
    small = max(alone) < settings.ear_min_deg_s / 2
    factors = np.array([1.0, -1.0])
    ratio = ratio_pct(factors, np.ones(2), alone, np.hypot(raw_error, level_error))
    estimate = NOTHING if small else ratio
    name = f"unilateral_weakness_{warmth}"
    return ratio_measure(make, name, estimate, why, quantile_behind(pair), settings)
