"""The page of validation: its text with tables from benchmarks/results, and nothing heavy."""

import json
from collections.abc import Iterable, Sequence
from pathlib import Path
from string import Template
from typing import Any

from benchmarks import aims

TEXT = Path(__file__).parent / "validation.template"
RESULTS = Path(__file__).parents[1] / "benchmarks" / "results"
NAMES = ("accuracy", "detection", "coverage", "limits", "speed")
Row = dict[str, Any]
Results = dict[str, list[Row]]
KINDS = ("spontaneous", "sinusoid", "sinusoid (target)", "suppression", "step")
OF_EACH_HARD = (("sinusoid", "gain"), ("sinusoid", "phase"), ("step", "time_constant"))
LIMITED = (
    ("sinusoid", "gain"),
    ("sinusoid", "phase"),
    ("sinusoid", "bias"),
    ("step", "gain"),
    ("step", "time_constant"),
)


def results(folder: Path = RESULTS) -> Results:
    """The rows of every benchmark; none where it has not been run."""
    files = {name: folder / f"{name}.json" for name in NAMES}
    return {
        name: json.loads(file.read_text("utf-8"))["rows"] if file.exists() else []
        for name, file in files.items()
    }


def validation_page(found: Results | None = None) -> str:
    """The page as Markdown."""
    found = results() if found is None else found
    low, high = aims.COVERAGE_STUDY_PCT
    parts = {
        "accuracy": _accuracy(found["accuracy"]),
        "hard": _hard(found["accuracy"]),
        "detection": _detection(found["detection"]),
        "coverage": _coverage(found["coverage"]),
        "plain": _plain(found["accuracy"]),
        "speed": _speed(found["speed"]),
        "limits": _limits(found["limits"]),
    }
    return Template(TEXT.read_text("utf-8")).substitute(
        {name: "\n".join(lines) for name, lines in parts.items()},
        coverage_aim=f"{low:g}–{high:g} %",
        efficiency_aim=f"{aims.EFFICIENCY:g}",
        limit_aims=", ".join(_limit_aim(*key) for key in LIMITED),
    )


def _absent(name: str) -> list[str]:
    return [
        f"**Not run yet:** there are no results. `python3 dev.py bench {name}` makes them, and",
        "`python3 dev.py docs` puts them here.",
    ]


def _picture(alternative: str, name: str) -> list[str]:
    return [f"![{alternative}](pictures/validation-{name}.svg)", ""]


def _accuracy(rows: list[Row]) -> list[str]:
    usual = _of(rows, recordings="usual")
    if not usual:
        return _absent("accuracy")
    return [
        *_of_all(usual),
        *_picture(
            "Errors of each measure over their aims, ours and the plain script's", "accuracy"
        ),
        *_errors_table(usual, judged=True),
    ]


def _hard(rows: list[Row]) -> list[str]:
    hard = _of(rows, recordings="hard")
    if not hard:
        return _absent("accuracy")
    names = dict.fromkeys(row["recordings"] for row in rows)
    each = [name for name in names if name not in ("usual", "hard")]
    heads = (
        *("recording", "given %", "sound %", "covered %"),
        *("gain 90 %, %", "worst sound", "phase 90 %, deg", "worst sound"),
        *("time constant 90 %, %", "worst sound"),
    )
    return [
        *_of_all(hard),
        *_table(heads, [_hard_row(_of(rows, recordings=name)) for name in each]),
        "",
        "By measure:",
        "",
        *_errors_table(hard, judged=False),
    ]


def _of_all(rows: list[Row]) -> list[str]:
    every = _of(rows, kind="all")[0]
    (low, high), (least, most) = aims.SOUND_PCT, aims.COVERAGE_PCT
    return [
        f"Of {every['n']} measures that have a truth, {every['given_pct']:g} % are given",
        f"(aim: {aims.GIVEN_PCT:g}, {aims.GIVEN_STEP_PCT:g} for steps), and",
        f"{every['sound_pct']:g} % are graded sound (aim: {low:g}–{high:g}).",
        f"Of the 95 % intervals, {every['coverage_pct']:g} % hold the truth",
        f"(aim: {least:g}–{most:g} over all, {aims.COVERAGE_LEAST_PCT:g} for each kind).",
        "",
    ]


def _errors_table(rows: list[Row], *, judged: bool) -> list[str]:
    heads = (
        *("trial", "measure", "n", "unit", "median", "90 %", "worst sound"),
        *("half width", "given %", "sound %", "covered %"),
    )
    return _table(heads, [_errors_row(row, judged) for row in by_kind(rows)])


def _errors_row(row: Row, judged: bool) -> tuple[str, ...]:
    key = (row["kind"], row["measure"])
    aim = aims.AIMS.get(key) if judged else None
    given = aims.GIVEN_STEP_PCT if row["kind"] == "step" else aims.GIVEN_PCT
    return (
        row["kind"],
        words(row["measure"]),
        str(row["n"]),
        row["unit"],
        _error(row["median"], aim and aim.median),
        _error(row["p90"], aim and aim.p90),
        _worst(row["worst_sound"], aim and aim.worst_sound),
        _number(row["median_half_width"], most=aims.HALF_WIDTHS.get(key) if judged else None),
        _number(row["given_pct"], least=given if aim else None),
        _number(row["sound_pct"]),
        _number(row["coverage_pct"], least=aims.COVERAGE_LEAST_PCT if aim else None),
    )


