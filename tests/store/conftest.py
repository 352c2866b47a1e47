import pytest

from slowphase.store import Store
from tests.store.small_session import write_small_session


@pytest.fixture
def folder(tmp_path):
    return write_small_session(tmp_path / "came" / "session")


@pytest.fixture
def store(tmp_path):
    with_lock = Store.open(tmp_path / "data")
    yield with_lock
    with_lock.close()


@pytest.fixture
def session(store, folder):
    return store.add_session(folder, by="Ann")
