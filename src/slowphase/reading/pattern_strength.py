"""How strong a pattern is: its share of belief, the tests behind it, and what must be sure."""

from collections.abc import Mapping

from slowphase.reading.pattern_table import NORMAL, OTHER, Row, Weighed, pattern_table
from slowphase.reading.signs import Sign

TESTS = ("nystagmus", "rotation", "suppression", "calorics", "impulses")


def strength_of(
    row: Row,
    fit: list[Weighed],
    against: list[Weighed],
    share: float,
    signs: Mapping[str, Sign],
) -> str:
    """From the share of belief and the number of tests that speak for it, unless it needs more.

    Values that were typed without an interval cannot make a pattern firm.
    """
    weighing = pattern_table()["weighing"]
    strength = "weak"
    tests = {w.sign.test for w in fit if w.sign.measured}
    if row.code == NORMAL:
        return _of_the_healthy(share, signs)
    if share >= weighing["moderate_from"]:
        doubted = sum(w.points for w in against) < -weighing["firm_against"]
        firm = (
            share >= weighing["firm_from"]
            and len(tests) >= weighing["tests_of_loss"]
            and not doubted
        )
        strength = "firm" if firm else "moderate"
    denied = any(w.expected == "never" and surely(w.sign) for w in against)
    return strength if is_told(row, signs) and not denied else "weak"


def _of_the_healthy(share: float, signs: Mapping[str, Sign]) -> str:
    """Nothing found says the more, the more tests looked for it."""
    weighing = pattern_table()["weighing"]
    tested = {s.test for s in signs.values() if s.chance is not None and s.measured} & set(TESTS)
    if share < weighing["moderate_from"] or len(tested) < weighing["tests_moderate"]:
        return "weak"
    whole = share >= weighing["firm_from"] and len(tested) >= weighing["tests_firm"]
    return "firm" if whole else "moderate"


def is_told(row: Row, signs: Mapping[str, Sign]) -> bool:
    """Whether one of the signs that the pattern needs to be more than weak is sure, or all of
    those that tell it together; and, for a side, nothing surely names the other one."""
    if row.side and any(surely(signs[code]) for code in _names(OTHER[row.side])):
        return False
    names = {"side": row.side or "", "other": OTHER.get(row.side or "", "")}
    alone = [code.format(**names) for code in row.entry.get("told_by", ())]
    together = [code.format(**names) for code in row.entry.get("told_together", ())]
    return (
        not alone
        or any(surely(signs[code]) for code in alone)
        or (bool(together) and all(surely(signs[code]) for code in together))
    )


def _names(side: str) -> tuple[str, ...]:
    """The signs that name a side as the weaker one."""
    return (
        f"beats_{OTHER[side]}_fast",
        f"rotation_{side}_weaker",
        f"caloric_{side}_weaker",
        f"impulse_{side}_lower",
    )


def surely(sign: Sign) -> bool:
    """Whether a sign is there beyond doubt."""
    return (sign.chance or 0.0) >= pattern_table()["weighing"]["surely"]
