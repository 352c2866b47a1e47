"""How the eyes were recorded, as far as the session says; some limits depend on it."""

from collections.abc import Mapping
from typing import Literal

Method = Literal["video", "electrodes"]
METHODS: tuple[Method, ...] = ("video", "electrodes")


def recording_method(conditions: Mapping[str, str | float] | None) -> Method | None:
    """The session's condition ``recording``: ``video`` or ``electrodes``; None if not stated."""
    told = str((conditions or {}).get("recording", "")).strip().lower()
    return next((method for method in METHODS if told == method), None)
