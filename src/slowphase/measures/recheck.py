"""A calibration that is repeated later in the session tells whether the recorder slipped."""

import numpy as np

from slowphase.eye.calibration_settings import CalibrationSettings
from slowphase.measures.interval import NOTHING, Estimate, Maker
from slowphase.measures.measure import Measure
from slowphase.measures.result import GroupResult, TrialResult, unusable_codes
from slowphase.measures.settings import MeasureSettings


def group_calibration(
    results: tuple[TrialResult, ...], settings: MeasureSettings
) -> tuple[GroupResult, ...]:
    """What changed from the first calibration of the session to each later one (recheck).

    ``drift`` (deg) is the change of the offset, ``gain_change`` (%) that of the gain. Sets
    ``calibration_drifted`` where a change is beyond its own interval and beyond what is ordinary.
    """
    done = [trial for trial in results if trial.kind == "calibration" and trial.evidence]
    own = settings.battery.calibration
    return tuple(_recheck(done[0], later, own) for later in done[1:])


def _recheck(first: TrialResult, later: TrialResult, settings: CalibrationSettings) -> GroupResult:
    make = Maker(f"{first.id}~{later.id}")
    measures = tuple(_changes(make, first, later, settings))
    return GroupResult(make.trial, "calibration", (first.id, later.id), measures)


def _changes(
    make: Maker, first: TrialResult, later: TrialResult, settings: CalibrationSettings
) -> list[Measure]:
    """The changes of each channel of which both trials know offset and gain."""
    known = {(m.of, m.name): m for m in first.measures}
    measures = []
    for offset in (m for m in later.measures if m.name == "offset" and m.of):
        gain, before = _named(later, "gain", offset.of), known.get((offset.of, "offset"))
        old_gain = known.get((offset.of, "gain"))
        if gain is None or before is None or old_gain is None or gain.unit != old_gain.unit:
            continue
        drift, change = _drift(before, offset, old_gain), _gain_change(old_gain, gain)
        parts = (before, offset, old_gain, gain)
        missing = tuple(m.why[-1] for m in parts if m.value is None)[:1]
        spoilt = tuple(dict.fromkeys(code for m in parts for code in unusable_codes(m)))
        if missing or spoilt:
            drift, change, missing = NOTHING, NOTHING, missing or spoilt
        for name, found, unit, limit in (
            ("drift", drift, "deg", settings.drift_deg),
            ("gain_change", change, "%", 100.0 * settings.drift_gain),
        ):
            why = missing or (("calibration_drifted",) if _beyond(found, limit) else ())
            measures.append(make(name, found, unit, of=offset.of, why=why))
    return measures


def _named(result: TrialResult, name: str, of: str | None) -> Measure | None:
    return next((m for m in result.measures if m.name == name and m.of == of), None)


def _half(measure: Measure) -> float:
    return 0.5 * ((measure.high or 0.0) - (measure.low or 0.0))


def _drift(before: Measure, after: Measure, gain: Measure) -> Estimate:
    if before.value is None or after.value is None or not gain.value:
        return NOTHING
    value = (after.value - before.value) / gain.value
    reach = float(np.hypot(_half(before), _half(after))) / abs(gain.value)
    return Estimate(value, value - reach, value + reach)


def _gain_change(before: Measure, after: Measure) -> Estimate:
    if not before.value or after.value is None:
        return NOTHING
    ratio = after.value / before.value
    shares = _half(before) / before.value, _half(after) / before.value
    reach = 100.0 * float(np.hypot(ratio * shares[0], shares[1]))
    value = 100.0 * (ratio - 1.0)
    return Estimate(value, value - reach, value + reach)


def _beyond(found: Estimate, limit: float) -> bool:
    """Whether a change is larger than the limit, and surely there."""
    if found.value is None or found.low is None or found.high is None:
        return False
    return abs(found.value) > limit and found.low * found.high > 0
