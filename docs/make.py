"""Remake what is generated in docs/: python -m docs.make (or python3 dev.py docs).

With --text only the pages; with --results the pages and the pictures of benchmarks/results, without
those that need sessions to be simulated.
"""

import ast
import itertools
import sys
from collections import defaultdict
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

from slowphase.eye import calibration_settings
from slowphase.eye import settings as eye_settings
from slowphase.fit import settings as fit_settings
from slowphase.foundation.reasons import reasons
from slowphase.measures import (
    caloric_settings,
    check_settings,
    eye_scale_settings,
    gaze_settings,
    positional_settings,
    pursuit_settings,
)
from slowphase.measures import settings as measure_settings
from slowphase.measures.fixating import settings as fixating_settings
from slowphase.measures.impulse import settings as impulse_settings
from slowphase.measures.optokinetic import settings as optokinetic_settings
from slowphase.measures.saccade import settings as saccade_settings
from slowphase.reading.agreement import RULES as AGREEMENT_RULES
from slowphase.reading.agreement.compare import agreement_texts, outcomes
from slowphase.reading.limits import limits

from .course_docs import course_page
from .reading_pages import patterns_page
from .statement_docs import statements_page
from .validation import results, validation_page

DOCS = Path(__file__).parent
SEEDS = (21, 22)
sys.path.insert(0, str(DOCS.parent / "tests"))


def reasons_page() -> str:
    """Table of reasons."""
    lines = [
        "# Reasons",
        "",
        "What a recording, a trial or a measure may carry in `why`: generated from",
        "`src/slowphase/foundation/reasons.toml`.",
        "",
        "| code | what it says | what it does to the number | best grade left |",
        "|---|---|---|---|",
    ]
    lines += [f"| `{r.code}` | {r.text} | {r.effect} | {r.grade} |" for r in reasons().values()]
    return "\n".join(lines) + "\n"


SETTINGS = {  # a test beside the chair adds the module of its own settings here
    "Eye": eye_settings,
    "Measures": measure_settings,
    "Session": fit_settings,
    "Calorics": caloric_settings,
    "Gaze": gaze_settings,
    "Positional": positional_settings,
    "Check of chair and recorder": check_settings,
    "Eyes that move too little": eye_scale_settings,
    "Head impulse": impulse_settings,
    "Calibration": calibration_settings,
    "Pursuit": pursuit_settings,
    "Saccades": saccade_settings,
    "Optokinetic": optokinetic_settings,
    "Fixation": fixating_settings,
}


AGREEMENT_LIMITS = (
    "agreement_nystagmus",
    "negligible_asymmetry",
    "caloric_weakness",
    "caloric_preponderance",
    "agreement_phase_frequency",
    "agreement_time_constant",
    "agreement_per_post",
    "time_constant",
    "suppression",
    "fixation_index",
    "suppression_frequency",
    "pursuit_gain",
    "agreement_frequencies",
    "typed_caloric",
    "typed_impulse",
)


def agreement_page() -> str:
    """The questions of agreement with their conditions, texts, sources and limits."""
    lines = [(DOCS / "agreement.template").read_text(encoding="utf-8")]
    for rule in AGREEMENT_RULES:
        entry = agreement_texts()[rule.code]
        lines += [f"## {entry['title']} (`{rule.code}`)", "", f"**{entry['asks']}**", ""]
        lines += [f"*When and how.* {entry['condition']}", ""]
        lines += ["| outcome | verdict | text |", "|---|---|---|"]
        lines += [
            f"| `{name}` | {o['verdict']}{', in full' if o.get('heed') else ''} | {o['says']} |"
            for name, o in outcomes(rule.code).items()
        ]
        lines += ["", f"*Does not show.* {' '.join(entry['does_not_show'])}", ""]
        lines += [f"*Sources.* {'; '.join(entry['sources'])}.", ""]
    lines += ["## Limits", "", "| limit | value | what | source | known |", "|---|---|---|---|---|"]
    for limit in (limits()[code] for code in AGREEMENT_LIMITS):
        lines.append(
            f"| `{limit.code}` | {limit.text} | {limit.label} | {limit.source} | {limit.mark} |"
        )
    return "\n".join(lines) + "\n"


def settings_page() -> str:
    """Table of settings, from the attributes' own docstrings."""
    lines = [
        "# Settings",
        "",
        "Thresholds, their defaults and why: generated from the sources. The result document",
        "carries a digest of them (`settings_digest`).",
    ]
    for title, module in SETTINGS.items():
        lines += ["", f"## {title}", "", "| setting | default | what and why |", "|---|---|---|"]
        lines += [f"| `{name}` | {default} | {why} |" for name, default, why in documented(module)]
    return "\n".join(lines) + "\n"


