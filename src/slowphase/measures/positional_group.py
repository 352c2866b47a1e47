"""Positions together: whether the nystagmus reverses on sitting up."""

from collections.abc import Sequence

from slowphase.measures.interval import NOTHING, Estimate, Maker
from slowphase.measures.measure import Measure
from slowphase.measures.pooling import cautions, ratio_estimate
from slowphase.measures.positional_settings import PositionalSettings
from slowphase.measures.result import GroupResult, TrialResult, find, unusable_codes, why_unusable
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
    measures = [positions_beating(make, list(named.values()))]
    for trial in named.values():
        if trial.stimulus.get("sits_up_from"):
            lying = named.get(str(trial.stimulus["sits_up_from"]))
            measures.append(reversal(make, lying, trial, own))
    return (GroupResult(ID, "positional", tuple(named), tuple(measures)),)


def positions_beating(make: Maker, trials: Sequence[TrialResult]) -> Measure:
    """In how many positions there is a nystagmus; missing where no peak may be used."""
    given = [peak for trial in trials for peak in trial.measures if is_peak(peak)]
    known = [trial for trial in trials if peaks(trial)]
    why = cautions([peak for trial in known for peak in peaks(trial) if seen(peak)])
    spoilt = tuple(dict.fromkeys(code for peak in given for code in unusable_codes(peak)))
    if spoilt and not known:
        return make("positions_beating", NOTHING, "1", why=spoilt)
    return make("positions_beating", Estimate(float(sum(map(beats, known)))), "1", why=why)


def is_peak(measure: Measure) -> bool:
    """Whether a measure is the peak of a plane, and has a value."""
    return measure.name == "peak" and measure.value is not None


def peaks(trial: TrialResult) -> list[Measure]:
    """The usable peaks of a trial."""
    return [m for m in trial.measures if is_peak(m) and m.grade != "unusable"]


def seen(peak: Measure) -> bool:
    """Whether a peak is that of a nystagmus."""
    return "no_positional_nystagmus" not in peak.why


def beats(trial: TrialResult) -> bool:
    """Whether any plane of a trial shows a nystagmus."""
    return any(map(seen, peaks(trial)))


def reversal(
    make: Maker, lying: TrialResult | None, rising: TrialResult, settings: PositionalSettings
) -> Measure:
    """−100·peak on sitting up / peak in the position, of the plane that was fastest there.

    Positive: the nystagmus turns to the other side. Interval by Fieller's theorem.
    """
    of = str(rising.stimulus["sits_up_from"])
    before = fastest(lying) if lying else None
    after = find(rising, "peak", before.of) if before else None
    if before is None or after is None:
        planes = [m.of for one in (lying, rising) if one for m in one.measures if is_peak(m)]
        lacking = [one for one in (lying, rising) if one]
        why = tuple(code for plane in planes for code in why_unusable(lacking, "peak", plane))
        return make("reversal", NOTHING, "%", of=of, why=why or ("partner_missing",))
    if abs(before.value or 0.0) < settings.reversal_min_deg_s:
        return make("reversal", NOTHING, "%", of=of, why=("nystagmus_too_small",))
    left = ratio_estimate(before, after, signed=True)  # 100·(1 − after / before)
    estimate = Estimate(
        *(None if x is None else x - 100.0 for x in (left.value, left.low, left.high))
    )
    surely = estimate.low is not None and estimate.low > 0
    large = abs(after.value or 0.0) >= settings.reversal_min_deg_s
    turned = ("reverses_on_rising",) if surely and large else ()
    return make("reversal", estimate, "%", of=of, why=(*cautions([before, after]), *turned))


def fastest(trial: TrialResult) -> Measure | None:
    """The peak of the plane in which the nystagmus was fastest."""
    return max(peaks(trial), key=lambda measure: abs(measure.value or 0.0), default=None)
