"""Every head impulse of a trial as plain data: accepted or why not, gains, saccades."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from slowphase.measures.impulse.impulse import Impulse, Impulses

if TYPE_CHECKING:
    from slowphase.measures.impulse.saccades import Saccade
    from slowphase.measures.result import TrialResult

NUMBERS = (
    "onset_s",
    "peak_deg_s",
    "acceleration_deg_s2",
    "lasting_s",
    "gain",
    "gain_regression",
    "gain_at_60_ms",
    "gain_at_80_ms",
    "held_share",
)


def impulse_events(trial: TrialResult) -> dict[str, Any]:
    """The key ``impulses`` with every impulse in order; nothing for other kinds of trial."""
    found = trial.evidence.own if trial.evidence else None
    if not isinstance(found, Impulses):
        return {}
    return {
        "plane": found.plane,
        "eyes": list(found.eyes),
        "impulses": [_impulse(one) for one in found.impulses],
    }


def _impulse(one: Impulse) -> dict[str, Any]:
    return {
        "canal": one.canal,
        **{name: getattr(one, name) for name in NUMBERS},
        "refused": list(one.refused),
        "saccades_watched": one.watched,
        "saccades": [_saccade(s) for s in (one.response.saccades if one.response else ())],
    }


def _saccade(saccade: Saccade) -> dict[str, Any]:
    """Times since the head's start; size and peak positive against the head."""
    return {
        "onset_s": saccade.onset_s,
        "offset_s": saccade.offset_s,
        "amplitude_deg": saccade.amplitude_deg,
        "peak_velocity_deg_s": saccade.peak_deg_s,
        "early": bool(saccade.early),
        "corrects": bool(saccade.corrects),
    }
