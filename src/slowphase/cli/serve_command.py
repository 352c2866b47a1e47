"""The command ``slowphase serve``: the workbench in a browser on this computer."""

from __future__ import annotations

import os
import sys
import threading
import webbrowser
from contextlib import closing
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from argparse import Namespace
    from collections.abc import Callable

    from slowphase.store import Store
    from slowphase.workbench.house import House

FOLDER = "slowphase"
_ARGUMENTS: dict[str, dict[str, Any]] = {
    "--data": {
        "type": Path,
        "metavar": "FOLDER",
        "help": "the store (the user's own data folder)",
    },
    "--port": {"type": int, "default": 0, "metavar": "N", "help": "the port (a free one)"},
    "--no-open": {"action": "store_true", "help": "do not open the browser"},
    "--no-demo": {"action": "store_true", "help": "leave an empty store empty"},
}


def add_serve_command(add: Callable[..., Any]) -> None:
    """Add ``serve`` to the command line's parser."""
    text = str(serve.__doc__)
    part = add("serve", description=text, help=text, allow_abbrev=False)
    part.set_defaults(command=serve)
    for name, options in _ARGUMENTS.items():
        part.add_argument(name, **options)


def serve(asked: Namespace) -> int:
    """Open the workbench in the browser: look, correct, read and sign, on this computer alone."""
    from slowphase.store import Store
    from slowphase.workbench.serving import serve as answer
    from slowphase.workbench.serving import take_place

    place = take_place(asked.port)
    folder = asked.data or data_folder(sys.platform, os.environ, Path.home())

    def ready(address: str, house: House) -> None:
        _tell(folder, address)
        if not asked.no_demo:
            _put_in_demo(house.store, house)
        if not asked.no_open:  # beside the server: a browser in a terminal does not return
            threading.Thread(target=webbrowser.open, args=(address,), daemon=True).start()

    with closing(place.listening), closing(Store.open(folder)) as store:
        answer(store, place, ready)
    sys.stdout.write("ended\n")
    return 0


def data_folder(platform: str, environment: os._Environ[str] | dict[str, str], home: Path) -> Path:
    """Where the user's own data belong on this system."""
    if platform == "win32":
        told = environment.get("LOCALAPPDATA")
        return (Path(told) if told else home / "AppData" / "Local") / FOLDER
    if platform == "darwin":
        return home / "Library" / "Application Support" / FOLDER
    told = environment.get("XDG_DATA_HOME")
    return (Path(told) if told and Path(told).is_absolute() else home / ".local/share") / FOLDER


def _tell(folder: Path, address: str) -> None:
    """Where the data are, what to open, and how to end it."""
    sys.stdout.write(
        f"data    {folder}\nopen    {address}\n        only this address opens it, on this "
        "computer alone\nend     Ctrl-C\n"
    )
    sys.stdout.flush()


def _put_in_demo(store: Store, house: House) -> None:
    from slowphase.cli.demo_store import missing_demo, put_in_demo
    from slowphase.workbench.words import DEMO

    names = missing_demo(store)
    if names:
        house.jobs.start(DEMO, lambda job: put_in_demo(names, store, house, job.tell))
