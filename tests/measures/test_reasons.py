import ast
from pathlib import Path

import pytest

import slowphase
from slowphase.foundation.reasons import reasons, worst_grade

SOURCES = sorted(Path(slowphase.__file__).parent.rglob("*.py"))
CARRIERS = {"why", "reasons", "lapsed", "reason"}
TAKERS = {"missing", "_missing_response", "_all_missing"}


def strings(node):
    return {
        part.value
        for part in ast.walk(node)
        if isinstance(part, ast.Constant) and isinstance(part.value, str) and "_" in part.value
    }


def reasons_in(tree):
    """Texts with an underscore that stand where a reason belongs."""
    found = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.keyword) and node.arg == "why":
            found |= strings(node.value)
        elif isinstance(node, ast.Assign | ast.AnnAssign) and node.value is not None:
            targets = node.targets if isinstance(node, ast.Assign) else [node.target]
            if any(isinstance(t, ast.Name) and t.id in CARRIERS for t in targets):
                found |= strings(node.value)
        elif isinstance(node, ast.Call):
            called = node.func
            name = getattr(called, "attr", getattr(called, "id", ""))
            owner = getattr(getattr(called, "value", None), "id", "")
            if name in TAKERS or (name == "append" and owner in CARRIERS):
                found |= strings(node.args[-1])
    return found


def measuring(path):
    layers = {"recording", "edits", "eye", "measures", "fit"}
    return layers & set(path.parts) or path.name == "coherence.py"


def test_every_reason_that_the_code_gives_is_in_the_table():
    used = {
        (path.name, code)
        for path in SOURCES
        if measuring(path)
        for code in reasons_in(ast.parse(path.read_text(encoding="utf-8")))
    }
    assert len(used) > 10
    assert {(name, code) for name, code in used if code not in reasons()} == set()


def test_every_reason_of_the_table_is_given_somewhere_in_the_code():
    texts = "\n".join(p.read_text(encoding="utf-8") for p in SOURCES if measuring(p))
    assert {code for code in reasons() if f'"{code}"' not in texts} == set()


@pytest.mark.parametrize("code", sorted(reasons()))
def test_every_reason_says_what_it_is_and_what_it_does_to_the_number(code):
    reason = reasons()[code]
    assert reason.text.endswith(".")
    assert reason.effect.endswith(".")
    assert reason.grade in ("sound", "caution", "unusable")


def test_a_measure_is_as_good_as_its_worst_reason_allows():
    assert worst_grade(()) == "sound"
    assert worst_grade(("stopped_early", "low_alertness")) == "caution"
    assert worst_grade(("low_alertness", "no_motion")) == "unusable"
