"""Run the command line within the tests, and catch what it says."""

import contextlib
import io
from dataclasses import dataclass

import pytest

from slowphase.cli.app import main

BY = ("--by", "A. Meyer, audiologist", "--at", "2026-03-04T09:30:00+01:00")


@dataclass(frozen=True, slots=True)
class Done:
    exit_code: int
    stdout: str
    stderr: str


def start(*words):
    said, complained = io.StringIO(), io.StringIO()
    with (
        contextlib.redirect_stdout(said),
        contextlib.redirect_stderr(complained),
        pytest.raises(SystemExit) as ended,
    ):
        main([str(word) for word in words])
    return Done(ended.value.code or 0, said.getvalue(), complained.getvalue())