def documented(module) -> list[tuple[str, str, str]]:
    """Name, default and docstring of every attribute of a settings class."""
    tree = ast.parse(Path(module.__file__).read_text(encoding="utf-8"))
    body = next(node for node in tree.body if isinstance(node, ast.ClassDef)).body
    rows = []
    for node, after in itertools.pairwise(body):
        if isinstance(node, ast.AnnAssign) and "Settings" not in ast.unparse(node.annotation):
            text = " ".join(after.value.value.split())
            rows.append((node.target.id, ast.unparse(node.value), text))
    return rows


def validation_pictures() -> None:
    """Measured against true values of simulated sessions, one picture per kind of measure."""
    import scenarios

    tasks = [(name, seed) for name in scenarios.NAMES for seed in SEEDS]
    points = defaultdict(list)
    with ProcessPoolExecutor() as pool:
        for session in pool.map(session_points, tasks):
            for key, point in session:
                points[key].append(point)
    draw(points, "spontaneous", [("velocity", "deg/s")])
    draw(points, "sinusoid", [("gain", "ratio"), ("phase", "deg"), ("bias", "deg/s")])
    draw(points, "suppression", [("suppression", "%")])
    draw(points, "step", [("gain", "ratio"), ("time_constant", "s"), ("bias", "deg/s")])


def session_points(task: tuple[str, int]) -> list[tuple]:
    """True and measured values of one simulated session, with kind, name and grade."""
    import scenarios
    from threadpoolctl import threadpool_limits

    from slowphase.analysis.run import analyze

    with threadpool_limits(1):
        session, truth = scenarios.scenario(*task)
        analysis = analyze(session)
    points = []
    for trial in analysis.trials:
        points += collect(trial.kind, trial.measures, truth[trial.id].measures)
    for pair in analysis.pairs:
        points += collect(pair.kind, pair.measures, truth[pair.fixation].measures)
    return points


def collect(kind, measures, truth) -> list[tuple]:
    keys = ["/".join(part for part in (m.of, m.name) if part) for m in measures]
    return [
        ((kind, measure.name), (truth[key], measure.value, measure.grade))
        for key, measure in zip(keys, measures, strict=True)
        if measure.value is not None and truth.get(key) is not None
    ]


def draw(points, kind, names) -> None:
    import matplotlib as mpl

    mpl.use("svg")
    mpl.rcParams["svg.hashsalt"] = "slowphase"
    from matplotlib import pyplot as plt

    figure, axes = plt.subplots(1, len(names), figsize=(3.6 * len(names), 3.6), squeeze=False)
    for axis, (name, unit) in zip(axes[0], names, strict=True):
        for grade, colour, label in (
            ("sound", "#0072B2", "sound"),
            ("caution", "#E69F00", "with caution"),
            ("unusable", "#999999", "not usable"),
        ):
            chosen = [(t, v) for t, v, g in points[kind, name] if g == grade]
            if chosen:
                true, value = zip(*chosen, strict=True)
                axis.plot(true, value, ".", color=colour, markersize=3, label=label)
        low, high = axis.get_xlim()
        axis.plot([low, high], [low, high], color="black", linewidth=0.6)
        axis.set_xlabel(f"true {name.replace('_', ' ')} ({unit})")
        axis.set_ylabel(f"measured ({unit})")
        axis.legend(frameon=False, fontsize=7)
    figure.tight_layout()
    figure.savefig(DOCS / "pictures" / f"validation-{kind}.svg", metadata={"Date": None})
    plt.close(figure)


def main() -> None:
    (DOCS / "reasons.md").write_text(reasons_page(), encoding="utf-8")
    (DOCS / "settings.md").write_text(settings_page(), encoding="utf-8")
    (DOCS / "patterns.md").write_text(patterns_page(), encoding="utf-8")
    (DOCS / "statements.md").write_text(statements_page(), encoding="utf-8")
    (DOCS / "course.md").write_text(course_page(), encoding="utf-8")
    (DOCS / "agreement.md").write_text(agreement_page(), encoding="utf-8")
    found = results()
    (DOCS / "validation.md").write_text(validation_page(found), encoding="utf-8")
    if "--text" in sys.argv:
        return
    from .lesion_picture import draw_lesions
    from .validation_pictures import draw_results

    draw_results(found)
    draw_lesions()
    if "--results" not in sys.argv:
        validation_pictures()


if __name__ == "__main__":
    main()
