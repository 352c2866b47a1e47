"""How a window of traces is asked for, and how it is answered: the same on every route."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import Query

from slowphase.workbench.traces.window import COLUMNS_MOST, MEDIA_TYPE

WINDOW_ANSWER: dict[int | str, dict[str, Any]] = {
    200: {
        "content": {MEDIA_TYPE: {"schema": {"type": "string", "format": "binary"}}},
        "description": "A window of traces (docs/workbench.md)",
    }
}
Seconds = Annotated[float | None, Query(ge=-1e9, le=1e9, allow_inf_nan=False)]
Channels = Annotated[str, Query(max_length=2000, description="ids, parted by commas")]
Columns = Annotated[int, Query(ge=1, le=COLUMNS_MOST)]
