"""Remake the invented retests of the demo: python -m benchmarks.demo_retest (about 3 min).

They are the simulated pairs of the benchmark ``reliable_change``, built into a file by the same
function that builds a clinic's own.
"""

from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from pathlib import Path

from slowphase.course.retest_build import build_retest
from slowphase.course.retest_file import retest_text

from .reliable_change import FULL_PAIRS, FullPair, full_pair

FILE = Path(__file__).parents[1] / "src" / "slowphase" / "cli" / "demo" / "retest.toml"
SOURCE = "invented retests of the demo (40 simulated people, twice): not for patients"
COMMENT = ("Invented: simulated people on two days. Made by python -m benchmarks.demo_retest.",)


def main() -> None:
    with ProcessPoolExecutor() as pool:
        write(list(pool.map(full_pair, range(FULL_PAIRS))))


def write(pairs: list[FullPair]) -> None:
    """Without settings and version: the file outlives both, and no patient is held against it."""
    built = build_retest([one for p in pairs for one in (p.first, p.second)], source=SOURCE)
    plain = replace(built.retest, settings_digest="", version="")
    FILE.write_text(retest_text(plain, COMMENT), "utf-8")


if __name__ == "__main__":
    main()
