"""A database that was lost beside sessions is not taken for a new store."""

import pytest

from slowphase.store import Store
from slowphase.store.errors import StoreError


@pytest.mark.parametrize("how", ["gone", "empty"])
def test_sessions_without_their_database_stay_where_they_are(tmp_path, how):
    Store.open(tmp_path / "data").close()
    session = tmp_path / "data" / "sessions" / "abcdefghjk"
    session.mkdir()
    (session / "session.toml").write_bytes(b"schema = 1")
    for file in (tmp_path / "data").glob("store.sqlite*"):
        file.unlink() if how == "gone" else file.write_bytes(b"")
    with pytest.raises(StoreError, match=r"sessions and no store\.sqlite"):
        Store.open(tmp_path / "data")
    assert (session / "session.toml").is_file()
