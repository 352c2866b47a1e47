import ast
import re
from pathlib import Path

import slowphase

SOURCE = Path(slowphase.__file__).parent
PAGE = Path(__file__).parents[2] / "docs/problems.md"
_MAKERS = ("make_problem", "Fault", "unusable", "_problem")
_CODE = re.compile(r"[a-z]+(_[a-z0-9]+)+")


def codes_in_source() -> set[str]:
    """The first text given to every call that makes a problem, and what ``_code_of`` returns."""
    found: set[str] = set()
    for file in SOURCE.rglob("*.py"):
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            found |= _codes_of(node)
    return found


def _codes_of(node: ast.AST) -> set[str]:
    if isinstance(node, ast.Assign) and [ast.unparse(t) for t in node.targets] == ["PROBLEM"]:
        return _texts([node.value])
    if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in _MAKERS:
        return _texts(node.args[:1])
    if isinstance(node, ast.FunctionDef) and node.name == "_code_of":
        returns = [part.value for part in ast.walk(node) if isinstance(part, ast.Return)]
        return _texts([value for value in returns if value is not None])
    return set()


def _texts(nodes: list[ast.expr]) -> set[str]:
    texts = {n.value for n in nodes if isinstance(n, ast.Constant) and isinstance(n.value, str)}
    return {text for text in texts if _CODE.fullmatch(text)}


def codes_in_page() -> list[str]:
    return re.findall(
        r"^\| `([a-z0-9_]+)` \|", PAGE.read_text(encoding="utf-8"), flags=re.MULTILINE
    )


def test_every_problem_code_is_documented_once_and_no_other() -> None:
    assert sorted(codes_in_page()) == sorted(codes_in_source())
