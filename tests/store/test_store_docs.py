"""The page on the store says what the code does."""

import re
from pathlib import Path

import slowphase.store
from slowphase.store.folder import DataFolder
from tests.store.small_session import write_small_session

PAGE = (Path(__file__).parents[2] / "docs" / "store.md").read_text(encoding="utf-8")


def test_the_example_runs_as_it_stands(tmp_path, monkeypatch, capsys):
    write_small_session(tmp_path / "demo" / "sessions" / "healthy")
    monkeypatch.chdir(tmp_path)
    (block,) = re.findall(r"```python\n(.*?)```", PAGE, flags=re.DOTALL)
    exec(block, {})
    assert capsys.readouterr().out == "edited: exclude on sin-0.04: talked to the nurse\n"


def test_every_place_of_the_folder_is_on_the_page():
    data = DataFolder(Path("DATA"))
    places = (data.database, data.sessions, data.made, data.incoming, data.before_migration,
              data.lock)  # fmt: skip
    assert [place.name for place in places if f"\n  {place.name}" not in PAGE] == []


def test_every_error_and_command_is_on_the_page():
    errors = [name for name in slowphase.store.__all__ if name.startswith(("Store", "Signer"))]
    assert {"StoreError", "SignerLocked"} < set(errors)
    assert [name for name in set(errors) - {"Store", "Signer"} if f"`{name}`" not in PAGE] == []
    for command in ("check", "backup", "restore", "log"):
        assert f"slowphase store {command} " in PAGE


def test_every_public_name_can_be_imported():
    for name in slowphase.store.__all__:
        assert getattr(slowphase.store, name) is not None
    assert set(dir(slowphase.store)) == set(slowphase.store.__all__)
