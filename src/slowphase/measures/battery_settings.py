"""Settings of the tests beside the chair: one class for each, in the folder of its test."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class BatterySettings:
    """One field for each test that has settings of its own."""
