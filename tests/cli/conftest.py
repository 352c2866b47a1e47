"""A short invented session folder for the tests of the command line."""

import pytest

from slowphase.cli.simulated_folder import simulate_into

SHORT = """
about = "invented, for the signing"
seed = 5
[person.spontaneous]
bias_deg_s = 4.0
[protocol]
frequencies_hz = [0.16]
"""


@pytest.fixture(scope="session")
def made(tmp_path_factory):
    place = tmp_path_factory.mktemp("signing")
    (place / "s.toml").write_text(SHORT, encoding="utf-8")
    return simulate_into(str(place / "s.toml"), place / "session", lambda *_: None)
