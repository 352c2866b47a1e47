"""The description of the interface: OpenAPI 3.1, with the result document's own JSON Schema.

``python -m slowphase.workbench.openapi`` prints it; the page's types are made from it.
"""

from __future__ import annotations

import json
import sys
from functools import cache
from typing import TYPE_CHECKING, Any

from slowphase.foundation.version import __version__
from slowphase.workbench.shapes.base import COMPONENT

if TYPE_CHECKING:
    from collections.abc import Sequence

    from fastapi.routing import APIRoute

TITLE = "Slowphase workbench"
REF = "#/components/schemas/"
Json = dict[str, Any]


@cache
def openapi_document() -> Json:
    """The whole description; the same for every start."""
    from fastapi.openapi.utils import get_openapi

    from slowphase.workbench.routes import routes

    document = get_openapi(
        title=TITLE, version=__version__, openapi_version="3.1.0", routes=routes()
    )
    parts = document.setdefault("components", {})
    parts["schemas"] = dict(sorted({**parts.get("schemas", {}), **document_parts()}.items()))
    parts["securitySchemes"] = {"token": {"type": "http", "scheme": "bearer"}}
    document["security"] = [{"token": []}]
    whole: Json = json.loads(json.dumps(document), object_hook=_component)
    return whole


def document_parts() -> Json:
    """The JSON Schema of the result document as components: ``Document``, ``DocumentMeasure`` …"""
    from slowphase.analysis.document import document_schema

    schema = {key: part for key, part in document_schema().items() if not key.startswith("$")}
    parts = {"Document": schema} | {
        _name(name): part for name, part in document_schema()["$defs"].items()
    }
    moved: Json = json.loads(json.dumps(parts), object_hook=_moved)
    return moved


def _name(name: str) -> str:
    return "Document" + "".join(word.capitalize() for word in name.split("_"))


def _moved(part: Json) -> Json:
    """A part whose reference leads to the component instead of into the schema's own file."""
    target = part.get("$ref")
    if isinstance(target, str) and target.startswith("#/$defs/"):
        return {**part, "$ref": REF + _name(target.removeprefix("#/$defs/"))}
    return part


def _component(part: Json) -> Json:
    """A mark of `shapes.base` as the reference that it stands for."""
    return {"$ref": REF + part[COMPONENT]} if COMPONENT in part else part


def operation_id(route: APIRoute) -> str:
    """The name of the function that answers: unique, and stable when paths change."""
    return route.name


def main(_: Sequence[str] = ()) -> None:
    """Print the description."""
    sys.stdout.write(json.dumps(openapi_document(), indent=1, ensure_ascii=False) + "\n")


if __name__ == "__main__":
    main()
