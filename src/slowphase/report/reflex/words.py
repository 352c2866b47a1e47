"""The session's reflex in sentences and rows, for the screen and for the page."""

from __future__ import annotations

from typing import TYPE_CHECKING

from slowphase.reading.parting_ways import parting_ways
from slowphase.reading.words import interval, number, quantity, unit_words, with_interval
from slowphase.reference.sets import marks
from slowphase.report.labels import LETTERS, measure_label, word

if TYPE_CHECKING:
    from collections.abc import Iterator

    from slowphase.analysis.result import Analysis
    from slowphase.fit.agreement import Agreement, Deviation
    from slowphase.fit.effects import Effect
    from slowphase.fit.explanations import Explanation
    from slowphase.fit.healthy import Moved
    from slowphase.fit.predict import TrialView
    from slowphase.fit.result import SessionReflex
    from slowphase.measures.measure import Measure
    from slowphase.measures.result import TrialResult

ABOUT = (
    "One model of the reflex and the nystagmus, fitted to all trials at once. Its gains and time "
    "constants are by exciting direction, never the function of one labyrinth."
)
NOT_A_DIAGNOSIS = (
    "An explanation says what the model would need to look like this recording. It is no "
    "diagnosis, and what the model does not know of is not among them."
)
DOUBTS = ("light_leak", "trials_disagree", "not_converged")
DOUBTFUL = (
    "The trials are not those of one reflex in the dark. What follows explains a compromise, not "
    "the patient: find out what is wrong with the recording first."
)
WHERE = {
    "within": "in the healthy range",
    "below": "below the healthy range",
    "above": "above the healthy range",
    "beyond": "beyond the healthy range",
    "unsure": "cannot tell: the interval crosses the end of the healthy range",
    "not_told": "these trials do not tell",
}
TOLD_DEG_S = 1.0  # nystagmus from which what it does is worth a sentence
WORST = 3  # deviations named in a sentence
SHOWN_EFFECTS = (
    ("time_constant_raw", "s"),
    ("asymmetry", "%"),
    ("phase", "deg"),
    ("gain", "1"),
)
COMPARED = ("gain", "phase", "time_constant", "bias", "velocity")
LEAST_EFFECT = {"time_constant_raw": 0.5, "asymmetry": 2.0, "phase": 1.0, "gain": 0.02}


def probability(p: float) -> str:
    """A p-value as it is written."""
    return "p < 0.001" if p < 0.001 else f"p = {p:.3f}" if p < 0.1 else f"p = {p:.2f}"


def agreement_text(reflex: SessionReflex) -> str:
    """Whether one reflex explains the trials, in one or two sentences."""
    agreement = reflex.agreement
    if agreement.p is None:
        return "Too few responses are known to ask whether one reflex explains them."
    responses = f"{len(agreement.deviations)} phases and time constants"
    if "trials_disagree" in reflex.why:
        return (
            f"One reflex does not explain the {responses} ({probability(agreement.p)}). "
            f"Furthest apart: {'; '.join(worst(agreement))}. A compromise is shown below."
        )
    if agreement.p < 0.05:
        return (
            f"One reflex explains the {responses} nearly: the deviations are more than chance "
            f"({probability(agreement.p)}), but small. Largest: {worst(agreement)[0]}."
        )
    return f"One reflex explains the {responses} ({probability(agreement.p)})."


def worst(agreement: Agreement) -> list[str]:
    """The deviations that stand out most, in words."""
    order = sorted(agreement.deviations, key=lambda found: -abs(found.standardised))
    return [deviation_text(found) for found in order[:WORST]]


def deviation_text(found: Deviation) -> str:
    """One deviation: ``sin-0.02 leads 11.0 deg more``."""
    size = abs(found.value)
    if found.of == "phase":
        return f"{found.trial} leads {number(size, 'deg')} deg {_more(found.value)}"
    side = f"exciting {LETTERS[found.exciting]}" if found.exciting else ""
    longer = "longer" if found.value > 0 else "shorter"
    return f"{found.trial} {side} lasts {number(size, '%')} % {longer}"


