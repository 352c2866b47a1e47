"""One explanation of all trials of a session, as measures that never travel naked."""

from collections.abc import Iterator

import numpy as np

from slowphase.fit.agreement import Agreement, agreement
from slowphase.fit.effects import effects
from slowphase.fit.explanations import explain
from slowphase.fit.healthy import compare
from slowphase.fit.parameters import (
    ADAPT,
    CHANGE,
    DARK,
    DECAY,
    GAZE,
    LATENCY,
    LEFT,
    NYSTAGMUS,
    RATIO,
    RIGHT,
    TARGET,
)
from slowphase.fit.predict import view
from slowphase.fit.result import SessionReflex
from slowphase.fit.settings import FitSettings
from slowphase.fit.whole_session import SessionFit, fit_session
from slowphase.foundation.arrays import FloatArray
from slowphase.foundation.reasons import worst_grade
from slowphase.measures.interval import (
    NOTHING,
    Estimate,
    Maker,
    propagate,
    proportional,
    symmetric,
    t_quantile,
)
from slowphase.measures.measure import Measure, Side
from slowphase.measures.result import TrialResult
from slowphase.measures.settings import MeasureSettings
from slowphase.measures.two_directions import Carried
from slowphase.physiology.storage import effective
from slowphase.physiology.transfer import step_response

SESSION = "session"
SIDES: tuple[tuple[Side, int, float], ...] = (("right", RIGHT, 0.5), ("left", LEFT, -0.5))
GRID_S = 0.05  # grid of the step response: crossings are interpolated between


def session_reflex(
    trials: tuple[TrialResult, ...], settings: FitSettings, measures: MeasureSettings
) -> SessionReflex | None:
    """One reflex for all trials; None where no trial in the dark moves the chair."""
    fit = fit_session(tuple(c for trial in trials if (c := taken(trial)) is not None), settings)
    if fit is None:
        return None
    agreed = agreement(fit, settings)
    why = reasons_of(fit, agreed, settings)
    make = Maker(SESSION, why)
    found = tuple(session_measures(make, fit, settings))
    return SessionReflex(
        measures=found,
        agreement=agreed,
        views=tuple(view(place, fit, measures) for place in fit.places),
        moved=compare(found),
        effects=effects(fit, measures),
        explanations=explain(fit, settings),
        grade=worst_grade(why),
        why=why,
    )


def taken(trial: TrialResult) -> Carried | None:
    """What a trial gives to the session's fit; None where it is unusable, or where a scene that is
    seen moves the eyes besides the reflex."""
    carried, quality = trial.carried, trial.quality
    if carried is None or quality is None or quality.grade == "unusable":
        return None
    alone = carried.vision in (*DARK, TARGET) or carried.drive is None
    return carried if alone else None


def reasons_of(fit: SessionFit, agreed: Agreement, settings: FitSettings) -> tuple[str, ...]:
    """Reasons that hold for all measures of the session's reflex."""
    why = []
    if disagrees(agreed, settings):
        why.append("trials_disagree")
    if not fit.converged:
        why.append("not_converged")
    return tuple(why)


def disagrees(agreed: Agreement, settings: FitSettings) -> bool:
    """Whether one reflex surely cannot explain the trials, by more than a simple model may miss."""
    limits = {"phase": settings.disagree_phase_deg, "decay": settings.disagree_decay_pct}
    large = any(abs(found.value) > limits[found.of] for found in agreed.deviations)
    return agreed.p is not None and agreed.p < settings.p_disagree and large


