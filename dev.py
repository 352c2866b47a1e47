#!/usr/bin/env python3
"""Everything a developer or a first-time user runs, with the standard library only.

python3 dev.py demo    install what is needed, analyse the demo sessions, open the report
python3 dev.py serve   the workbench in the browser, with its data in demo/store
python3 dev.py test    the whole check: format, lint, types, layers, tests
python3 dev.py lint    the check without the tests
python3 dev.py bench   the benchmarks (timings, memory, accuracy); writes benchmarks/results
python3 dev.py docs    remake the pages and pictures of docs/ that are generated
python3 dev.py lock    remake the hash-pinned requirement files (needs uv)
python3 dev.py web     check, test and build the page of the workbench (needs Node and npm);
                       with --check build it elsewhere and fail where what is committed differs
"""

from __future__ import annotations

import argparse
import filecmp
import hashlib
import importlib.util
import os
import shutil
import signal
import subprocess
import sys
import tempfile
import webbrowser
from pathlib import Path

ROOT = Path(__file__).resolve().parent
VENV = ROOT / ".venv"
BIN = VENV / ("Scripts" if os.name == "nt" else "bin")
PYTHON = BIN / ("python.exe" if os.name == "nt" else "python")
MINIMUM = (3, 11)


def run(*command: str | Path, check: bool = True, **env: str) -> int:
    """Run one command in the project's root; stop with its exit code when it fails."""
    line = [str(part) for part in command]
    print("$", " ".join(part.replace(str(ROOT), ".") for part in line), flush=True)
    code = subprocess.run(line, check=False, cwd=ROOT, env={**os.environ, **env}).returncode
    if check and code:
        sys.exit(code)
    return code


def make_environment(lock_name: str) -> None:
    """Make ``.venv`` and install the locked packages, unless that is already done."""
    if sys.version_info < MINIMUM:
        sys.exit(f"Slowphase needs Python 3.11 or newer; this is {sys.version.split()[0]}.")
    lock = ROOT / "requirements" / lock_name
    stamp = VENV / f"installed-{lock_name}"
    content = lock.read_bytes() + (ROOT / "pyproject.toml").read_bytes()
    digest = hashlib.sha256(content).hexdigest()
    if stamp.exists() and stamp.read_text(encoding="utf-8") == digest and PYTHON.exists():
        return
    create_venv()
    pip = (PYTHON, "-m", "pip", "--disable-pip-version-check", "--quiet")
    build = ROOT / "requirements" / "build.txt"
    run(*pip, "install", "--require-hashes", "--requirement", build)
    run(*pip, "install", "--require-hashes", "--requirement", lock)
    run(*pip, "install", "--no-deps", "--no-build-isolation", "--editable", ROOT)
    stamp.write_text(digest, encoding="utf-8")


def create_venv() -> None:
    if PYTHON.exists():
        return
    if not all(importlib.util.find_spec(name) for name in ("ensurepip", "venv")):
        sys.exit(
            "This Python cannot make a virtual environment. On Debian or Ubuntu install "
            "python3-venv, then run the same command again."
        )
    import venv

    print(f"making {VENV.relative_to(ROOT)}", flush=True)
    venv.create(VENV, with_pip=True, clear=False)


def demo(arguments: argparse.Namespace) -> None:
    make_environment("run.txt")
    folder = ROOT / "demo"
    run(PYTHON, "-m", "slowphase", "demo", "--output", folder)
    page = folder / "index.html"
    print(f"\nReport: {page}")
    if not arguments.no_open and sys.stdout.isatty():
        webbrowser.open(page.as_uri())


def serve(arguments: argparse.Namespace) -> None:
    make_environment("run.txt")
    quiet = ["--no-open"] if arguments.no_open or not sys.stdout.isatty() else []
    signal.signal(signal.SIGINT, lambda *_: None)  # Ctrl-C is for the server, which ends by itself
    data = ("--data", ROOT / "demo" / "store")
    run(PYTHON, "-m", "slowphase", "serve", *data, *quiet, *arguments.rest)