def deviation_name(deviation: Deviation) -> str:
    """Trial and what deviates."""
    side = f" {LETTERS[deviation.exciting]}" if deviation.exciting else ""
    return f"{deviation.trial}{side} {deviation.of}"


def _more(value: float) -> str:
    return "more" if value > 0 else "less"


def rows(reflex: SessionReflex) -> Iterator[tuple[str, str, str, str]]:
    """Every measure of the reflex: label, value, interval, and how it compares."""
    compared = {moved.parameter.name: WHERE[whereabouts(moved)] for moved in reflex.moved}
    for measure in reflex.measures:
        yield (
            measure_label(measure),
            shown_value(measure),
            interval(measure.low, measure.high, measure.unit),
            compared.get(measure.name, ""),
        )


def whereabouts(moved: Moved) -> str:
    """Where a parameter lies; a signed one is beyond its range on either side, not below it."""
    signed = moved.parameter.low < 0.0 < moved.parameter.high
    return "beyond" if signed and moved.where in ("below", "above") else moved.where


def healthy_texts(reflex: SessionReflex) -> list[str]:
    """The healthy range of each parameter with its source and mark."""
    found = []
    for moved in reflex.moved:
        p = moved.parameter
        ends = f"{number(p.low, p.unit)} to {quantity(p.high, p.unit)}"
        found.append(f"{p.text}: {ends} ({p.source}; {marks()[p.mark].text})")
    return found


def shown_value(measure: Measure) -> str:
    """Value and unit; words where the trials do not tell it."""
    return "not told" if measure.value is None else quantity(measure.value, measure.unit)


def not_told_text(reflex: SessionReflex) -> str:
    """What the trials cannot tell; empty where they tell all."""
    missing = [m for m in reflex.measures if m.value is None]
    if not missing:
        return ""
    return f"These trials cannot tell: {', '.join(measure_label(m) for m in missing)}."


def nystagmus_text(reflex: SessionReflex) -> str:
    """What the session would look like without the nystagmus; empty where there is hardly any."""
    nystagmus = next(m for m in reflex.measures if m.name == "nystagmus")
    if nystagmus.value is None or abs(nystagmus.value) < TOLD_DEG_S:
        return ""
    beats = "left" if nystagmus.value > 0 else "right"
    size = with_interval(nystagmus.value, nystagmus.low, nystagmus.high, nystagmus.unit)
    said = f"The spontaneous nystagmus ({beats}-beating, slow phase {size}) is in every response."
    spoilt = [text for view in reflex.views for text in without_texts(view)]
    if not spoilt:
        return said
    return f"{said} Without it, time to 37 % of the peak would be: {'; '.join(spoilt)}."


def without_texts(view: TrialView) -> Iterator[str]:
    """Plain time constants of one trial without the nystagmus and as they are."""
    for (of, name), (recorded, quiet) in view.without.items():
        if name == "time_constant_raw" and quiet.value is not None:
            then, where = quantity(quiet.value, "s"), f"{view.trial} {word('of', of or '')}"
            if recorded.value is None:
                yield f"{where} {then} (as it is, never reached)"
            else:
                yield f"{where} {then}, not {quantity(recorded.value, 's')}"


def value_text(name: str, value: float, low: float, high: float) -> str:
    """One unknown of an explanation with its interval."""
    units = {"nystagmus": "deg/s"}
    shown = with_interval(value, low, high, units.get(name, "1"))
    return f"{name.replace('_', ' ')} {shown}"


def explanation_text(found: Explanation) -> str:
    """An explanation and what it needs."""
    needed = ", ".join(value_text(*value) for value in found.values)
    return f"{found.text} {needed[:1].upper() + needed[1:] + '. ' if needed else ''}".strip()


