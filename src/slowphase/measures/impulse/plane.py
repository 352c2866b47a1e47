"""The plane of an impulse, the canals it excites, and the head's velocity in and off that plane.

Head velocity in a plane is positive to the patient's right (lateral) or with the nose going up
(RALP, LARP), so that gain is −eye/head in every plane. Positive excites

    lateral   right lateral      negative: left lateral
    RALP      left posterior     negative: right anterior
    LARP      right posterior    negative: left anterior

With pitch (nose up) and roll (top of the head to the right shoulder) recorded, the head's velocity
in the planes, 45 deg from straight ahead each, is

    RALP = (pitch − roll)/√2     LARP = (pitch + roll)/√2
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from slowphase.foundation.arrays import FloatArray
from slowphase.recording.trial import Recording

CANALS: Mapping[str, tuple[str, str]] = {  # plane -> canals that positive, negative motion excites
    "lateral": ("right lateral", "left lateral"),
    "RALP": ("left posterior", "right anterior"),
    "LARP": ("right posterior", "left anterior"),
}
PLANE_WORDS = {"horizontal": "lateral", **{plane: plane for plane in CANALS}}
YAW, PITCH, ROLL = (f"head_velocity_{axis}" for axis in ("yaw", "pitch", "roll"))
HALF_ROOT = 0.5**0.5  # cosine of 45 deg, the angle of the vertical planes


@dataclass(frozen=True, slots=True)
class HeadMotion:
    """Head velocity in the plane, deg/s, shape (n,); its speed in other planes where known."""

    in_plane_deg_s: FloatArray
    off_plane_deg_s: FloatArray | None


def plane_of(stimulus: Mapping[str, object]) -> str | None:
    """The plane of a trial by its key ``plane``, else by its key ``canal``; lateral by default.

    None where the canal's words name no canal.
    """
    if "plane" in stimulus:
        return PLANE_WORDS.get(str(stimulus["plane"]))
    return plane_of_canal(str(stimulus["canal"])) if "canal" in stimulus else "lateral"


def plane_of_canal(words: str) -> str | None:
    """The plane that a canal lies in, from words such as ``left horizontal``."""
    said = words.lower().replace("horizontal", "lateral").replace("superior", "anterior")
    if "lateral" in said:
        return "lateral"
    side = [side for side in ("right", "left") if side in said]
    kind = [kind for kind in ("anterior", "posterior") if kind in said]
    if len(side) != 1 or len(kind) != 1:
        return None
    canal = f"{side[0]} {kind[0]}"
    return next(plane for plane, canals in CANALS.items() if canal in canals)


def eye_roles(plane: str) -> tuple[str, str]:
    """The eye channels (without the side) of the plane itself and of the other plane."""
    return ("eye_h", "eye_v") if plane == "lateral" else ("eye_v", "eye_h")


def head_motion(recording: Recording, plane: str) -> HeadMotion | None:
    """The head's velocity in and off a plane; None where nothing tells the plane's.

    In a vertical plane, pitch and roll go before ``head_velocity``, which may be the yaw of the
    whole session.
    """
    parts = {role: recording.channels.get(role) for role in (YAW, PITCH, ROLL)}
    yaw, pitch, roll = parts[YAW], parts[PITCH], parts[ROLL]
    if plane == "lateral":
        own = recording.head_velocity_deg_s
        own = yaw if own is None else own
        return None if own is None else HeadMotion(own, _speed(pitch, roll))
    if pitch is None or roll is None:
        own = recording.head_velocity_deg_s
        return None if own is None else HeadMotion(own, _speed(yaw))
    turned = -1.0 if plane == "RALP" else 1.0
    in_plane = HALF_ROOT * (pitch + turned * roll)
    return HeadMotion(in_plane, _speed(yaw, HALF_ROOT * (pitch - turned * roll)))


def _speed(*parts: FloatArray | None) -> FloatArray | None:
    """Root of the sum of squares of what is known, shape (n,)."""
    known = [np.nan_to_num(part) ** 2 for part in parts if part is not None]
    return np.sqrt(np.sum(known, axis=0)) if known else None
