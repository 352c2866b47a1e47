"""What the page needs once: version, words, limits."""

from typing import Any

from slowphase.workbench.shapes.base import Shape


class ReasonEntry(Shape):
    """A reason that a number may carry: its sentence, what it does, the best grade it leaves."""

    text: str
    effect: str
    grade: str


class KeyEntry(Shape):
    """A key of an edit or of a trial: its type and range."""

    type: str
    low: float | None
    high: float | None
    unit: str | None
    words: list[str]
    required: bool
    expected: str


class EditKindEntry(Shape):
    """A kind of edit; ``trial`` is ``required``, ``optional`` or ``none``."""

    text: str
    trial: str
    keys: dict[str, KeyEntry]


class Limits(Shape):
    """Sizes that the server takes."""

    upload_bytes: int
    body_bytes: int
    columns: int
    channels: int


class AboutAnswer(Shape):
    """The server and its words.

    ``demo_job`` is the job that puts the demo sessions in, while it runs. ``kinds`` are labels of
    trial kinds, ``unused`` those of the reasons why samples are not used, ``stimulus_keys`` the
    keys that a ``stimulus`` edit may set for each kind of trial, ``words`` all labels by table.
    """

    version: str
    data_folder_name: str
    demo: bool
    demo_job: str | None
    cautions: list[str]
    reasons: dict[str, ReasonEntry]
    kinds: dict[str, str]
    unused: dict[str, str]
    edit_kinds: dict[str, EditKindEntry]
    stimulus_keys: dict[str, dict[str, KeyEntry]]
    words: dict[str, dict[str, Any]]
    limits: Limits
