"""What must and must not stand in the files that are tracked."""

import ast
import re
import shutil
import subprocess
import tomllib
from importlib.metadata import version
from pathlib import Path

import pytest

import slowphase

ROOT = Path(__file__).resolve().parents[1]
# Spelt in pieces, so that this file does not hold what it looks for.
REGISTRIES = re.compile(
    "|".join(
        re.escape("".join(parts))
        for parts in (
            ("pypi", ".org"),
            ("files.python", "hosted.org"),
            ("registry.npm", "js.org"),
            ("registry.yarn", "pkg.com"),
            ("conda", ".anaconda.org"),
            ("proxy.go", "lang.org"),
        )
    )
)
# A path of someone's machine: a slash, a folder that only machines have, a slash, a name.
MACHINE_PATHS = re.compile(r"(?<![\w./:-])/" + r"(?:work|home|Users|root|mnt)" + r"/\w")
BINARY = {".png", ".pdf", ".parquet", ".ttf", ".otf", ".woff2", ".ico", ".npy", ".gz"}


def tracked():
    """Every tracked text file; skips outside a git checkout."""
    if shutil.which("git") is None or not (ROOT / ".git").exists():
        pytest.skip("not a git checkout")
    listed = subprocess.run(
        ["git", "ls-files", "-z"],
        cwd=ROOT,
        capture_output=True,
        check=True,
        text=True,
    ).stdout
    files = [ROOT / name for name in listed.split("\0") if name]
    return [file for file in files if file.is_file() and file.suffix not in BINARY]


def lines_with(pattern, files):
    return [
        f"{file.relative_to(ROOT)}:{number}: {line.strip()[:80]}"
        for file in files
        for number, line in enumerate(file.read_text(encoding="utf-8").splitlines(), start=1)
        if pattern.search(line)
    ]


@pytest.mark.parametrize(
    ("text", "pattern", "found"),
    [
        ("https://" + "pypi" + ".org/simple", REGISTRIES, True),
        ("see the published table", REGISTRIES, False),
        ("read from " + "/home" + "/ann/data", MACHINE_PATHS, True),
        ("in ../" + "work/notes or at https://example.org/home/page", MACHINE_PATHS, False),
    ],
)
def test_the_patterns_find_what_they_are_for(text, pattern, found):
    assert bool(pattern.search(text)) is found


def test_no_tracked_file_holds_the_address_of_a_package_registry():
    assert lines_with(REGISTRIES, tracked()) == []


def test_no_tracked_file_holds_a_path_of_somebody_s_machine():
    assert lines_with(MACHINE_PATHS, tracked()) == []


def test_lock_files_hold_hashes_and_no_address_at_all():
    locks = [file for file in tracked() if file.parent.name == "requirements"]
    locks = [file for file in locks if file.suffix == ".txt"]
    assert len(locks) >= 2
    assert lines_with(re.compile("https?:|@ |git\\+|file:|index-url|find-links"), locks) == []
    for lock in locks:
        text = lock.read_text(encoding="utf-8")
        pins = re.findall(r"^[a-z0-9][\w.\-\[\]]*==", text, flags=re.MULTILINE | re.IGNORECASE)
        assert pins
        assert text.count("--hash=sha256:") >= len(pins)


def test_lock_files_that_always_hold_addresses_are_not_tracked():
    names = {file.name for file in tracked()}
    assert not names & {"uv.lock", "pylock.toml", "poetry.lock", "Pipfile.lock"}


def test_installed_and_imported_version_are_the_same():
    assert version("slowphase") == slowphase.__version__
    assert re.fullmatch(r"\d+\.\d+\.\d+\S*", slowphase.__version__)


def test_the_changelog_knows_the_version():
    log = ROOT / "CHANGELOG.md"
    if not log.exists():
        pytest.skip("no CHANGELOG.md yet")
    text = log.read_text(encoding="utf-8")
    assert slowphase.__version__ in text or "unreleased" in text.lower()


def test_every_run_time_dependency_is_in_the_lock():
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    lock = (ROOT / "requirements" / "run.txt").read_text(encoding="utf-8").lower()
    for dependency in project["dependencies"]:
        name = re.match(r"[\w.-]+", dependency).group().lower()
        assert re.search(rf"^{re.escape(name)}==", lock, flags=re.MULTILINE), name


def test_no_source_file_is_longer_than_four_hundred_lines():
    sources = (ROOT / "src").rglob("*.py")
    assert [
        str(p.relative_to(ROOT))
        for p in sources
        if len(p.read_text(encoding="utf-8").splitlines()) > 400
    ] == []


def test_no_source_file_silences_the_type_checker():
    pattern = re.compile("type: " + "ignore")
    assert lines_with(pattern, sorted((ROOT / "src").rglob("*.py"))) == []


def test_half_of_all_functions_have_a_body_of_fewer_than_ten_lines():
    bodies = []
    for path in (ROOT / "src").rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.FunctionDef):
                first = node.body[0]
                documented = isinstance(first, ast.Expr) and isinstance(first.value, ast.Constant)
                body = node.body[1:] if documented else node.body
                if body:
                    bodies.append(node.end_lineno - body[0].lineno + 1)
    assert sorted(bodies)[len(bodies) // 2] < 10
