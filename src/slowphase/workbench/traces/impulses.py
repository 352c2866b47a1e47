"""Every head impulse of a trial as it is drawn: head and eye since the head's start."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from slowphase.analysis.document import rounded
from slowphase.measures.impulse.impulse import Impulse, Impulses

if TYPE_CHECKING:
    from slowphase.foundation.arrays import FloatArray
    from slowphase.measures.impulse.saccades import Response, Saccade
    from slowphase.measures.result import TrialResult

Json = dict[str, Any]
NUMBERS = ("peak_deg_s", "gain", "gain_regression")


def impulses(result: TrialResult | None) -> Json:
    """The impulses of a trial; none where it is of another kind or shows none."""
    found = result.evidence.own if result and result.evidence else None
    if not isinstance(found, Impulses):
        return {"plane": None, "eyes": [], "impulses": []}
    rows = [_impulse(one, number) for number, one in enumerate(found.impulses, start=1)]
    return {"plane": found.plane, "eyes": list(found.eyes), "impulses": rows}


def impulse_count(result: TrialResult | None) -> int:
    """How many head impulses a trial shows."""
    found = result.evidence.own if result and result.evidence else None
    return len(found.impulses) if isinstance(found, Impulses) else 0


def _impulse(one: Impulse, number: int) -> Json:
    response = one.response
    return {
        "number": number,
        "onset_s": one.onset_s,
        "canal": one.canal,
        "side": "left" if one.canal.startswith("left") else "right",
        **{name: rounded(float(getattr(one, name))) for name in NUMBERS},
        "refused": list(one.refused),
        "saccades": [_saccade(s) for s in response.saccades] if response else [],
        **_traces(response),
    }


def _traces(response: Response | None) -> Json:
    if response is None:
        return {"since_s": [], "head_deg_s": [], "eye_deg_s": []}
    return {
        "since_s": _listed(response.time_s),
        "head_deg_s": _listed(response.head),
        "eye_deg_s": _listed(np.where(response.hidden, np.nan, response.eye)),
    }


def _listed(values: FloatArray) -> list[float | None]:
    """Values to five digits, None where there is none."""
    return [
        float(f"{value:.5g}") if known else None
        for value, known in zip(values.tolist(), np.isfinite(values).tolist(), strict=True)
    ]


def _saccade(saccade: Saccade) -> Json:
    return {
        "onset_s": rounded(saccade.onset_s),
        "offset_s": rounded(saccade.offset_s),
        "amplitude_deg": rounded(float(saccade.amplitude_deg)),
        "peak_velocity_deg_s": rounded(float(saccade.peak_deg_s)),
        "early": bool(saccade.early),
        "corrects": bool(saccade.corrects),
    }
