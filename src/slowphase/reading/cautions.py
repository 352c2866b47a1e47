"""Cautions: those always shown, and those that a statement names."""

import tomllib
from collections.abc import Mapping
from functools import cache
from importlib.resources import files

from slowphase.reading.conditions import unknown_medicine

KIND_CAUTIONS: Mapping[str, tuple[str, ...]] = {  # codes that go with a kind of test
    "impulse": ("impulse_neck", "impulse_limits"),
    "positional": ("positional_neck", "positional_central"),
    "gaze": ("gaze_central", "gaze_other"),
    "caloric": ("caloric_ear", "caloric_vertigo", "caloric_slow"),
    # tests with targets and scenes
    "calibration": ("recalibrate",),
    "optokinetic": ("moving_scene",),
}


@cache
def _table() -> dict[str, dict[str, str]]:
    return tomllib.loads((files(__package__) / "cautions.toml").read_text(encoding="utf-8"))


def standing_cautions() -> tuple[str, ...]:
    """The cautions that go with every reading, whatever it says."""
    return tuple(_table()["always"].values())


def session_cautions(conditions: Mapping[str, str | float]) -> tuple[str, ...]:
    """The cautions that concern every number of one session."""
    alerted = alerting_recorded(conditions)
    unknown = unknown_medicine(conditions)
    return (
        caution("precision"),
        *(() if alerted else (caution("alerting_not_recorded"),)),
        *((unknown,) if unknown else ()),
    )


def alerting_recorded(conditions: Mapping[str, str | float]) -> bool:
    """Whether it was written down how the patient was kept alert."""
    return bool(str(conditions.get("alerting", "")).strip())


def kind_cautions(kind: str) -> tuple[str, ...]:
    """The cautions that go with a kind of test."""
    return tuple(caution(code) for code in KIND_CAUTIONS.get(kind, ()))


def caution(code: str) -> str:
    """One caution of a statement, by its code."""
    return _table()["statement"][code]
