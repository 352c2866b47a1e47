"""Run the benchmarks: python -m benchmarks [all | NAME ...]; results go to benchmarks/results.

Without a name all of them run, the long study of coverage included. The page of validation in the
documentation is made from the results: python3 dev.py docs (or python -m docs.make --results).
"""

import json
import platform
import sys
from pathlib import Path

from . import (
    accuracy,
    agreement,
    battery,
    coverage,
    detection,
    limits,
    patterns,
    reference_intervals,
    reliable_change,
    session_fit,
    simulate,
    speed,
    workbench,
    workbench_page,
)

RESULTS = Path(__file__).parent / "results"
ALL = {  # those that start threads come last: workers forked after them would wait for ever
    "accuracy": accuracy,
    "limits": limits,
    "detection": detection,
    "battery": battery,
    "patterns": patterns,
    "reference_intervals": reference_intervals,
    "reliable_change": reliable_change,
    "agreement": agreement,
    "session_fit": session_fit,
    "coverage": coverage,
    "simulate": simulate,
    "speed": speed,
    "workbench": workbench,
    "workbench_page": workbench_page,
}
ABOUT_MINUTES = {
    "speed": 1,
    "workbench": 4,
    "workbench_page": 2,
    "simulate": 1,
    "accuracy": 3,
    "limits": 3,
    "detection": 2,
    "battery": 4,
    "patterns": 6,
    "reference_intervals": 3,
    "reliable_change": 5,
    "agreement": 5,
    "session_fit": 25,
    "coverage": 25,
}


def main() -> None:
    names = chosen(sys.argv[1:])
    minutes = sum(ABOUT_MINUTES[name] for name in names)
    print(f"{', '.join(names)}: about {minutes} min on two cores", flush=True)
    for name in names:
        rows = ALL[name].run()
        document = {"python": platform.python_version(), "rows": rows}
        (RESULTS / f"{name}.json").write_text(json.dumps(document, indent=1) + "\n", "utf-8")
        print(f"\n{name}")
        for row in rows:
            print("  " + "  ".join(f"{key} {value}" for key, value in row.items()))
        (RESULTS / "README.md").write_text(page(), "utf-8")
    print("\nNow remake the page of validation: python3 dev.py docs")


def chosen(names: list[str]) -> list[str]:
    """The benchmarks to run, in the order of the table; all without a name."""
    unknown = sorted(set(names) - {"all", *ALL})
    if unknown:
        sys.exit(f"no benchmark is called {unknown[0]!r}; there are: all, {', '.join(ALL)}")
    return [name for name in ALL if not names or "all" in names or name in names]


def page() -> str:
    """All results as one page of tables."""
    parts = ["# Results of the benchmarks", "", "Made by `python3 dev.py bench`.", ""]
    parts += ["What they say, in pictures: [validation](../../docs/validation.md).", ""]
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
    lines += ["| " + " | ".join(_cell(row.get(key)) for key in keys) + " |" for row in rows]
    return lines


def _cell(value: object) -> str:
    return "" if value is None else str(value)


if __name__ == "__main__":
    main()
