from pathlib import Path

import pytest
from session_folder import REST, SessionFolder


@pytest.fixture
def folder(tmp_path: Path) -> SessionFolder:
    """An empty session folder with a sound head and column map."""
    place = tmp_path / "session"
    place.mkdir()
    return SessionFolder(place)


@pytest.fixture
def sound(folder: SessionFolder) -> SessionFolder:
    """A session with one sound trial, and a recording of rest that no trial names yet."""
    folder.add_sinusoid("sound")
    folder.write_file("rest.csv", REST)
    return folder
