"""A kill at any moment loses nothing that was confirmed, and leaves nothing half done."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.store.crash_work import BESIDE, CHANGES, SPOILT
from tests.store.later_schema import LATER

ROOT = Path(__file__).parents[2]
pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="needs processes that fork")


def farm(*words):
    """Run the program that kills; returns what it found, by the kind of work."""
    command = [sys.executable, "-m", "tests.store.crash_farm", *map(str, words)]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr[-2000:]
    return {found["work"]: found for found in map(json.loads, done.stdout.splitlines())}


def killed_at_every_step(place, kind, kills):
    """What was left by the kind of work, after more than so many kills and nothing wrong."""
    found = farm("points", place / "farm", kind)
    assert {name: one["wrong"] for name, one in found.items() if one["wrong"]} == {}
    assert sum(one["kills"] for one in found.values()) > kills
    return {name: set(one["left"]) for name, one in found.items()}


def test_a_kill_before_any_step_leaves_a_change_whole_or_not_there(tmp_path):
    left = killed_at_every_step(tmp_path, "changes", 170)
    assert left == {name: {"before", "after"} for name in CHANGES}


def test_a_kill_before_any_step_of_opening_a_store_leaves_one_that_opens(tmp_path):
    left = killed_at_every_step(tmp_path, "openings", 120)
    assert left.pop("migrate") == {"0001", LATER}
    assert len(left) == 3
    assert set.union(*left.values()) == {"opened"}


def test_a_kill_before_any_step_leaves_no_half_backup_and_no_half_restored_store(tmp_path):
    left = killed_at_every_step(tmp_path, "beside", 170)
    assert left == {name: {"not there", "there"} for name in (*BESIDE, "restore")}


def test_a_kill_at_a_random_moment_loses_nothing_that_was_confirmed(tmp_path):
    found = farm("random", tmp_path / "farm", 20260302, 120)["random"]
    assert found["wrong"] == []
    assert found["kills"] == 120
    assert found["confirmed"] > 120


@pytest.mark.parametrize("name", SPOILT)
def test_the_kills_find_a_store_that_works_in_a_wrong_order(tmp_path, name):
    found = farm("spoilt", tmp_path / "farm", name)
    assert any(one["wrong"] for one in found.values())
