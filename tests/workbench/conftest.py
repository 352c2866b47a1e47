"""A store with made sessions for the tests that only look, a fresh one for those that edit."""

import pytest
from served import battery_folder, chair_folder, odd_folder, page_on, raw_folder

from slowphase.store import Store

MAKERS = {
    "chair": chair_folder,
    "raw": raw_folder,
    "odd": odd_folder,
    "battery": battery_folder,
}


@pytest.fixture(scope="session")
def folders(tmp_path_factory):
    """Made session folders by name."""
    place = tmp_path_factory.mktemp("made-sessions")
    return {name: make(place) for name, make in MAKERS.items()}


def filled(place, folders):
    store = Store.open(place)
    return store, {
        name: store.add_session(folder, by="R. Doe").id for name, folder in folders.items()
    }


@pytest.fixture(scope="session")
def looked_at(tmp_path_factory, folders):
    """A page and the ids of sessions that no test changes."""
    store, ids = filled(tmp_path_factory.mktemp("looked-at") / "store", folders)
    page = page_on(store)
    for session in ids.values():
        page.session(session)
    yield page, ids
    page.client.app.state.house.close()
    store.close()


@pytest.fixture
def store(tmp_path):
    """A store of one test."""
    made = Store.open(tmp_path / "store")
    yield made
    made.close()


@pytest.fixture
def page(store):
    """The page of a server around that store."""
    made = page_on(store)
    yield made
    made.client.app.state.house.close()


@pytest.fixture
def chair(store, folders):
    """A chair session in that store."""
    return store.add_session(folders["chair"], by="R. Doe").id
