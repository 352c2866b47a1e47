"""Run the benchmarks: python -m benchmarks [speed] [accuracy]; results go to benchmarks/results."""

import json
import platform
import sys
from pathlib import Path

from . import accuracy, speed

RESULTS = Path(__file__).parent / "results"
ALL = {"speed": speed.run, "accuracy": accuracy.run}


def main() -> None:
    for name in sys.argv[1:] or list(ALL):
        rows = ALL[name]()
        document = {"python": platform.python_version(), "rows": rows}
        (RESULTS / f"{name}.json").write_text(json.dumps(document, indent=1) + "\n")
        print(f"\n{name}")
        for row in rows:
            print("  " + "  ".join(f"{key} {value}" for key, value in row.items()))


if __name__ == "__main__":
    main()
