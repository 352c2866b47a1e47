"""Head-impulse gains and saccades that were measured elsewhere and typed in.

Keys end in side and canal: ``gain_right_lateral``, ``gain_interval_left_anterior`` (95 %),
``early_saccades_…`` and ``late_saccades_…`` (% of impulses). ``gain_definition`` says how the gain
was had; without it, ``not_stated``, and nothing published is held against it.
"""

from collections.abc import Iterator, Mapping

from slowphase.measures.impulse.plane import CANALS
from slowphase.measures.interval import NOTHING, Estimate, Maker
from slowphase.measures.measure import Measure
from slowphase.measures.settings import MeasureSettings

ALL_CANALS = tuple(canal for canals in CANALS.values() for canal in canals)
NAMES = {"velocity_at_60_ms": "gain_at_60_ms", "velocity_at_80_ms": "gain_at_80_ms",
         "regression": "gain_regression"}  # fmt: skip
SHARES = ("early_saccades", "late_saccades")


def typed_impulse(
    make: Maker, values: Mapping[str, object], settings: MeasureSettings
) -> list[Measure]:
    """The typed values of every canal; the lateral gains missing where nothing was typed."""
    found = [one for canal in ALL_CANALS for one in _of_canal(make, values, canal, settings)]
    nothing = Maker(make.trial)
    return found or [
        nothing("gain", NOTHING, "1", of=canal, definition="not_stated", why=("nothing_typed",))
        for canal in CANALS["lateral"]
    ]


def _of_canal(
    make: Maker, values: Mapping[str, object], canal: str, settings: MeasureSettings
) -> Iterator[Measure]:
    place = canal.replace(" ", "_")
    definition = str(values.get("gain_definition", "not_stated"))
    why = _reasons(values, settings)
    gain = _number(values.get(f"gain_{place}"))
    if gain is not None:
        estimate, missed = _with_interval(gain, values.get(f"gain_interval_{place}"))
        yield make(NAMES.get(definition, "gain"), estimate, "1", of=canal,
                   definition=definition, why=(*why, *missed))  # fmt: skip
    for name in SHARES:
        share = _number(values.get(f"{name}_{place}"))
        if share is not None:
            yield make(name, Estimate(share), "%", of=canal,
                       definition="share_of_impulses", why=why)  # fmt: skip


def _reasons(values: Mapping[str, object], settings: MeasureSettings) -> tuple[str, ...]:
    distance_m = _number(values.get("target_distance_m"))
    near = distance_m is not None and distance_m < settings.battery.impulse.near_m
    return ("near_target",) if near else ()


def _number(value: object) -> float | None:
    return float(value) if isinstance(value, int | float) else None


def _with_interval(gain: float, limits: object) -> tuple[Estimate, tuple[str, ...]]:
    """The gain with the interval that was typed; without one that does not hold it, and why."""
    if not isinstance(limits, list) or len(limits) != 2:
        return Estimate(gain), ()
    low, high = float(limits[0]), float(limits[1])
    if low <= gain <= high:
        return Estimate(gain, low, high), ()
    return Estimate(gain), ("interval_misses_value",)
