"""Caloric peaks that were measured elsewhere and typed in."""

from collections.abc import Mapping

from slowphase.measures.caloric_irrigations import PLACES, spoken
from slowphase.measures.interval import NOTHING, Estimate, Maker
from slowphase.measures.measure import Measure
from slowphase.measures.prepare import number
from slowphase.measures.settings import MeasureSettings


def caloric_values(
    make: Maker, keys: Mapping[str, object], settings: MeasureSettings
) -> list[Measure]:
    """Typed peaks (deg/s, positive in the expected direction, the spontaneous nystagmus in
    them), and, where they were typed, that nystagmus (signed as slow phase) and the fixation index.

    Sets ``not_given`` and ``typed_out_of_range``.
    """
    own = settings.battery.caloric
    most = own.typed_max_deg_s
    peaks = [
        typed_measure(make, "response", keys, place, most, of=spoken(place)) for place in PLACES
    ]
    further = [("spontaneous", most), ("fixation_index", own.typed_index_max)]
    return [
        *peaks,
        *(typed_measure(make, name, keys, name, limit) for name, limit in further if name in keys),
    ]


def typed_measure(
    make: Maker,
    name: str,
    keys: Mapping[str, object],
    key: str,
    most: float,
    *,
    of: str | None = None,
) -> Measure:
    """One typed value within ± ``most``, or the reason why there is none."""
    value, unit = number(keys, key), "1" if name == "fixation_index" else "deg/s"
    if key not in keys:
        return make(name, NOTHING, unit, of=of, definition="typed", why=("not_given",))
    if not abs(value) <= most:
        return make(name, NOTHING, unit, of=of, definition="typed", why=("typed_out_of_range",))
    return make(name, Estimate(value), unit, of=of, definition="typed")
