"""Suppression by fixation: what is left of the response while a head-fixed target is watched.

    suppression(f, V) = s₀ / (1 + (f/f_c)²) / (1 + (V/V_max)⁴)^¼

V is the peak velocity of the head. It falls with frequency and with amplitude, as the pursuit does
that it rests on (Koenig, Dichgans, Dengler 1986, abstract read); about 80 % or better is expected
at low and middle speeds (common practice, no source). f_c, V_max and the form are chosen; without
a V_max amplitude plays no part.
"""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Fixation:
    """``strength`` is s₀ (0–1), ``corner_hz`` is f_c, ``largest_deg_s`` V_max (None: any speed),
    ``spontaneous`` the suppression of a spontaneous nystagmus; None takes s₀."""

    strength: float = 0.95
    corner_hz: float = 1.0
    spontaneous: float | None = None
    largest_deg_s: float | None = None


def residual(fixation: Fixation, frequency_hz: float, peak_deg_s: float = 0.0) -> float:
    """The share of the modulated response that is left at one frequency and peak velocity."""
    suppressed = fixation.strength / (1.0 + (frequency_hz / fixation.corner_hz) ** 2)
    if fixation.largest_deg_s is not None:
        suppressed *= (1.0 + (peak_deg_s / fixation.largest_deg_s) ** 4) ** -0.25
    return 1.0 - suppressed


def spontaneous_residual(fixation: Fixation) -> float:
    """The share of a spontaneous nystagmus that is left."""
    strength = fixation.strength if fixation.spontaneous is None else fixation.spontaneous
    return 1.0 - strength
