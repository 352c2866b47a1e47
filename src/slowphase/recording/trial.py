"""One trial of a session: what was asked of the chair, and what was recorded."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from slowphase.foundation.arrays import FloatArray

HeadSource = Literal["measured", "position", "rebuilt"]

KINDS = (
    "calibration",
    "spontaneous",
    "gaze",
    "sinusoid",
    "step",
    "caloric",
    "impulse",
    "saccade",
    "pursuit",
    "optokinetic",
    "positional",
    "head-shaking",
    "check",
    "other",
    "values",
)
VISIONS = ("dark", "light", "head-fixed target", "earth-fixed scene")
OUTCOMES = ("done", "stopped", "not done")


@dataclass(frozen=True, slots=True)
class ByHand:
    """What a person said of the samples, in s on the recording's clock.

    ``excluded`` are intervals that are not used (their eye samples are NaN already), ``quick``
    quick phases that were not found, ``not_quick`` moments inside jumps that are none.
    """

    excluded: tuple[tuple[float, float], ...] = ()
    quick: tuple[tuple[float, float], ...] = ()
    not_quick: tuple[float, ...] = ()


NOTHING_BY_HAND = ByHand()


@dataclass(frozen=True, slots=True)
class Recording:
    """The samples of one trial on one clock, in degrees and seconds, signs as in the docs.

    ``time_s`` has shape (n,), is strictly increasing and starts near 0. ``channels`` maps a role
    (``eye_h_right``, ``eye_v_left``, ``pupil_right``, ``target_h``, …) to an array of shape (n,);
    lost samples are NaN. ``head_velocity_deg_s`` has shape (n,), positive to the right; None when
    there is none and the trial's keys do not tell the motion. ``head_source`` says whether it was
    measured, differentiated from a position, or rebuilt from the trial's keys. ``sampling_hz`` is
    the regression of time on sample number. ``why`` holds reason codes set while reading.
    ``raw_units`` names the unit of eye channels that are not in degrees yet, by role: a calibration
    trial of the session is to turn them (``eye/calibration.py``). ``by_hand`` is what a person
    changed. ``origin_s`` is where ``time_s`` is 0 on the clock of the file.
    """

    time_s: FloatArray
    sampling_hz: float
    channels: Mapping[str, FloatArray]
    head_velocity_deg_s: FloatArray | None = None
    head_source: HeadSource | None = None
    why: tuple[str, ...] = ()
    raw_units: Mapping[str, str] = field(default_factory=dict)
    by_hand: ByHand = NOTHING_BY_HAND
    origin_s: float = 0.0


@dataclass(frozen=True, slots=True)
class Trial:
    """One trial: its keys from the session file and, where it was read, its recording.

    ``stimulus`` holds the numeric and text keys that belong to the kind (``frequency_hz``,
    ``peak_velocity_deg_s``, ``direction``, ``velocity_deg_s``, ``ear`` …). ``recording`` is None
    for trials not done, for ``values``, and for those whose files could not be used.
    """

    id: str
    kind: str
    vision: str | None = None
    stimulus: Mapping[str, object] = field(default_factory=dict)
    file: str | None = None
    start_s: float | None = None
    stop_s: float | None = None
    outcome: str = "done"
    reason: str | None = None
    repeat_of: str | None = None
    eye: str = "both"
    notes: str | None = None
    recording: Recording | None = None
