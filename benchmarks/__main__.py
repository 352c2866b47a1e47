"""Run the benchmarks: python -m benchmarks [NAME ...]; results go to benchmarks/results."""

import json
import platform
import sys
from pathlib import Path

from . import accuracy, detection, speed

RESULTS = Path(__file__).parent / "results"
ALL = {"speed": speed, "accuracy": accuracy, "detection": detection}


def main() -> None:
    for name in sys.argv[1:] or list(ALL):
        rows = ALL[name].run()
        document = {"python": platform.python_version(), "rows": rows}
        (RESULTS / f"{name}.json").write_text(json.dumps(document, indent=1) + "\n", "utf-8")
        print(f"\n{name}")
        for row in rows:
            print("  " + "  ".join(f"{key} {value}" for key, value in row.items()))
    (RESULTS / "README.md").write_text(page(), "utf-8")


def page() -> str:
    """All results as one page of tables."""
    parts = ["# Results of the benchmarks", "", "Made by `python3 dev.py bench`.", ""]
    for name, module in ALL.items():
        file = RESULTS / f"{name}.json"
        if file.exists():
            document = json.loads(file.read_text("utf-8"))
            about = " ".join(module.__doc__.split())
            parts += [f"## {name.capitalize()}", "", about, f"Python {document['python']}.", ""]
            parts += [*table(document["rows"]), ""]
    return "\n".join(parts)


def table(rows: list[dict[str, object]]) -> list[str]:
    """Rows as a table, with every key that any row has."""
    keys = list(dict.fromkeys(key for row in rows for key in row))
    lines = ["| " + " | ".join(keys) + " |", "|" + "---|" * len(keys)]
    lines += ["| " + " | ".join(str(row.get(key, "")) for key in keys) + " |" for row in rows]
    return lines


if __name__ == "__main__":
    main()