def session_measures(make: Maker, fit: SessionFit, settings: FitSettings) -> Iterator[Measure]:
    """Gains, decays, time constants, adaptation, latency, nystagmus and its change, gaze slope."""
    value, error = fit.parameters, fit.standard_errors
    quantile = [t_quantile(float(degrees)) for degrees in fit.degrees]
    responding = [False, False]
    for place, (side, gain, _) in enumerate(SIDES):
        estimate = symmetric(float(value[gain]), float(error[gain]), quantile[gain])
        responding[place] = bool(value[gain] > settings.response_sd * error[gain])
        why = () if responding[place] else ("no_response",)
        if why:
            estimate = Estimate(estimate.value, min(estimate.low or 0.0, 0.0), estimate.high)
        if error[gain] > settings.gain_error_max:
            why = (*why, "poorly_determined")
        yield make(
            f"gain_{side}", estimate, "1", definition="whole_session", exciting=side, why=why
        )
    yield from time_measures(make, fit, responding, settings)
    latency = symmetric(1e3 * value[LATENCY], 1e3 * error[LATENCY], quantile[LATENCY])
    known = error[LATENCY] < 0.5 * settings.latency_sd_s and any(responding)
    yield told(make, "latency", latency, "ms", known)
    limits = {NYSTAGMUS: np.inf, CHANGE: 0.5 * settings.change_sd_deg_s}
    for name, index in (("nystagmus", NYSTAGMUS), ("nystagmus_change", CHANGE)):
        estimate = symmetric(float(value[index]), float(error[index]), quantile[index])
        there = bool(error[index] < limits[index])
        yield make(
            name,
            estimate if there else NOTHING,
            "deg/s",
            definition="straight_ahead",
            why=() if there else ("not_identifiable",),
        )
    slope = symmetric(float(value[GAZE]), float(error[GAZE]), quantile[GAZE])
    floor = (max(limit or 0.0, 0.0) for limit in (slope.value, slope.low, slope.high))
    yield make("gaze_slope", Estimate(*floor), "/s")
    varied = fit.varied
    yield make("strength_spread", _exact(100.0 * varied.level), "%", definition="between_trials")
    yield make("nystagmus_spread", _exact(varied.shift_deg_s), "deg/s", definition="between_trials")


def time_measures(
    make: Maker, fit: SessionFit, responding: list[bool], settings: FitSettings
) -> Iterator[Measure]:
    """Decay and time constant of each direction, and adaptation."""
    chosen = [DECAY, RATIO, ADAPT]
    covariance = fit.covariance[np.ix_(chosen, chosen)]
    degrees = float(np.min(fit.degrees[chosen]))
    quantile = t_quantile(max(degrees, 1.0))

    def logarithms(times: FloatArray) -> FloatArray:
        decays = times[0] + np.array([way for _, _, way in SIDES]) * times[1]
        constants = [
            ideal_time_constant_s(float(np.exp(d)), float(np.exp(times[2]))) for d in decays
        ]
        return np.array([*decays, *np.log(constants), times[2]])

    value, error = propagate(logarithms, fit.parameters[chosen], covariance)
    known = error < settings.log_error_max
    for place, (side, _, _) in enumerate(SIDES):
        for name, definition, index in (
            ("decay", "model", place),
            ("time_constant", "one_over_e", place + 2),
        ):
            estimate = proportional(float(np.exp(value[index])), float(error[index]), quantile)
            why = "no_response" if not responding[place] else "not_identifiable"
            there = responding[place] and bool(known[index])
            yield make(
                f"{name}_{side}",
                estimate if there else NOTHING,
                "s",
                definition=definition,
                exciting=side,
                why=() if there else (why,),
            )
    adaptation = proportional(float(np.exp(value[4])), float(error[4]), quantile)
    yield told(make, "adaptation", adaptation, "s", bool(known[4]) and any(responding))


def told(make: Maker, name: str, estimate: Estimate, unit: str, known: bool) -> Measure:
    """A measure of the model; missing where the trials do not tell it."""
    if known:
        return make(name, estimate, unit, definition="model")
    return make(name, NOTHING, unit, definition="model", why=("not_identifiable",))


def ideal_time_constant_s(decay_s: float, adaptation_s: float) -> float:
    """Time (s) from the peak to 1/e of it after an ideal step, from the closed form."""
    time_s = np.arange(0.0, 2.0 * decay_s + GRID_S, GRID_S)
    response = step_response(effective(decay_s, adaptation_s), time_s)
    after = int(np.argmax(response < 1.0 / np.e))
    high, low = response[after - 1], response[after]
    return float(time_s[after - 1] + GRID_S * (high - 1.0 / np.e) / (high - low))


def _exact(value: float) -> Estimate:
    return Estimate(value, value, value)
