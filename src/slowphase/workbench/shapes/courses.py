"""Courses: the events beside the sessions, the clinic's retests, and which sessions to compare."""

from typing import Annotated, Literal

from pydantic import Field

from slowphase.workbench.shapes.base import Asked, Name, Plain, Shape, Signed


class CourseEvent(Asked):
    """A dose, a treatment or an onset on the time axis."""

    date: Annotated[str, Field(pattern=r"^[0-9]{4}-[0-9]{2}-[0-9]{2}$")]
    label: Name
    kind: Literal["dose", "treatment", "onset", "procedure", "exercise", "other"] = "other"


class EventsAnswer(Shape):
    """The events of a patient, by date."""

    events: list[CourseEvent]


class EventsAsked(Signed):
    """The events in place of those that were kept."""

    events: Annotated[list[CourseEvent], Field(max_length=1000)]


class CourseAsked(Asked):
    """The sessions to compare, by number in order of date from 1; the usual ones when null."""

    between: Annotated[list[int], Field(min_length=2, max_length=2)] | None = None


class RetestsAnswer(Shape):
    """The clinic's retests (retest.toml); empty without any."""

    text: str


class RetestsAsked(Signed):
    """The clinic's retests in place of those that were kept; checked before they are."""

    text: Annotated[Plain, Field(min_length=1)]


class RetestBuildAsked(Asked):
    """Make the retests of pairs of sessions of people in whom nothing changed."""

    sessions: Annotated[list[Name], Field(min_length=4, max_length=2000)]
