"""Answers that are made as text already, so that nothing is rounded or checked twice."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from fastapi import Response

if TYPE_CHECKING:
    from collections.abc import Mapping


class JsonText(Response):
    """Plain data, or a text that was made of it already, as JSON; there is no NaN in it."""

    media_type = "application/json"

    def render(self, content: Mapping[str, Any] | str) -> bytes:
        """The data as UTF-8."""
        return (content if isinstance(content, str) else json_text(content)).encode()


def json_text(content: Mapping[str, Any]) -> str:
    """Plain data as JSON; raises `ValueError` for what is no number."""
    return json.dumps(content, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
