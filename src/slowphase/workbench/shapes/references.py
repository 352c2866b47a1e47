"""Reference sets, their provenance, and the clinic's own intervals."""

from typing import Annotated, Literal

from pydantic import Field

from slowphase.workbench.shapes.base import Asked, Name, Plain, Reasoned, Shape, Signed


class ReferenceEntryAnswer(Shape):
    """One measure of one group, in words where the number alone would not do."""

    measure: str
    label: str
    kind: str
    of: str | None
    definition: str | None
    values: str
    stimulus: str
    n: int | None
    note: str
    not_placed: str


class ReferenceSetAnswer(Shape):
    """A set: where it comes from, whom it describes, and every value; ``own`` of the clinic."""

    id: str
    own: bool
    source: str
    population: str
    mark: str
    mark_words: str
    entries: list[ReferenceEntryAnswer]


class ReferenceFile(Shape):
    """A file that the clinic added."""

    name: str
    text: str
    added_at: str
    added_by: str


class ReferencesAnswer(Shape):
    """All sets that measures are held against, those that are preferred first named."""

    prefer: list[str]
    sets: list[ReferenceSetAnswer]
    files: list[ReferenceFile]


FileName = Annotated[str, Field(pattern=r"^[A-Za-z0-9][A-Za-z0-9._-]{0,95}\.toml$")]


class ReferenceChecked(Asked):
    """A set's file (TOML) to look at before it is added."""

    name: FileName
    text: Annotated[Plain, Field(min_length=1)]


class ReferenceAdded(Signed, ReferenceChecked):
    """A set's file to add."""


class ReferenceRemoved(Reasoned):
    """Take a file out of use; its text stays in the store."""


class IntervalsAsked(Asked):
    """Make the clinic's own intervals of healthy sessions in the store."""

    set_id: Annotated[str, Field(pattern=r"^[a-z0-9][a-z0-9-]{0,63}$")]
    sessions: Annotated[list[Name], Field(min_length=1, max_length=2000)]
    without_outliers: bool = False
    apart: bool = False
    by_age: Literal["auto", "always", "never"] = "auto"
