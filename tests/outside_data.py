"""Where the recordings and worked examples from outside the project are looked for.

They are not part of the project. Set ``SLOWPHASE_DATA``, or put them into ``../shared/data``
beside the checkout; without them the checks that need them are skipped and say so.
"""

import os
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]


def outside(name: str) -> Path:
    """The file or folder of that name; skips the test that asks when there is none."""
    home = Path(os.environ.get("SLOWPHASE_DATA", ROOT.parent / "shared" / "data"))
    found = home / name
    if not found.exists():
        pytest.skip(f"outside data {name!r} not found in {home}; set SLOWPHASE_DATA")
    return found
