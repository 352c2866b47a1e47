"""One trial: its channels, events, cycles and impulses."""

from typing import Literal

from slowphase.workbench.shapes.base import Shape

Plane = Literal["horizontal", "vertical", "torsional"]
Role = Literal["eye", "position", "slow", "median", "head", "fit", "target", "pupil", "other"]


class Channel(Shape):
    """One line of a picture.

    ``role`` says what it is whatever its name: an ``eye`` as recorded, the ``position`` fused from
    the eyes in use, its ``slow`` phase (NaN outside), ``median`` of short stretches of it, the
    ``head``, the ``fit``, a ``target``. ``panel`` is where it belongs by its unit.
    """

    id: str
    role: Role
    label: str
    unit: str
    plane: Plane | None
    side: Literal["right", "left"] | None
    panel: Literal["position", "velocity", "other"]
    low: float | None
    high: float | None


class QuickPhase(Shape):
    """A quick phase; ``by_hand`` where a person added it."""

    start_s: float
    stop_s: float
    amplitude_deg: float | None
    peak_velocity_deg_s: float | None
    plane: Plane
    by_hand: bool


class Unused(Shape):
    """A run of samples that are not used, and why."""

    start_s: float
    stop_s: float
    reason: str
    plane: Plane


class Span(Shape):
    """A stretch of time on the recording's clock."""

    start_s: float
    stop_s: float


class ByHandEntry(Shape):
    """What a person said of this trial's samples."""

    excluded: list[Span]
    quick: list[Span]
    not_quick_s: list[float]


class Change(Shape):
    """A change of chair velocity; ``of`` is ``per`` or ``post``, ``exciting`` the side."""

    at_s: float
    of: Literal["per", "post"]
    exciting: Literal["right", "left"]


class Cycle(Shape):
    """One cycle of a sinusoid, from one rise of the chair's velocity through zero to the next."""

    number: int
    start_s: float
    stop_s: float


class TrialAnswer(Shape):
    """A trial and what can be drawn of it; without samples the lists are empty.

    ``traces`` changes whenever any trace does; the page keeps windows by it. Traces lie on
    ``places`` points, ``step_s`` apart from ``start_s``; ``samples`` were recorded. ``changes_s``
    are the moments of ``changes``.
    """

    id: str
    kind: str
    vision: str | None
    outcome: str
    eye: str
    traces: str
    channels: list[Channel]
    start_s: float
    stop_s: float
    step_s: float
    places: int
    sampling_hz: float | None
    samples: int
    cycle_s: float | None
    cycles: list[Cycle]
    changes_s: list[float]
    changes: list[Change]
    impulses: int
    quick_phases: list[QuickPhase]
    unused: list[Unused]
    by_hand: ByHandEntry


class FoldedAnswer(Shape):
    """All cycles laid over one another by the phase of the chair (0 to 360 deg).

    Quartiles of the slow phase in each part of the cycle that holds any; the fit and the head are
    medians there.
    """

    phase_deg: list[float]
    low_deg_s: list[float]
    middle_deg_s: list[float]
    high_deg_s: list[float]
    fit_deg_s: list[float | None]
    head_deg_s: list[float | None]


class SaccadeEntry(Shape):
    """A saccade in an impulse; times since the head's start, size positive against the head."""

    onset_s: float
    offset_s: float
    amplitude_deg: float | None
    peak_velocity_deg_s: float | None
    early: bool
    corrects: bool


class ImpulseEntry(Shape):
    """One head impulse: its traces since the head's start (eye inverted), gain, or why refused."""

    number: int
    onset_s: float
    canal: str
    side: Literal["right", "left"]
    peak_deg_s: float | None
    gain: float | None
    gain_regression: float | None
    refused: list[str]
    saccades: list[SaccadeEntry]
    since_s: list[float]
    head_deg_s: list[float | None]
    eye_deg_s: list[float | None]


class ImpulsesAnswer(Shape):
    """Every impulse of a trial in order; ``plane`` is null where the trial has none."""

    plane: str | None
    eyes: list[str]
    impulses: list[ImpulseEntry]
