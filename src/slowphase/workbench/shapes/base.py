"""What every shape shares: nothing unknown is taken, nothing that is no number is sent."""

from typing import Annotated, Any

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, WithJsonSchema

from slowphase.recording.keys import is_plain

NAME_LONGEST = 200
TEXT_LONGEST = 20_000

# The result document goes as `analysis.to_document` made it; `openapi.py` puts its own JSON Schema
# in the place of these marks.
COMPONENT = "x-component"
DOCUMENT = {COMPONENT: "Document"}
MEASURE = {COMPONENT: "DocumentMeasure"}
STATEMENT = {COMPONENT: "DocumentStatement"}

Document = Annotated[dict[str, Any], WithJsonSchema(DOCUMENT)]
MeasureEntry = Annotated[dict[str, Any], WithJsonSchema(MEASURE)]
StatementEntry = Annotated[dict[str, Any], WithJsonSchema(STATEMENT)]


def _plain(text: str) -> str:
    if not is_plain(text):
        raise ValueError("holds a control sign; write plain text")
    return text


def _said(text: str) -> str:
    if not text.strip():
        raise ValueError("is empty; write who works here, or why")
    return text.strip()


Plain = Annotated[str, Field(max_length=TEXT_LONGEST), AfterValidator(_plain)]
Name = Annotated[
    str, Field(min_length=1, max_length=NAME_LONGEST), AfterValidator(_plain), AfterValidator(_said)
]
Reason = Annotated[
    str, Field(min_length=1, max_length=TEXT_LONGEST), AfterValidator(_plain), AfterValidator(_said)
]


class Shape(BaseModel):
    """What the server sends: frozen, finite numbers only."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)


class Asked(BaseModel):
    """What the page sends: strict, so that a text is never taken for a number."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False, strict=True)


class Signed(Asked):
    """A change, and who makes it."""

    by: Name


class Reasoned(Signed):
    """A change, who makes it, and why."""

    reason: Reason
