"""How numbers are written in sentences and tables."""

import math
from collections.abc import Iterable

from slowphase.foundation.reasons import reasons
from slowphase.reference.placement import Placement

DECIMALS = {
    "1": 2,
    "%": 0,
    "deg": 1,
    "deg/s": 1,
    "s": 1,
    "/min": 0,
    "/s": 3,
    "Hz": 3,
    "ms": 0,
}
UNIT_WORDS = {
    "1": "",
    "%": "%",
    "/min": "a minute",
    "/s": "per s",
}
MINUS = "−"
DIGITS_MOST = 6  # decimals, as many as the result document gives


def number(value: float | None, unit: str) -> str:
    """A number with the digits that its unit deserves; a dash where there is none."""
    if value is None or not math.isfinite(value):
        return "–"
    text = f"{value:.{decimals(unit)}f}"
    if float(text) == 0.0:
        text = text.lstrip("-")
    return text.replace("-", MINUS)


def decimals(unit: str) -> int:
    """How many decimals numbers of this unit are shown with, always."""
    return DECIMALS.get(unit, 1)


def unit_words(unit: str) -> str:
    """A UCUM code as people write it."""
    return UNIT_WORDS.get(unit, unit)


def quantity(value: float | None, unit: str) -> str:
    """A number with its unit."""
    return f"{number(value, unit)} {unit_words(unit)}".strip()


def beside(value: float | None, unit: str, limits: Iterable[float]) -> str:
    """A number with its unit, with as many digits as tell it from each limit that it differs from.

    A weakness of 25.3 % beside a limit of 25 % is not written as “25 %”; signs are disregarded.
    """
    others = [abs(limit) for limit in limits]
    if value is None or not math.isfinite(value):
        return quantity(value, unit)
    size, digits = abs(value), decimals(unit)
    for other in others:
        while (
            digits < DIGITS_MOST and size != other and f"{size:.{digits}f}" == f"{other:.{digits}f}"
        ):
            digits += 1
    if digits == decimals(unit):
        return quantity(value, unit)
    return f"{value:.{digits}f} {unit_words(unit)}".strip().replace("-", MINUS)


def interval(low: float | None, high: float | None, unit: str) -> str:
    """A 95 % interval, without its unit; empty where there is none.

    One that is narrower than the last digit shown is written as less than that digit.
    """
    if low is None or high is None:
        return ""
    alike = number(low, unit) == number(high, unit)
    if unit == "%" and alike and number(abs(low), unit) == "100":
        return "at its limit"
    if low == high:
        return ""
    if alike:
        return f"±<{10.0 ** -decimals(unit):.{decimals(unit)}f}"
    joint = " to " if low < 0 or high < 0 else "–"
    return f"{number(low, unit)}{joint}{number(high, unit)}"


def with_interval(
    value: float | None,
    low: float | None,
    high: float | None,
    unit: str,
    *,
    limits: Iterable[float] = (),
) -> str:
    """A number with unit and 95 % interval: ``11.5 s (10.9–12.2)``, told from ``limits``."""
    spread = interval(low, high, unit)
    shown = beside(value, unit, limits)
    return f"{shown} ({spread})" if spread else shown


def ordinal(rank: int) -> str:
    """``1st``, ``2nd``, ``3rd``, ``11th``."""
    teens = 10 <= rank % 100 <= 20
    return f"{rank}{'th' if teens else {1: 'st', 2: 'nd', 3: 'rd'}.get(rank % 10, 'th')}"


def percentile_words(percentile: float | None) -> str:
    """A percentile in words; the ends are not resolved further than 1 and 99."""
    if percentile is None:
        return ""
    if percentile < 1:
        return "below the 1st percentile"
    if percentile > 99:
        return "above the 99th percentile"
    return f"{ordinal(round(percentile))} percentile"


def place_words(placement: Placement) -> str:
    """A place among the healthy; only about so where the set does not tell enough of itself."""
    place = percentile_words(placement.percentile) or _outermost(placement)
    return f"about the {place}" if placement.unstated and place[:1].isdigit() else place


def _outermost(placement: Placement) -> str:
    """A value beyond the outermost percentile that its set holds."""
    if placement.below is not None:
        return f"below the {percentile_name(placement.below)} percentile"
    if placement.above is not None:
        return f"above the {percentile_name(placement.above)} percentile"
    return ""


def percentile_name(percentile: float) -> str:
    """``25th``, ``2.5th``: a percentile as an ordinal."""
    whole = percentile == round(percentile)
    return ordinal(round(percentile)) if whole else f"{percentile:g}th"


def people_words(placement: Placement) -> str:
    """How many people a set rests on and what it does not tell, in a few words."""
    return ", ".join((*((f"n = {placement.n}",) if placement.n else ()), *placement.unstated))


def chance(probability: float) -> str:
    """A probability as people say it; never 0 or 100 %."""
    if probability > 0.99:
        return "over 99 %"
    if probability < 0.01:
        return "under 1 %"
    return f"{100 * probability:.0f} %"


def reason_text(code: str) -> str:
    """A reason's sentence; the code itself, spelt out, when the table does not know it."""
    known = reasons().get(code)
    return known.text if known else code.replace("_", " ").capitalize() + "."


def reason_clause(codes: tuple[str, ...]) -> str:
    """Reasons as the tail of a sentence, without the full stop."""
    clauses = [reason_text(code).rstrip(".") for code in codes]
    clauses = [clause[:1].lower() + clause[1:] for clause in clauses]
    return "; ".join(clauses) or "no value could be had"
