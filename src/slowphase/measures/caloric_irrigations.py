"""Which irrigations a session has: recorded or typed, right and left, warm and cool."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from slowphase.measures.caloric import CaloricShape, expected_sign, span_of
from slowphase.measures.caloric_settings import CaloricSettings
from slowphase.measures.interval import Z95
from slowphase.measures.pooling import standard_error
from slowphase.measures.prepare import number
from slowphase.measures.result import TrialResult, find, unusable_codes
from slowphase.measures.weighted import weighted

PLACES = ("right_warm", "right_cool", "left_warm", "left_cool")
SIGNS = {"right_warm": -1.0, "right_cool": 1.0, "left_warm": 1.0, "left_cool": -1.0}
MISSING = {
    "right_warm": "right_warm_missing",
    "right_cool": "right_cool_missing",
    "left_warm": "left_warm_missing",
    "left_cool": "left_cool_missing",
}
UNKNOWN = (float("nan"), float("nan"))


@dataclass(frozen=True, slots=True)
class Irrigated:
    """One ear at one temperature; values (deg/s) come with their standard error.

    ``raw`` is the culmination in the expected direction with the spontaneous nystagmus in it,
    ``spontaneous`` that nystagmus, signed as slow phase (NaN where unknown). A typed value has a
    standard error of NaN. ``trials`` are those it comes from. One that may not be used, or that
    disagrees with another of its place, has no ``raw`` (NaN). The errors are those of a normal
    value with the same interval; ``quantile`` made that interval, so that error·1.96/quantile is
    the standard error itself.
    """

    place: str
    raw: tuple[float, float]
    spontaneous: tuple[float, float]
    trials: tuple[str, ...]
    why: tuple[str, ...] = ()
    temperature_c: float = float("nan")
    medium: str | None = None
    length_s: float = float("nan")
    quantile: float = Z95

    @property
    def usable(self) -> bool:
        """Whether it has a response that may be used; why not is then in ``why``."""
        return bool(np.isfinite(self.raw[0]))


def spoken(place: str) -> str:
    """A place as the ``of`` of a measure: ``right warm``."""
    return place.replace("_", " ")


def irrigations(results: Sequence[TrialResult], settings: CaloricSettings) -> dict[str, Irrigated]:
    """The irrigation of each place, repeats joined; recorded ones go before typed ones."""
    found: dict[str, Irrigated] = {}
    for source in (recorded, typed):
        each = [one for result in results for one in source(result, settings)]
        for place in PLACES:
            same = [one for one in each if one.place == place]
            usable = [one for one in same if one.usable]
            known = place in found and found[place].usable
            if usable and not known:
                found[place] = joined(usable, settings)
            elif same and place not in found:
                found[place] = same[0]
    return found


def recorded(result: TrialResult, settings: CaloricSettings) -> list[Irrigated]:
    """The irrigation of one recorded trial; none where it has no place or no value."""
    sign = expected_sign(result.stimulus, settings)
    peak = find(result, "peak", usable=False)
    if result.kind != "caloric" or sign == 0.0 or peak is None:
        return []
    ear = str(result.stimulus["ear"])
    response, before = find(result, "response", usable=False), find(result, "spontaneous")
    flow = span_of(result.stimulus, "irrigation")
    reasons = (*peak.why, *(response.why if response else ()))
    own = Irrigated(
        place=f"{ear}_{'warm' if SIGNS[f'{ear}_warm'] == sign else 'cool'}",
        raw=(sign * float(peak.value or 0.0), standard_error(peak)),
        spontaneous=(float(before.value or 0.0), standard_error(before)) if before else UNKNOWN,
        trials=(result.id,),
        why=tuple(code for code in dict.fromkeys(reasons) if code != "spontaneous_unknown"),
        temperature_c=number(result.stimulus, "temperature_c"),
        medium=str(result.stimulus["medium"]) if "medium" in result.stimulus else None,
    )
    if peak.grade == "unusable":
        return [replace(own, raw=UNKNOWN, why=unusable_codes(peak))]
    lasted = flow[1] - flow[0] if flow and flow[1] is not None else float("nan")
    return [replace(own, length_s=lasted, quantile=quantile_of(result))]


def quantile_of(result: TrialResult) -> float:
    """The quantile behind a trial's intervals; combined repeats have the normal one."""
    shape = result.evidence.own if result.evidence and len(result.parts) < 2 else None
    return shape.quantile if isinstance(shape, CaloricShape) else Z95


def typed(result: TrialResult, settings: CaloricSettings) -> list[Irrigated]:
    """The irrigations of one table of typed values."""
    if result.kind != "values" or result.stimulus.get("test") != "caloric":
        return []
    before = find(result, "spontaneous")
    level = (float(before.value or 0.0), float("nan")) if before else UNKNOWN
    known = [(place, find(result, "response", spoken(place))) for place in PLACES]
    return [
        Irrigated(place, (float(m.value or 0.0), float("nan")), level, (result.id,), why=m.why)
        for place, m in known
        if m is not None
    ]


def joined(same: Sequence[Irrigated], settings: CaloricSettings) -> Irrigated:
    """Irrigations of one place as one, weighed by inverse variance; typed ones alike.

    Sets ``combined_repeats``, or ``irrigations_disagree`` where they are far apart: there is then
    no response, because their mean stands for neither.
    """
    if len(same) == 1:
        return same[0]
    trials = tuple(trial for one in same for trial in one.trials)
    if far_apart(same, settings):
        return replace(same[0], raw=UNKNOWN, trials=trials, why=("irrigations_disagree",))
    why = (*(code for one in same for code in one.why), "combined_repeats")
    known = [one.spontaneous for one in same if not np.isnan(one.spontaneous[0])]
    return replace(
        same[0],
        raw=pooled([one.raw for one in same]),
        spontaneous=pooled(known) if known else UNKNOWN,
        trials=trials,
        quantile=min(one.quantile for one in same),
        why=tuple(dict.fromkeys(why)),
    )


def pooled(values: Sequence[tuple[float, float]]) -> tuple[float, float]:
    """Mean and its standard error, by inverse variance, widened where the values disagree.

    The plain mean without an error where one is unknown.
    """
    each, errors = np.array(values).T
    if not np.isfinite(errors).all():
        return float(each.mean()), float("nan")
    mean = weighted(each.tolist(), errors.tolist())
    return mean.value, mean.held


def far_apart(same: Sequence[Irrigated], settings: CaloricSettings) -> bool:
    """Whether two irrigations differ by much, and by more than chance."""
    each, errors = np.array([one.raw for one in same]).T
    most = float(np.ptp(each))
    errors = errors * Z95 / [one.quantile for one in same]
    by_chance = settings.repeats_apart * float(np.hypot.reduce(np.nan_to_num(errors)))
    share = settings.repeats_apart_share * float(np.max(np.abs(each)))
    return most > max(by_chance, share, settings.ear_min_deg_s / 2)


def stimuli_differ(one: Irrigated, other: Irrigated, settings: CaloricSettings) -> bool:
    """Whether two ears were not irrigated alike; what is not told is taken to be alike."""
    warmth = abs(one.temperature_c - other.temperature_c) > settings.temperature_alike_c
    media = None not in (one.medium, other.medium) and one.medium != other.medium
    longer = max(one.length_s, other.length_s)
    length = abs(one.length_s - other.length_s) > settings.length_alike_share * longer
    return bool(warmth or media or length)
