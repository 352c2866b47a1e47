"""The teaching bench: what is asked of the physiology, and what it does to traces and numbers."""

from typing import Annotated, Literal

from pydantic import Field

from slowphase.workbench.shapes.base import Asked, Shape

Share = Annotated[float, Field(ge=0.0, le=1.0)]


class LessonAsked(Asked):
    """The short form of a person (docs/simulator.md); the defaults are healthy and alert.

    ``right`` and ``left`` are what is left of each labyrinth, ``storage`` a factor of the velocity
    storage, ``suppression`` what a head-fixed target takes away, ``compensated`` from acute (0) to
    compensated (1), ``alertness`` from drowsy (0) to alert (1).
    """

    age_years: Annotated[float, Field(ge=5.0, le=100.0)] = 30.0
    right: Share = 1.0
    left: Share = 1.0
    compensated: Share = 0.0
    storage: Annotated[float, Field(ge=0.1, le=2.0)] = 1.0
    suppression: Share = 0.95
    alertness: Share = 1.0


class LessonMeasure(Shape):
    """A number that a perfect estimator would return; null where no such number exists."""

    name: str
    of: str | None
    label: str
    value: float | None
    unit: str


class LessonTrial(Shape):
    """One trial of a lesson; its traces follow the header, ``offset`` floats from the first.

    ``samples`` of head or chair velocity, then as many of slow-phase velocity (deg/s).
    ``moves_at_s`` is when the chair begins to move, for laying a patient's trace over.
    """

    id: str
    kind: str
    vision: str
    title: str
    frequency_hz: float | None
    direction: Literal["right", "left"] | None
    moves_at_s: float | None
    start_s: float
    step_s: float
    samples: int
    offset: int
    measures: list[LessonMeasure]


class LessonHeader(Shape):
    """The header of the binary answer."""

    trials: list[LessonTrial]