def _hard_row(rows: list[Row]) -> tuple[str, ...]:
    every = _of(rows, kind="all")[0]
    cells = [every["recordings"]]
    cells += [_number(every[key]) for key in ("given_pct", "sound_pct", "coverage_pct")]
    for kind, measure in OF_EACH_HARD:
        row = _of(rows, kind=kind, measure=measure)[0]
        worst = aims.AIMS[kind, measure].worst_sound
        cells += [_error(row["p90"], None), _worst(row["worst_sound"], worst)]
    return tuple(cells)


def _detection(rows: list[Row]) -> list[str]:
    if not rows:
        return _absent("detection")
    labelled = [row for row in rows if row["recording"].startswith("labelled")]
    overall = [row for row in rows if row["size_deg"] == "over 0.25"]
    heads = (
        *("recording", "true", "found", "recall", "precision", "F1"),
        *("onset error, ms", "size error, deg", "size error, %"),
    )
    return [
        f"Aim on labelled saccades: F1 of {aims.LABELLED_F1:g} or better.",
        "" if labelled else "**Not run:** that data was not at hand.",
        *_table(heads, [_events_row(row, aims.LABELLED_F1) for row in labelled]),
        "",
        *_picture("Recall and precision by noise, size and sampling rate", "detection"),
        "Simulated, all of 0.25 deg and more:",
        "",
        *_table(heads, [_events_row(row, None) for row in overall]),
    ]


def _events_row(row: Row, aim: float | None) -> tuple[str, ...]:
    return (
        row["recording"],
        *(_number(row[key]) for key in ("true", "found", "recall", "precision")),
        _number(row["f1"], least=aim),
        *(_number(row[key]) for key in ("onset_error_ms", "size_error_deg", "size_error_pct")),
    )


def _coverage(rows: list[Row]) -> list[str]:
    if not rows:
        return _absent("coverage")
    low, high = aims.COVERAGE_STUDY_PCT
    inside = sum(low <= row["coverage_pct"] <= high for row in rows)
    close = sum(row["variance_over_oracle"] <= aims.EFFICIENCY for row in rows)
    regimes = dict.fromkeys(row["regime"] for row in rows)
    measures = dict.fromkeys(row["measure"] for row in rows)
    bounds = {row["measure"]: row.get("variance_over_bound") for row in rows if bounded(row)}
    table = [
        (
            studied(measure),
            *(_coverage_cell(_of(rows, regime=regime, measure=measure)) for regime in regimes),
            _number(bounds.get(measure)),
        )
        for measure in measures
    ]
    return [
        f"Of {len(rows)} pairs of regime and measure, {inside} are covered within",
        f"{low:g}–{high:g} %, and {close} have at most {aims.EFFICIENCY:g} times the variance",
        f"of the oracle. There are {min(row['n'] for row in rows)} to",
        f"{max(row['n'] for row in rows)} values in each.",
        "",
        *_picture("Coverage by measure and regime", "coverage"),
        "Bars are 95 % binomial intervals (Wilson) of the share, as if trials were independent.",
        "",
        *_picture("Variance of the error over oracle and bound", "efficiency"),
        "Covered in percent; variance over the oracle's. The last column is over the bound.",
        "",
        *_table(("measure", *regimes, "bound"), table),
        "",
        "Errors and half widths of each: [results](../benchmarks/results/README.md).",
    ]


def bounded(row: Row) -> bool:
    """Whether the smallest variance possible is known of this row."""
    return row.get("variance_over_bound") is not None


def _coverage_cell(rows: list[Row]) -> str:
    if not rows:
        return "–"
    low, high = aims.COVERAGE_STUDY_PCT
    covered = _number(rows[0]["coverage_pct"], least=low, most=high)
    return f"{covered}; {_number(rows[0]['variance_over_oracle'], most=aims.EFFICIENCY)}"


def _plain(rows: list[Row]) -> list[str]:
    beside = [row for row in rows if "plain_n" in row]
    if not beside:
        return _absent("accuracy")
    heads = (
        *("recordings", "trial", "measure", "unit", "n"),
        *("plain median", "our median", "plain 90 %", "our 90 %"),
    )
    return _table(heads, [_plain_row(row) for row in by_kind(beside)])


def _plain_row(row: Row) -> tuple[str, ...]:
    errors = ("plain_median", "ours_median", "plain_p90", "ours_p90")
    said = (row["recordings"], row["kind"], words(row["measure"]), row["unit"], str(row["plain_n"]))
    return (*said, *(_error(row[key], None) for key in errors))


def _speed(rows: list[Row]) -> list[str]:
    timed = [row for row in rows if "plain_script_s" in row]
    if not timed:
        return _absent("speed")
    columns = {
        "session": "what",
        "Slowphase, s": "slowphase_s",
        "plain script, s": "plain_script_s",
        "ratio": "ratio",
        "Slowphase, MB": "slowphase_peak_mb",
        "plain script, MB": "plain_script_peak_mb",
    }
    return _table(
        tuple(columns), [[_number(row[key]) for key in columns.values()] for row in timed]
    )


