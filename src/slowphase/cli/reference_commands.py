"""The commands ``slowphase reference list``, ``build`` and ``verify``."""

from __future__ import annotations

import sys
from argparse import ArgumentTypeError
from pathlib import Path
from typing import TYPE_CHECKING, Any

from slowphase.foundation.errors import UsageError

if TYPE_CHECKING:
    from argparse import Namespace
    from collections.abc import Callable

PARTLY = 1
INPUTS = {
    "nargs": "+",
    "type": Path,
    "metavar": "INPUT",
    "help": "session folders, folders of session folders, or tables (.csv, .parquet)",
}


def add_reference_commands(add: Callable[..., Any]) -> None:
    """Add ``reference`` and the commands below it to the command line's parser."""
    text = "Reference sets: list the values, build the clinic's own, verify a published one."
    part = add("reference", description=text, help=text, allow_abbrev=False)
    inner = part.add_subparsers(metavar="COMMAND", required=True).add_parser
    for name, command in (("list", list_values), ("build", build), ("verify", verify)):
        words = str(command.__doc__)
        one = inner(name, description=words, help=words, allow_abbrev=False)
        one.set_defaults(command=command)
        for argument, options in _ARGUMENTS[name].items():
            names = ("-o", argument) if argument == "--output" else (argument,)
            one.add_argument(*names, **options)


NO_MEASURE = "no healthy person has a usable measure: nothing was written"


def _years(text: str) -> float:
    """An age in completed years on the command line: limits hold for whole years."""
    from slowphase.reference.set_values import OLDEST_YEARS, is_age

    try:
        years = float(text)
    except ValueError:
        years = -1.0
    if not is_age(years) or years < 1.0 or years != int(years):
        raise ArgumentTypeError(f"{text!r} is no age; expected whole years, 1 to {OLDEST_YEARS:g}")
    return years


_ARGUMENTS: dict[str, dict[str, dict[str, Any]]] = {
    "list": {
        "--references": {
            "type": Path,
            "metavar": "FOLDER|FILE.toml",
            "help": "the clinic's own reference sets, beside those of Slowphase",
        },
    },
    "build": {
        "inputs": INPUTS,
        "--output": {
            "type": Path,
            "required": True,
            "metavar": "SET.toml",
            "help": "the set to write; its name without .toml becomes the set's id",
        },
        "--page": {"type": Path, "metavar": "FILE.html", "help": "write the pictures as one page"},
        "--without-outliers": {
            "action": "store_true",
            "help": "leave flagged values out (they are named in the file)",
        },
        "--apart": {
            "action": "store_true",
            "help": "give sexes or ages that the partition rule parts their own limits",
        },
        "--by-age": {
            "choices": ["auto", "always", "never"],
            "default": "auto",
            "help": "a curve by age from 120 people: when age matters (auto), always, or never",
        },
        "--age-split": {
            "type": _years,
            "metavar": "YEARS",
            "help": "where older people begin in the partition test (nearest decade to the median)",
        },
    },
    "verify": {
        "set": {"metavar": "SET", "help": "a set's file (.toml), or the id of a shipped set"},
        "inputs": INPUTS,
    },
}


def list_values(asked: Namespace) -> int:
    """List the reference values: what they are, who says so, and why some are not used."""
    from slowphase.cli.reference_lines import value_lines
    from slowphase.cli.sessions import own_sets
    from slowphase.reference.library import read_references, shipped

    own = own_sets(asked.references)
    _say(value_lines(shipped() if own is None else read_references(own)))
    return 0


def build(asked: Namespace) -> int:
    """Make the clinic's own reference intervals from healthy sessions."""
    from slowphase import __version__
    from slowphase.cli import healthy_input, sessions, writing
    from slowphase.cli.reference_lines import built_lines
    from slowphase.reference.intervals.build import BuildOptions
    from slowphase.reference.intervals.build import build as build_set
    from slowphase.reference.intervals.healthy import collect
    from slowphase.reference.intervals.set_text import set_text

    options = BuildOptions(asked.without_outliers, asked.by_age, asked.age_split, asked.apart)
    name = asked.output.stem
    with sessions.progress_shown() as say:
        found, problems = healthy_input.read_inputs(asked.inputs, say)
        collected = collect(found)
        if not collected.samples:
            raise UsageError("\n".join([*problems, NO_MEASURE]))
        built = build_set(collected, options, progress=lambda m: say("limits of", m))
        if asked.page is not None:
            from slowphase.report.intervals.page import render_intervals

            page = render_intervals(built, name, __version__, progress=lambda m: say("drawing", m))
            writing.write_text(asked.page, page)
    writing.write_text(asked.output, set_text(built, set_id=name, version=__version__))
    _complain(problems)
    _say(built_lines(built))
    return PARTLY if problems else 0


def verify(asked: Namespace) -> int:
    """Test a published set with 20 healthy people: accept, repeat or reject."""
    from slowphase.cli import healthy_input, sessions
    from slowphase.cli.reference_lines import verified_lines
    from slowphase.reference.intervals.verify import verify as verify_set

    entries = healthy_input.read_entries(asked.set)
    with sessions.progress_shown() as say:
        found, problems = healthy_input.read_inputs(asked.inputs, say)
    _complain(problems)
    _say(verified_lines(verify_set(entries, found)))
    return PARTLY if problems else 0


def _say(lines: Any) -> None:
    for line in lines:
        sys.stdout.write(f"{line}\n")


def _complain(lines: list[str]) -> None:
    for line in lines:
        sys.stderr.write(f"{line}\n")