def explanations_text(reflex: SessionReflex) -> str:
    """How many explanations fit as well as the best, and whether they are worth reading."""
    count_text = _count_text(reflex)
    return f"{DOUBTFUL} {count_text}" if set(DOUBTS) & set(reflex.why) else count_text


def _count_text(reflex: SessionReflex) -> str:
    count = sum(found.as_well for found in reflex.explanations)
    if count == 0:
        return "None of the explanations that the model knows fits this reflex."
    if count == 1:
        return "One explanation fits better than all others that the model knows."
    return f"{count} explanations fit equally well; the recording cannot tell them apart."


def beside_text(analysis: Analysis) -> str:
    """What calorics and head impulses of the session say, which the fit does not hold."""
    found = [
        f"{'calorics' if point.test == 'caloric' else 'impulses'} {LETTERS[point.side]} "
        f"{quantity(point.value, point.unit)}"
        for point in analysis.function
        if point.side is not None and not point.exciting
    ]
    said = " ".join(parting_ways(analysis.function, analysis.groups))
    return (
        f"Not in the fit, to be read beside it: {'; '.join(found)}. {said}".strip() if found else ""
    )


def ruled_out(reflex: SessionReflex) -> str:
    """Explanations that do not fit, or need more than a simpler one; empty where there are none."""
    others = [found for found in reflex.explanations if not found.as_well]
    worse = [f.title for f in others if f.fits]
    out = [f.title for f in others if not f.fits]
    parts = []
    if out:
        parts.append(f"Do not fit: {', '.join(out)}.")
    if worse:
        parts.append(f"Fit, and are not needed or fit less well: {', '.join(worse)}.")
    return " ".join(parts)


def moved_out(reflex: SessionReflex) -> list[Moved]:
    """Parameters whose whole interval is outside the healthy range."""
    return [moved for moved in reflex.moved if moved.where in ("below", "above")]


def effect_rows(reflex: SessionReflex) -> list[tuple[str, list[Effect]]]:
    """For each parameter that moved: its effects worth showing, the largest kind of each trial."""
    found = []
    for moved in moved_out(reflex):
        name = moved.parameter.name
        own = [e for e in reflex.effects if e.parameter == name and telling(e)]
        if own:
            found.append((moved.parameter.text, own))
    return found


def telling(effect: Effect) -> bool:
    """Whether an effect is large enough to be shown, or makes or unmakes the measure."""
    if effect.change is None:
        return effect.name in LEAST_EFFECT and effect.value is not effect.without
    return abs(effect.change) >= LEAST_EFFECT.get(effect.name, float("inf"))


def effect_table(own: list[Effect]) -> Iterator[list[str]]:
    """For each effect: the response, the measure, what it is, and what it would be without."""
    units = dict(SHOWN_EFFECTS)
    for effect in own:
        unit = units[effect.name]
        now, then = (
            "never reached" if value is None else quantity(value, unit)
            for value in (effect.value, effect.without)
        )
        yield [response_name(effect), effect_name(effect.name), now, then]


def response_name(effect: Effect) -> str:
    """Trial, and per or post for a response to a step."""
    return f"{effect.trial} {word('of', effect.of)}" if effect.of else effect.trial


def effect_name(name: str) -> str:
    """The short name of a measure that effects are shown for."""
    return {"time_constant_raw": "time to 37 %"}.get(name, name)


def predicted_rows(view: TrialView, result: TrialResult) -> Iterator[list[str]]:
    """Measured value with interval and predicted value of the chief measures of one trial."""
    own = {(measure.of, measure.name): measure for measure in result.measures}
    for (of, name), estimate in view.predicted.items():
        measure = own.get((of, name))
        if name not in COMPARED or measure is None:
            continue
        unit = measure.unit
        label = f"{word('of', of)} {name}" if of in ("per", "post") else name
        yield [
            view.trial,
            f"{label.replace('_', ' ')} {unit_words(unit)}".strip(),
            number(measure.value, unit),
            interval(measure.low, measure.high, unit),
            number(estimate.value, unit),
        ]