def lint(_: argparse.Namespace) -> None:
    make_environment("dev.txt")
    run(PYTHON, "-m", "ruff", "format", "--check", ".")
    run(PYTHON, "-m", "ruff", "check", ".")
    run(PYTHON, "-m", "mypy")
    run(BIN / "lint-imports")


def test(arguments: argparse.Namespace) -> None:
    lint(arguments)
    run(PYTHON, "-m", "pytest", *arguments.rest)


def bench(arguments: argparse.Namespace) -> None:
    make_environment("dev.txt")
    run(PYTHON, "-m", "benchmarks", *arguments.rest)


def docs(_: argparse.Namespace) -> None:
    make_environment("dev.txt")
    run(PYTHON, "-m", "docs.make")


def lock(_: argparse.Namespace) -> None:
    common = ("uv", "pip", "compile", "--quiet", "--universal", "--python-version", "3.11")
    clean = ("--generate-hashes", "--no-emit-index-url", "--no-header")
    for name, sources in {
        "build.txt": ["requirements/build.in"],
        "run.txt": ["pyproject.toml"],
        "dev.txt": ["pyproject.toml", "requirements/build.in", "--group", "dev"],
    }.items():
        run(*common, *clean, *sources, "--output-file", f"requirements/{name}")


def web(arguments: argparse.Namespace) -> None:
    npm = shutil.which("npm")
    if npm is None:
        sys.exit("The page is built with Node 20.19 or newer and npm; install them and try again.")
    install_page_packages(npm)
    here = ("--prefix", ROOT / "web")
    run(npm, *here, "run", "--silent", "check")
    run(npm, *here, "run", "--silent", "test")
    if not arguments.check:
        run(npm, *here, "run", "--silent", "build")
        return
    with tempfile.TemporaryDirectory() as folder:
        check_page(npm, Path(folder))


def install_page_packages(npm: str) -> None:
    """Install the locked packages of the page, unless that is already done."""
    lock, stamp = ROOT / "web" / "package-lock.json", ROOT / "web/node_modules/.installed"
    digest = hashlib.sha256(lock.read_bytes()).hexdigest()
    if not stamp.exists() or stamp.read_text(encoding="utf-8") != digest:
        run(npm, "--prefix", ROOT / "web", "ci")
        stamp.write_text(digest, encoding="utf-8")


def check_page(npm: str, folder: Path) -> None:
    """Build the page and its types elsewhere; stop where what is committed differs."""
    make_environment("run.txt")
    types, built = folder / "schema.d.ts", folder / "static"
    here = ("--prefix", ROOT / "web", "run", "--silent")
    run(npm, *here, "types", "--", types, SLOWPHASE_PYTHON=str(PYTHON))
    run(npm, *here, "build", SLOWPHASE_STATIC=str(built))
    stale = [] if filecmp.cmp(types, ROOT / "web/src/api/schema.d.ts", False) else ["schema.d.ts"]
    stale += differing(built, ROOT / "src/slowphase/workbench/static")
    if stale:
        sys.exit(
            f"What is committed is not what the sources give: {', '.join(stale)}. "
            "Run `npm --prefix web run types` and `python3 dev.py web`, then commit."
        )
    print("The committed page and types are what the sources give.")


def differing(one: Path, other: Path) -> list[str]:
    """Names of files that are not byte for byte the same in two folders."""
    names = {p.relative_to(f).as_posix() for f in (one, other) for p in f.rglob("*") if p.is_file()}
    _, different, missing = filecmp.cmpfiles(one, other, sorted(names), shallow=False)
    return sorted([*different, *missing])


def main() -> None:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    tasks = ["demo", "serve", "test", "lint", "bench", "docs", "lock", "web"]
    parser.add_argument("task", choices=tasks)
    parser.add_argument("--no-open", action="store_true", help="do not open the browser")
    parser.add_argument("--check", action="store_true", help="web: compare, change nothing")
    arguments, rest = parser.parse_known_args()
    if rest and arguments.task not in ("serve", "test", "bench"):
        parser.error(f"{arguments.task} takes no {' '.join(rest)}")
    arguments.rest = rest
    globals()[arguments.task](arguments)


if __name__ == "__main__":
    main()
