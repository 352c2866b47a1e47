"""What the store refuses, and why.

SlowphaseError
└── StoreError            nothing was changed; the message says why and what to do
    ├── StoreMissing      there is no such patient, session, version, signer, text or entry
    ├── StoreConflict     another change came first, or stands in the way
    ├── StoreInUse        another program works on this store
    ├── StoreTooNew       a newer version of Slowphase made this store
    ├── SignerLocked      too many wrong passphrases: wait
    └── StoreCancelled    the caller asked to stop
"""

# ruff: noqa: N818 - each reads as what it says: except StoreConflict

from slowphase.foundation.errors import SlowphaseError


class StoreError(SlowphaseError):
    """The store did not do what was asked; nothing was changed."""


class StoreMissing(StoreError):
    """What was named is not in the store."""


class StoreConflict(StoreError):
    """Another change came first, or stands in the way."""


class StoreInUse(StoreError):
    """Another program works on this store."""


class StoreTooNew(StoreError):
    """A newer version of Slowphase made this store."""


class StoreCancelled(StoreError):
    """The caller asked to stop."""


class SignerLocked(StoreError):
    """Too many wrong passphrases; ``wait_s`` is how long signing still waits, in seconds."""

    def __init__(self, name: str, wait_s: float) -> None:
        self.wait_s = wait_s
        super().__init__(
            f"{name}: too many wrong passphrases; expected a new try in {wait_s:.0f} s or later"
        )
