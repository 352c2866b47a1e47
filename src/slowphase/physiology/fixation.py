"""Suppression by fixation: what is left of the response while a head-fixed target is watched.

    suppression(f) = s₀ / (1 + (f/f_c)²)

It falls with frequency, as pursuit does (Koenig, Dichgans, Dengler 1986, abstract read); about
80 % or better is expected at low and middle speeds (common practice, no source). The corner f_c
is chosen.
"""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Fixation:
    """``strength`` is s₀ (0–1), ``corner_hz`` is f_c, ``spontaneous`` the suppression of a
    spontaneous nystagmus; None takes s₀."""

    strength: float = 0.95
    corner_hz: float = 1.0
    spontaneous: float | None = None


def residual(fixation: Fixation, frequency_hz: float) -> float:
    """The share of the modulated response that is left at one frequency."""
    return 1.0 - fixation.strength / (1.0 + (frequency_hz / fixation.corner_hz) ** 2)


def spontaneous_residual(fixation: Fixation) -> float:
    """The share of a spontaneous nystagmus that is left."""
    strength = fixation.strength if fixation.spontaneous is None else fixation.spontaneous
    return 1.0 - strength
