"""A number that never travels naked."""

from dataclasses import dataclass
from typing import Literal

from slowphase.foundation.reasons import Grade

Side = Literal["right", "left"]

__all__ = ["Grade", "Measure", "Side"]


@dataclass(frozen=True, slots=True)
class Measure:
    """One measured value with its 95 % interval, unit, grade and reasons.

    ``id`` is the trial's (or pair's) id, the ``of`` part if there is one, and the name, joined by
    slashes. ``of`` is ``per``, ``post``, ``horizontal``, ``vertical``, ``torsional``, a way
    (``rightward`` …), an eye and plane (``right/horizontal`` …), ``after`` or None.
    ``exciting`` is the side that the motion excites, where that makes sense. ``unit`` is a UCUM
    code. ``definition`` says which of several definitions the value follows. A measure that
    cannot be had has ``value`` None, grade ``unusable`` and the reason in ``why``; reasons are
    codes of ``foundation/reasons.toml``.
    """

    id: str
    name: str
    value: float | None
    low: float | None
    high: float | None
    unit: str
    definition: str | None = None
    of: str | None = None
    exciting: Side | None = None
    grade: Grade = "sound"
    why: tuple[str, ...] = ()
