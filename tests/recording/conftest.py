from pathlib import Path

import pytest
from session_folder import SessionFolder


@pytest.fixture
def folder(tmp_path: Path) -> SessionFolder:
    """An empty session folder with a sound head and column map."""
    place = tmp_path / "session"
    place.mkdir()
    return SessionFolder(place)
