"""Bringing recordings in: files, the description that is proposed and corrected, the preview."""

from typing import Annotated, Any, Literal

from pydantic import Field

from slowphase.workbench.shapes.base import Asked, Name, Plain, Shape, Signed
from slowphase.workbench.shapes.errors import ProblemEntry
from slowphase.workbench.shapes.trials import Channel

Number = Annotated[float, Field(ge=-1e12, le=1e12)]
Unit = Annotated[str, Field(max_length=20)]


class ImportBegun(Shape):
    """A new import, to which files are sent."""

    id: str


class ImportWaiting(Shape):
    """An import that is not confirmed yet; ``described`` where a session.toml came with it."""

    id: str
    files: int
    bytes: int
    described: bool


class ImportFile(Shape):
    """A file that came: its path with ``/``, its size, and what it is taken for."""

    path: str
    bytes: int
    kind: Literal["trace", "description", "other"]


class ColumnTold(Asked):
    """One column of the map; below 0.75 of ``confidence`` a person should look."""

    role: Name
    name: str | int
    unit: Unit | None = None
    positive: Literal["left", "right", "up", "down"] | None = None
    scale: Number | None = None
    offset: Number | None = None
    confidence: float | None = None
    reasons: list[Plain] = Field(default_factory=list)


class TrialTold(Asked):
    """One trial: its keys as session.toml has them, and why it is taken for one of this kind."""

    id: Name
    kind: Name
    file: str | None = None
    vision: str | None = None
    start_s: Number | None = None
    stop_s: Number | None = None
    stimulus: dict[str, Any] = Field(default_factory=dict)
    confidence: float | None = None
    reason: Plain = ""


class DescriptionTold(Asked):
    """Everything that session.toml will say; code and date are empty until a person gives them."""

    code: Plain = ""
    age_years: Annotated[float, Field(ge=0.0, le=130.0)] | None = None
    sex: Literal["female", "male", "other", "unknown"] = "unknown"
    date: Annotated[str, Field(pattern=r"^([0-9]{4}-[0-9]{2}-[0-9]{2})?$")] = ""
    notes: dict[Name, Plain] = Field(default_factory=dict)
    conditions: dict[Name, Plain | float] = Field(default_factory=dict)
    sampling_hz: Annotated[float, Field(ge=1.0, le=20_000.0)] | None = None
    columns: Annotated[list[ColumnTold], Field(max_length=200, default_factory=list)]
    trials: Annotated[list[TrialTold], Field(max_length=1000, default_factory=list)]


class DescriptionKept(Asked):
    """A description as it is kept beside the files, with those that it has seen.

    ``problems`` are those of files that gave no trial when they came.
    """

    told: DescriptionTold
    map_used: str | None
    files: list[str]
    problems: list[ProblemEntry] = Field(default_factory=list)


class PreviewTrial(Shape):
    """What can be drawn of a trial with the columns as they are told now."""

    id: str
    start_s: float
    stop_s: float
    channels: list[Channel]


class ImportAnswer(Shape):
    """An import as it stands.

    ``description`` is null where the files brought a session.toml, which then counts. ``headers``
    are the columns of the first trace file, ``units`` those that a column of each role may have.
    ``problems`` hold what reading would say now; ``ready``
    says whether it can be confirmed. ``map_used`` names the clinic's map that fitted.
    """

    id: str
    files: list[ImportFile]
    description: DescriptionTold | None
    text: str
    headers: list[str]
    roles: list[str]
    units: dict[str, list[str]]
    visions: list[str]
    preview: list[PreviewTrial]
    problems: list[ProblemEntry]
    ready: bool
    maps: list[str]
    map_used: str | None


class MapChosen(Asked):
    """The clinic's map to use; the trials are recognised anew with it. Null proposes anew."""

    name: Name | None


class ImportConfirmed(Signed):
    """File the session under a patient, or by the code in its description where null."""

    patient: str | None = None
    title: Plain = ""
    save_map_as: Name | None = None
