"""The options of every command that writes a report."""

from __future__ import annotations

from pathlib import Path
from typing import Any

REPORT_OPTIONS: dict[str, dict[str, Any]] = {
    "--report": {"type": Path, "metavar": "FILE.html", "help": "write the report as one page"},
    "--pdf": {"type": Path, "metavar": "FILE.pdf", "help": "write the report as PDF/A, tagged"},
    "--paper": {"choices": ["a4", "letter"], "default": "a4", "help": "paper of the PDF (a4)"},
    "--clinic": {
        "type": Path,
        "metavar": "FILE.toml",
        "help": "the clinic's name, address and logo at the head of the report",
    },
}
SOURCE_OPTIONS: dict[str, dict[str, Any]] = {
    "--checks": {
        "type": Path,
        "metavar": "FILE.csv",
        "help": "take out the eye channel's delay of the last check in this file",
    },
    "--references": {
        "type": Path,
        "metavar": "FOLDER|FILE.toml",
        "help": "the clinic's own reference sets, beside those of Slowphase",
    },
    "--edits": {
        "type": Path,
        "metavar": "FILE.json",
        "help": "apply what a person changed, as kept in this file",
    },
}
