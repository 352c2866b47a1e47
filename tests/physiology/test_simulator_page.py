"""The pages of the simulator and of the physiology say what the code does."""

import re
import tomllib
from dataclasses import MISSING, fields
from pathlib import Path

import numpy as np
import pytest

from slowphase.cli.scenario_files import shipped, shipped_names
from slowphase.physiology import (
    alertness,
    blink,
    caloric,
    fixation,
    head_shaking,
    impulse,
    labyrinth,
    labyrinths,
    oculomotor,
    optokinetic,
    positional,
    pursuit,
    recorder,
    saccade,
    spontaneous,
    storage,
    target_saccade,
)
from slowphase.physiology.field_check import ranges
from slowphase.physiology.person import Person
from slowphase.physiology.protocol_choice import ProtocolChoice
from slowphase.physiology.scenario import scenario_from
from slowphase.physiology.short_form import ShortForm

DOCS = Path(__file__).parents[2] / "docs"
SIMULATOR = (DOCS / "simulator.md").read_text(encoding="utf-8")
PHYSIOLOGY = (DOCS / "physiology.md").read_text(encoding="utf-8")
PARTS = [
    storage.Dynamics,
    labyrinth.Direction,
    labyrinth.Reflex,
    labyrinths.Labyrinths,
    labyrinths.Wiring,
    spontaneous.Spontaneous,
    alertness.Alertness,
    fixation.Fixation,
    oculomotor.Oculomotor,
    oculomotor.QuickPhases,
    saccade.MainSequence,
    blink.Blinking,
    target_saccade.TargetSaccades,
    pursuit.Pursuit,
    optokinetic.Optokinetic,
    caloric.Caloric,
    impulse.Impulses,
    head_shaking.HeadShaking,
    positional.Positional,
]
MARKS = ("read", "memory", "practice", "chosen")


def _rows(page, title):
    """The rows of the table whose first heading is this, as lists of cells."""
    _, table = page.split(f"\n| {title} |", 1)
    lines = table.split("\n\n")[0].splitlines()[2:]
    return [[cell.strip() for cell in line.strip("|").split(" | ")] for line in lines]


def _default(field):
    if field.default is MISSING:
        return "–"
    return "none" if field.default is None else f"{field.default:g}"


@pytest.mark.parametrize("part", PARTS, ids=lambda part: part.__name__)
def test_every_parameter_stands_on_the_page_with_its_default(part):
    rows = _rows(PHYSIOLOGY, f"`{part.__name__}`")
    told = {row[0].strip("`"): row[1] for row in rows}
    assert told == {field.name: _default(field) for field in fields(part)}


def test_every_part_of_a_person_has_its_table():
    parts = {field.default_factory for field in fields(Person)}
    assert parts <= set(PARTS)
    for field in fields(Person):
        assert f"`{field.name}`" in SIMULATOR


def test_numbers_that_decide_something_say_where_they_come_from():
    found = re.findall(r"^\| `(\w+)` \| ([^|]+) \| [^|]+ \| [^|]+ \| ([^|]*) \|$", PHYSIOLOGY, re.M)
    found = [row for row in found if row[2] != "source"]
    assert len(found) > 80
    for name, default, source in found:
        told = any(mark in source for mark in MARKS) or "above" in source or "the same" in source
        none_yet = default in ("–", "none", "0", "1")
        assert told or none_yet or source == "see below", name


def test_the_short_keys_and_the_protocol_stand_on_the_page_with_default_and_range():
    rows = {row[0].strip("`"): row for row in _rows(SIMULATOR, "key")}
    for field in fields(ShortForm):
        _, default, allowed, _ = rows[field.name]
        known = ranges()[field.name]
        assert default == _default(field)
        assert allowed == f"{known.low:g} – {known.high:g}"
    for field in fields(ProtocolChoice):
        assert f"| `{field.name}` |" in SIMULATOR


def test_every_key_of_the_equipment_stands_on_the_page():
    for field in fields(recorder.Equipment):
        assert f"`{field.name}`" in SIMULATOR, field.name


def test_every_shipped_scenario_stands_in_the_table_with_its_line():
    rows = {row[0].strip("`"): row[1] for row in _rows(SIMULATOR, "name")}
    assert rows == {name: shipped(name)["about"] for name in shipped_names()}
    full = {
        name
        for name in shipped_names()
        if shipped(name).get("protocol", {}).get("trials") == "full"
    }
    sentence = SIMULATOR.split("have the full protocol")[0].rsplit("\n\n", 1)[1]
    assert set(re.findall(r"`([\w-]+)`", sentence)) == full


def test_the_examples_of_scenarios_are_understood():
    blocks = re.findall(r"```toml\n(.*?)```", SIMULATOR, re.DOTALL)
    assert len(blocks) == 3
    for block in blocks:
        scenario_from(tomllib.loads(block))


def test_the_example_of_the_simulator_page_runs(capsys):
    (example,) = re.findall(r"```python\n(.*?)```", SIMULATOR, re.DOTALL)
    exec(compile(example, "simulator.md", "exec"), {})
    printed = capsys.readouterr().out
    assert "sin-0.04" in printed
    assert "time_constant" in printed


def test_the_picture_of_lesions_is_what_the_model_makes(tmp_path, monkeypatch):
    from docs import lesion_picture

    drawn = lesion_picture.PICTURE.read_text(encoding="utf-8")
    monkeypatch.setattr(lesion_picture, "PICTURE", tmp_path / "lesions.svg")
    lesion_picture.draw_lesions()
    again = (tmp_path / "lesions.svg").read_text(encoding="utf-8")
    np.testing.assert_allclose(_curves(again), _curves(drawn), atol=0.2)


def _curves(svg):
    """Every coordinate in points; ids and versions of the drawing library play no part."""
    paths = re.findall(r'<path d="([^"]*)"', svg)
    return [float(number) for path in paths for number in re.findall(r"-?\d+\.?\d*", path)]
