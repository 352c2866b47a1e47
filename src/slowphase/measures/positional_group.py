"""Positions together: whether the nystagmus reverses on sitting up."""

from slowphase.measures.interval import NOTHING, Estimate, Maker
from slowphase.measures.measure import Measure
from slowphase.measures.pooling import inherited, ratio_estimate
from slowphase.measures.positional_settings import PositionalSettings
from slowphase.measures.result import GroupResult, TrialResult
from slowphase.measures.settings import MeasureSettings

ID = "positional"


def group_positional(
    results: tuple[TrialResult, ...], settings: MeasureSettings
) -> tuple[GroupResult, ...]:
    """In how many positions there is a nystagmus, and the reversal of every trial that names the
    position it sits up from.

    Sets ``partner_missing``, ``nystagmus_too_small``, ``reverses_on_rising``.
    """
    named = {trial.id: trial for trial in results if trial.kind == "positional" and trial.measures}
    if not named:
        return ()
    make, own = Maker(ID), settings.battery.positional
    beating = float(sum(map(beats, named.values())))
    measures = [make("positions_beating", Estimate(beating), "1")]
    for trial in named.values():
        if trial.stimulus.get("sits_up_from"):
            lying = named.get(str(trial.stimulus["sits_up_from"]))
            measures.append(reversal(make, lying, trial, own))
    return (GroupResult(ID, "positional", tuple(named), tuple(measures)),)


def beats(trial: TrialResult) -> bool:
    """Whether any plane of a trial shows a nystagmus."""
    peaks = (m for m in trial.measures if m.name == "peak" and m.value is not None)
    return any("no_positional_nystagmus" not in measure.why for measure in peaks)


def reversal(
    make: Maker, lying: TrialResult | None, rising: TrialResult, settings: PositionalSettings
) -> Measure:
    """−100·peak on sitting up / peak in the position, of the plane that was fastest there.

    Positive: the nystagmus turns to the other side. Interval by Fieller's theorem.
    """
    of = str(rising.stimulus["sits_up_from"])
    before = fastest(lying) if lying else None
    after = peak_of(rising, before.of) if before else None
    if before is None or after is None:
        return make("reversal", NOTHING, "%", of=of, why=("partner_missing",))
    if abs(before.value or 0.0) < settings.reversal_min_deg_s:
        return make("reversal", NOTHING, "%", of=of, why=("nystagmus_too_small",))
    left = ratio_estimate(before, after, signed=True)  # 100·(1 − after / before)
    estimate = Estimate(
        *(None if x is None else x - 100.0 for x in (left.value, left.low, left.high))
    )
    surely = estimate.low is not None and estimate.low > 0
    large = abs(after.value or 0.0) >= settings.reversal_min_deg_s
    turned = ("reverses_on_rising",) if surely and large else ()
    return make("reversal", estimate, "%", of=of, why=(*inherited([before, after]), *turned))


def fastest(trial: TrialResult) -> Measure | None:
    """The peak of the plane in which the nystagmus was fastest."""
    peaks = [m for m in trial.measures if m.name == "peak" and m.value is not None]
    return max(peaks, key=lambda measure: abs(measure.value or 0.0), default=None)


def peak_of(trial: TrialResult, of: str | None) -> Measure | None:
    """The peak of one plane."""
    found = (m for m in trial.measures if m.name == "peak" and m.of == of)
    return next((measure for measure in found if measure.value is not None), None)
