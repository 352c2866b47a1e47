"""Who may sign: an argon2id hash for each passphrase, and a growing wait after wrong ones.

The passphrase itself is never kept, logged, or part of a message. A try is counted before it is
checked, so that many at once do not slip past the wait.
"""

import unicodedata
from collections.abc import Callable
from contextlib import AbstractContextManager
from datetime import datetime
from functools import cache
from typing import TYPE_CHECKING

from sqlalchemy import select
from sqlalchemy.orm import Session as Rows

from slowphase.store.change import Change
from slowphase.store.checked_text import checked_by
from slowphase.store.errors import SignerLocked, StoreConflict, StoreError, StoreMissing
from slowphase.store.rows import Signer
from slowphase.store.sought import folded
from slowphase.store.tables import Signer as Table

if TYPE_CHECKING:
    from argon2 import PasswordHasher

Begin = Callable[[], AbstractContextManager[Change]]
SHORTEST, LONGEST = 12, 1024
FREE_TRIES, FIRST_WAIT_S, LONGEST_WAIT_S = 3, 5.0, 900.0


def signers(rows: Rows) -> tuple[Signer, ...]:
    """Who may sign, by name."""
    found = rows.scalars(select(Table).order_by(Table.folded))
    return tuple(Signer(one.name, one.added_at) for one in found)


def hashed(passphrase: str) -> str:
    """The argon2id hash of a passphrase; raises `StoreError` for one that is too short."""
    plain = _plain(passphrase)
    if not SHORTEST <= len(plain) <= LONGEST:
        raise StoreError(
            f"the passphrase has {len(plain)} characters: expected {SHORTEST} to {LONGEST}, such "
            "as four or more words; no other rule holds"
        )
    return _hasher().hash(plain)


def _plain(passphrase: str) -> str:
    """One form for a letter and its accent, however a keyboard sends them."""
    return unicodedata.normalize("NFC", passphrase)


@cache
def _hasher() -> "PasswordHasher":
    from argon2 import PasswordHasher

    return PasswordHasher()


def add_signer(change: Change, name: str, passphrase_hash: str) -> Signer:
    """Let a person sign; raises `StoreConflict` where the name is taken."""
    same = change.rows.scalars(select(Table).where(Table.folded == folded(name))).first()
    if same is not None:
        raise StoreConflict(f"{same.name} may sign already: expected another name")
    change.rows.add(
        Table(
            name=name, folded=folded(name), hash=passphrase_hash, added_at=change.at, failures=0,
            failed_at=None,
        )
    )  # fmt: skip
    change.log("signer_added", f"{name} may sign", detail={"name": name})
    return Signer(name, change.at)


def change_hash(change: Change, name: str, passphrase_hash: str) -> None:
    """Give a signer another passphrase."""
    _find(change.rows, name).hash = passphrase_hash
    change.log("passphrase_changed", f"{name} has a new passphrase", detail={"name": name})


def try_passphrase(begin: Begin, name: str, passphrase: str) -> bool:
    """Whether a passphrase is right; ``begin`` starts a change. Raises `SignerLocked`."""
    with begin() as change:
        begun = _begin_try(change, name)
    if isinstance(begun, SignerLocked):
        raise begun
    right = _is_right(passphrase, begun)
    with begin() as change:
        _end_try(change, name, right)
    return right


def _begin_try(change: Change, name: str) -> str | SignerLocked:
    """Count a try as wrong until it is found right; returns the hash, or why there is no try."""
    row = _find(change.rows, name)
    _forget_the_future(row, change.at)
    left_s = _wait_left_s(row, change.at)
    if left_s > 0:
        return SignerLocked(row.name, left_s)
    row.failures += 1
    row.failed_at = change.at
    return row.hash


def _end_try(change: Change, name: str, right: bool) -> None:
    """Say how a try ended."""
    row = _find(change.rows, name)
    if right:
        row.failures, row.failed_at = 0, None
    else:
        text = f"a wrong passphrase for {row.name}"
        change.log("passphrase_wrong", text, detail={"name": row.name, "in_a_row": row.failures})


def _is_right(passphrase: str, passphrase_hash: str) -> bool:
    """Whether a passphrase is the one of a hash."""
    from argon2.exceptions import VerifyMismatchError

    try:
        return _hasher().verify(passphrase_hash, _plain(passphrase))
    except VerifyMismatchError:
        return False


def _find(rows: Rows, name: str) -> Table:
    found = rows.scalars(select(Table).where(Table.folded == folded(name))).first()
    if found is None:
        raise StoreMissing(f"{checked_by(name)} may not sign yet: expected the name of a signer")
    return found


def wait_s(failures: int) -> float:
    """How long the next try waits after so many wrong ones in a row, in seconds."""
    if failures < FREE_TRIES:
        return 0.0
    return min(LONGEST_WAIT_S, FIRST_WAIT_S * 2.0 ** min(failures - FREE_TRIES, 32))


def _forget_the_future(row: Table, at: str) -> None:
    """After the clock was set back the wait begins now: it locks nobody out for longer."""
    if row.failed_at is not None and _passed_s(row.failed_at, at) < 0:
        row.failed_at = at


def _wait_left_s(row: Table, at: str) -> float:
    if row.failed_at is None:
        return 0.0
    return max(0.0, wait_s(row.failures) - _passed_s(row.failed_at, at))


def _passed_s(since: str, at: str) -> float:
    return (datetime.fromisoformat(at) - datetime.fromisoformat(since)).total_seconds()
