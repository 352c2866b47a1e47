"""The table of reasons: code, sentence, effect on the number."""

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Literal

Grade = Literal["sound", "caution", "unusable"]


@dataclass(frozen=True, slots=True)
class Reason:
    """Why a number is less than it might be. ``grade`` is the best grade it leaves."""

    code: str
    text: str
    effect: str
    grade: Grade


@cache
def reasons() -> dict[str, Reason]:
    """Every reason by its code."""
    table = tomllib.loads((files(__package__) / "reasons.toml").read_text(encoding="utf-8"))
    return {code: Reason(code=code, **entry) for code, entry in table.items()}


def worst_grade(codes: tuple[str, ...]) -> Grade:
    """The best grade that a measure with these reasons may carry."""
    order: tuple[Grade, ...] = ("sound", "caution", "unusable")
    grades = [reasons()[code].grade for code in codes]
    return max(grades, key=order.index, default="sound")
