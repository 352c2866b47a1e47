import re
from pathlib import Path

PAGE = Path(__file__).parents[2] / "docs" / "simulator.md"


def test_the_example_of_the_simulator_page_runs(capsys):
    (example,) = re.findall(r"```python\n(.*?)```", PAGE.read_text(encoding="utf-8"), re.DOTALL)
    exec(compile(example, PAGE.name, "exec"), {})
    printed = capsys.readouterr().out
    assert "sin-0.04" in printed
    assert "time_constant" in printed
