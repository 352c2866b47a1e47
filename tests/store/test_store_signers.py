"""Who may sign: passphrases are hashed, wrong ones counted, and nothing of them is kept."""

import threading
from datetime import datetime, timedelta

import pytest
from argon2 import PasswordHasher

from slowphase.store import SignerLocked, Store, StoreConflict, StoreError, StoreMissing, signers

GOOD = "correct horse battery"


class Clock:
    """A clock that is moved by hand."""

    def __init__(self):
        self.now = datetime.fromisoformat("2026-03-02T14:05:00+01:00")

    def __call__(self):
        return self.now.isoformat(timespec="seconds")

    def move(self, seconds):
        self.now += timedelta(seconds=seconds)


@pytest.fixture
def clock():
    return Clock()


@pytest.fixture
def clinic(tmp_path, clock, monkeypatch):
    """A store with one signer, whose hashes cost little."""
    cheap = PasswordHasher(time_cost=1, memory_cost=8, parallelism=1)
    monkeypatch.setattr(signers, "_hasher", lambda: cheap)
    store = Store.open(tmp_path / "data", clock=clock)
    store.add_signer("Ann Meyer", GOOD)
    yield store
    store.close()


def test_the_right_passphrase_is_right_and_another_is_wrong(clinic):
    assert clinic.check_passphrase("Ann Meyer", GOOD)
    assert not clinic.check_passphrase("Ann Meyer", GOOD + " ")
    assert clinic.check_passphrase(" ann  MEYER", GOOD)
    assert [signer.name for signer in clinic.signers()] == ["Ann Meyer"]


def test_the_hash_is_argon2id_with_the_library_s_cost_and_a_salt_of_its_own(tmp_path):
    hashes = [signers.hashed(GOOD) for _ in range(2)]
    assert all(one.startswith("$argon2id$v=19$m=65536,t=3,p=4$") for one in hashes)
    assert hashes[0] != hashes[1]


def test_a_letter_and_its_accent_are_one_however_they_are_typed(clinic):
    clinic.add_signer("Zoé", "gr\u00f6\u00dfe z\u00e4hlt nicht")
    assert clinic.check_passphrase("Zoe\u0301", "gro\u0308\u00dfe za\u0308hlt nicht")


@pytest.mark.parametrize("passphrase", ["", "elevenchars", "x" * 1025])
def test_a_passphrase_of_fewer_than_twelve_characters_is_refused(clinic, passphrase):
    with pytest.raises(StoreError, match="expected 12 to 1024") as told:
        clinic.add_signer("Bea", passphrase)
    assert not passphrase or passphrase not in str(told.value)
    assert len(clinic.signers()) == 1


def test_no_rule_but_the_length_holds(clinic):
    clinic.add_signer("Bea", "aaaaaaaaaaaa")
    assert clinic.check_passphrase("Bea", "aaaaaaaaaaaa")


def test_a_name_is_given_once(clinic):
    with pytest.raises(StoreConflict, match="Ann Meyer may sign already"):
        clinic.add_signer("ANN MEYER", GOOD)
    with pytest.raises(StoreMissing, match="may not sign yet"):
        clinic.check_passphrase("Eve", GOOD)


def test_the_wait_grows_with_each_wrong_passphrase_and_ends_with_a_right_one(clinic, clock):
    waits = [_wait_after_wrong(clinic, clock) for _ in range(12)]
    assert waits == [0.0, 0.0, 5.0, 10.0, 20.0, 40.0, 80.0, 160.0, 320.0, 640.0, 900.0, 900.0]
    clock.move(900)
    assert clinic.check_passphrase("Ann Meyer", GOOD)
    assert _wait_after_wrong(clinic, clock) == 0.0


def _wait_after_wrong(store, clock):
    """The wait after one more wrong passphrase, when the last one is over."""
    clock.move(900)
    assert not store.check_passphrase("Ann Meyer", "wrong wrong wrong")
    with store.database.reading() as rows:
        return signers._wait_left_s(signers._find(rows, "Ann Meyer"), clock())


def test_while_it_waits_even_the_right_passphrase_is_not_looked_at(clinic, clock):
    for _ in range(3):
        clinic.check_passphrase("Ann Meyer", "wrong wrong wrong")
    for moved in (0, 4):
        clock.move(moved)
        with pytest.raises(SignerLocked, match="too many wrong passphrases") as locked:
            clinic.check_passphrase("Ann Meyer", GOOD)
        assert 0 < locked.value.wait_s <= 5
    clock.move(1)
    assert clinic.check_passphrase("Ann Meyer", GOOD)


def test_the_count_outlives_the_program(clinic, clock):
    for _ in range(3):
        clinic.check_passphrase("Ann Meyer", "wrong wrong wrong")
    clinic.close()
    again = Store.open(clinic.data.root, clock=clock)
    with pytest.raises(SignerLocked):
        again.check_passphrase("Ann Meyer", GOOD)
    again.close()


def test_a_clock_that_was_set_back_locks_nobody_out_for_longer_than_the_wait(clinic, clock):
    for _ in range(3):
        clinic.check_passphrase("Ann Meyer", "wrong wrong wrong")
    clock.move(-86_400 * 365)
    with pytest.raises(SignerLocked) as locked:
        clinic.check_passphrase("Ann Meyer", GOOD)
    assert locked.value.wait_s == 5
    clock.move(5)
    assert clinic.check_passphrase("Ann Meyer", GOOD)


def test_many_tries_at_once_do_not_slip_past_the_wait(clinic):
    outcomes, start = [], threading.Barrier(12)

    def guess():
        start.wait()
        try:
            outcomes.append(clinic.check_passphrase("Ann Meyer", "wrong wrong wrong"))
        except SignerLocked:
            outcomes.append("locked")

    threads = [threading.Thread(target=guess) for _ in range(12)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert outcomes.count(False) == 3
    assert outcomes.count("locked") == 9


def test_a_new_passphrase_needs_the_old_one(clinic):
    new = "another four words here"
    assert not clinic.change_passphrase("Ann Meyer", "wrong wrong wrong", new)
    assert clinic.check_passphrase("Ann Meyer", GOOD)
    assert clinic.change_passphrase("Ann Meyer", GOOD, new)
    assert not clinic.check_passphrase("Ann Meyer", GOOD)
    assert clinic.check_passphrase("Ann Meyer", new)
    with pytest.raises(StoreError, match="expected 12"):
        clinic.change_passphrase("Ann Meyer", new, "short")


def test_no_passphrase_is_ever_written_anywhere(clinic, tmp_path):
    wrong = "wrong but secret too"
    clinic.check_passphrase("Ann Meyer", wrong)
    clinic.change_passphrase("Ann Meyer", GOOD, "another four words here")
    whats = [entry.what for entry in clinic.log()]
    assert whats == ["passphrase_changed", "passphrase_wrong", "signer_added"]
    clinic.backup(tmp_path / "kept")
    clinic.close()
    for file in (path for path in tmp_path.rglob("*") if path.is_file()):
        content = file.read_bytes()
        for secret in (GOOD, wrong, "another four words here"):
            assert secret.encode() not in content, file
