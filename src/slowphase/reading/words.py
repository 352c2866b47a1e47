"""How numbers are written in sentences and tables."""

import math

from slowphase.foundation.reasons import reasons

DECIMALS = {"1": 2, "%": 0, "deg": 1, "deg/s": 1, "s": 1, "/min": 0, "1/s": 3, "/s": 3, "Hz": 3}
UNIT_WORDS = {
    "1": "",
    "%": "%",
    "/min": "a minute",
    "1/s": "per s",
    "/s": "per s",
    "{count}": "",
    "1/min": "a minute",
}
MINUS = "−"


def number(value: float | None, unit: str, *, more: int = 0) -> str:
    """A number with the digits that its unit deserves, and ``more``; a dash where there is none."""
    if value is None or not math.isfinite(value):
        return "–"
    text = f"{value:.{DECIMALS.get(unit, 1) + more}f}"
    if float(text) == 0.0:
        text = text.lstrip("-")
    return text.replace("-", MINUS)


def unit_words(unit: str) -> str:
    """A UCUM code as people write it."""
    return UNIT_WORDS.get(unit, unit)


def quantity(value: float | None, unit: str, *, more: int = 0) -> str:
    """A number with its unit."""
    return f"{number(value, unit, more=more)} {unit_words(unit)}".strip()


def more_digits(low: float | None, high: float | None, unit: str) -> int:
    """How many digits more than usual (0–2) an interval needs, so as not to vanish."""
    if low is None or high is None or low == high:
        return 0
    apart = (
        more for more in (0, 1) if number(low, unit, more=more) != number(high, unit, more=more)
    )
    return next(apart, 2)


def interval(low: float | None, high: float | None, unit: str) -> str:
    """A 95 % interval, without its unit; empty where there is none."""
    if low is None or high is None or low == high:
        return ""
    more = more_digits(low, high, unit)
    joint = " to " if low < 0 or high < 0 else "–"
    return f"{number(low, unit, more=more)}{joint}{number(high, unit, more=more)}"


def with_interval(value: float | None, low: float | None, high: float | None, unit: str) -> str:
    """A number with unit and 95 % interval: ``11.5 s (10.9–12.2)``."""
    spread = interval(low, high, unit)
    shown = quantity(value, unit, more=more_digits(low, high, unit))
    return f"{shown} ({spread})" if spread else shown


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
