"""Answers that are made as text already, so that nothing is rounded or checked twice."""

from fastapi import Response


class JsonText(Response):
    """JSON that was written as text already."""

    media_type = "application/json"