def _limits(rows: list[Row]) -> list[str]:
    if not rows:
        return _absent("limits")
    heads = ("made worse", "from–to", *(_label(*key) for key in LIMITED), "sound %", "covered %")
    names = dict.fromkeys(row["factor"] for row in rows)
    return [
        *_picture("90 % error over its aim, by what is made worse", "limits"),
        *_table(heads, [_limits_row(_of(rows, factor=name)) for name in names]),
        "",
        "Every level: [results](../benchmarks/results/README.md).",
    ]


def _limits_row(rows: list[Row]) -> tuple[str, ...]:
    cells = [_limit(_of(rows, kind=kind, measure=measure)) for kind, measure in LIMITED]
    span = f"{rows[0]['level']:g}–{rows[-1]['level']:g} {rows[0]['level_unit']}"
    ends = [_of(rows, level=rows[index]["level"]) for index in (0, -1)]
    shares = [
        " → ".join(f"{pooled(end, key):.0f}" for end in ends)
        for key in ("sound_pct", "coverage_pct")
    ]
    return (rows[0]["factor"], span, *cells, *shares)


def pooled(rows: Iterable[Row], key: str) -> float:
    """A share over several measures, each weighed by how many values it has."""
    known = [row for row in rows if row[key] is not None]
    return sum(row["n"] * row[key] for row in known) / max(sum(row["n"] for row in known), 1)


def _limit(rows: list[Row]) -> str:
    """How far the 90 % error stays within its aim, with the worst sound error beyond."""
    if not rows:
        return ""
    count = reached(rows)
    if count == len(rows):
        return "all"
    far = f"{rows[count - 1]['level']:g}" if count else "none"
    beyond = [row["worst_sound"] for row in rows[count:] if row["worst_sound"] is not None]
    if not beyond:
        return f"{far} (none sound)"
    bold = "**" if max(beyond) > aims.AIMS[rows[0]["kind"], rows[0]["measure"]].worst_sound else ""
    return f"{far} ({bold}{max(beyond):g}{bold} {rows[0]['unit']})"


def reached(rows: Sequence[Row]) -> int:
    """How many levels, from the mildest on, keep the 90 % error within its aim."""
    aim = aims.AIMS[rows[0]["kind"], rows[0]["measure"]].p90
    within = [row["p90"] is not None and row["p90"] <= aim for row in rows]
    return within.index(False) if False in within else len(rows)


def _limit_aim(kind: str, measure: str) -> str:
    aim = aims.AIMS[kind, measure]
    return f"{_label(kind, measure)} {aim.p90:g} {aim.unit}"


def named(kind: str, measure: str) -> str:
    """A measure with its kind of trial in words."""
    return kind if kind == measure else f"{kind} {words(measure)}"


def _label(kind: str, measure: str) -> str:
    return words(measure) if kind == "sinusoid" or measure == "time_constant" else f"{kind} gain"


def studied(measure: str) -> str:
    """A measure of the study of coverage in words, with its kind of trial."""
    kind, _, name = measure.partition(" ")
    kinds = {"rest": "spontaneous", "sin": "sinusoid", "fix": "sinusoid (target)"}
    return words(name) if name == "suppression" else named(kinds.get(kind, kind), name)


def words(measure: str) -> str:
    """A measure's name in words."""
    return measure.replace("gain_", "gain to the ").replace("_", " ")


def _of(rows: Iterable[Row], **wanted: object) -> list[Row]:
    return [row for row in rows if all(row.get(key) == value for key, value in wanted.items())]


def by_kind(rows: Iterable[Row]) -> list[Row]:
    """By recordings and kind of trial, without the sums."""
    known = [row for row in rows if row["kind"] in KINDS]
    order = list(dict.fromkeys(row["recordings"] for row in known))
    return sorted(known, key=lambda r: (order.index(r["recordings"]), KINDS.index(r["kind"])))


def _error(value: float | None, aim: float | None) -> str:
    """An error; where it is that of a missing value, or beyond the aim, it is said."""
    if value is None:
        return "missing" if aim is None else f"**missing** ({aim:g})"
    return _number(value, most=aim)


def _worst(value: float | None, aim: float | None) -> str:
    return "none sound" if value is None else _number(value, most=aim)


def _number(value: object, *, least: float | None = None, most: float | None = None) -> str:
    """A cell, bold and with what was aimed at where it is beyond that."""
    if not isinstance(value, int | float):
        return "–" if value is None else str(value)
    low = least if least is not None and value < least else None
    high = most if most is not None and value > most else None
    aim = low if low is not None else high
    return f"{value:g}" if aim is None else f"**{value:g}** ({aim:g})"


def _table(heads: Sequence[str], rows: Sequence[Sequence[str]]) -> list[str]:
    if not rows:
        return []
    lines = [f"| {' | '.join(row)} |" for row in rows]
    return [f"| {' | '.join(heads)} |", "|" + "---|" * len(heads), *lines]
