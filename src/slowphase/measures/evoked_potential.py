"""Vestibular evoked potentials, typed in: amplitudes, latencies, and how the sides compare.

    asymmetry = 100·(R − L)/(R + L) of the amplitudes

Its size is the (larger − smaller)/(larger + smaller) of the trade; its sign says which side is
larger. A response that is absent on one side gives ±100 %.
"""

from collections.abc import Iterator, Mapping

from slowphase.measures.interval import NOTHING, Estimate, Maker
from slowphase.measures.measure import Measure
from slowphase.measures.settings import MeasureSettings

SIDES = ("right", "left")
UNITS = ("uV", "1")  # UCUM codes
TIMES = {"p1_ms": "latency_p1", "n1_ms": "latency_n1", "threshold_db": "threshold"}


def read_evoked_potential(
    make: Maker, values: Mapping[str, object], settings: MeasureSettings
) -> list[Measure]:
    """Amplitude, latencies and threshold of each side, and the asymmetry of amplitudes.

    Reasons: ``response_absent`` where a side was said to have none, ``not_given`` where nothing
    was said of it, ``typed_contradiction`` where both an amplitude and none were, and
    ``unit_not_known`` (their ratio needs no unit).
    """
    return [*sides(make, values), asymmetry(make, values)]


def sides(make: Maker, values: Mapping[str, object]) -> Iterator[Measure]:
    """The values of both sides as they were typed."""
    given = str(values.get("amplitude_unit", "uV"))
    unit = given if given in UNITS else "uV"
    response = str(values.get("response"))
    for side in SIDES:
        missing = why_missing(values, side)
        if not missing and given not in UNITS:
            missing = ("unit_not_known",)
        amplitude = NOTHING if missing else typed(values, f"{side}_amplitude")
        yield make("amplitude", amplitude, unit, of=side, definition=response, why=missing)
        for key, name in TIMES.items():
            if f"{side}_{key}" in values:
                time = typed(values, f"{side}_{key}")
                yield make(name, time, key.rpartition("_")[2].replace("db", "dB"), of=side,
                           definition=response)  # fmt: skip


def asymmetry(make: Maker, values: Mapping[str, object]) -> Measure:
    """The asymmetry of amplitudes (%), positive where the right one is larger."""
    found = [amplitude_or_none(values, side) for side in SIDES]
    right, left = found
    why: tuple[str, ...] = ()
    if any(contradicts(values, side) for side in SIDES):
        right, why = None, ("typed_contradiction",)
    elif right is None or left is None:
        why = ("not_given",)
    elif right + left == 0.0:
        why = ("response_absent",)
    elif 0.0 in found:
        why = ("one_side_absent",)
    if right is None or left is None or right + left == 0.0:
        return make("asymmetry", NOTHING, "%", definition="amplitude", why=why)
    share = 100.0 * (right - left) / (right + left)
    return make("asymmetry", Estimate(share), "%", definition="amplitude", why=why)


def amplitude_or_none(values: Mapping[str, object], side: str) -> float | None:
    """The amplitude of a side: 0 where the response is absent, None where nothing was said."""
    return 0.0 if absent(values, side) else typed(values, f"{side}_amplitude").value


def absent(values: Mapping[str, object], side: str) -> bool:
    """Whether a side was said to have no response; an amplitude of 0 says so, too."""
    return values.get(f"{side}_absent") is True or values.get(f"{side}_amplitude") == 0


def contradicts(values: Mapping[str, object], side: str) -> bool:
    """Whether a side was said to have no response, and an amplitude above 0."""
    said = values.get(f"{side}_absent") is True
    return said and bool(typed(values, f"{side}_amplitude").value)


def why_missing(values: Mapping[str, object], side: str) -> tuple[str, ...]:
    """Why a side has no amplitude; empty where it has one."""
    if contradicts(values, side):
        return ("typed_contradiction",)
    if absent(values, side):
        return ("response_absent",)
    return () if typed(values, f"{side}_amplitude").value is not None else ("not_given",)


def typed(values: Mapping[str, object], key: str) -> Estimate:
    """A typed number, whose interval nobody told."""
    value = values.get(key)
    return Estimate(float(value)) if isinstance(value, int | float) else NOTHING
