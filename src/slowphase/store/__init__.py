"""The clinic's store: sessions, edits, readings and a log; nothing confirmed is lost.

    from slowphase.store import Store

    store = Store.open(Path("data"))

Names are imported when they are first used, so that ``import slowphase.store`` costs nothing.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from slowphase.store.backup import Backup as Backup
    from slowphase.store.errors import SignerLocked as SignerLocked
    from slowphase.store.errors import StoreCancelled as StoreCancelled
    from slowphase.store.errors import StoreConflict as StoreConflict
    from slowphase.store.errors import StoreError as StoreError
    from slowphase.store.errors import StoreInUse as StoreInUse
    from slowphase.store.errors import StoreMissing as StoreMissing
    from slowphase.store.errors import StoreTooNew as StoreTooNew
    from slowphase.store.recovery import restore as restore
    from slowphase.store.rows import KeptText as KeptText
    from slowphase.store.rows import LogEntry as LogEntry
    from slowphase.store.rows import OriginalFile as OriginalFile
    from slowphase.store.rows import PatientRow as PatientRow
    from slowphase.store.rows import SessionRow as SessionRow
    from slowphase.store.rows import SignedVersion as SignedVersion
    from slowphase.store.rows import Signer as Signer
    from slowphase.store.store import Store as Store

_HOMES = {
    "Backup": "backup",
    "KeptText": "rows",
    "LogEntry": "rows",
    "OriginalFile": "rows",
    "PatientRow": "rows",
    "SessionRow": "rows",
    "SignedVersion": "rows",
    "Signer": "rows",
    "SignerLocked": "errors",
    "Store": "store",
    "StoreCancelled": "errors",
    "StoreConflict": "errors",
    "StoreError": "errors",
    "StoreInUse": "errors",
    "StoreMissing": "errors",
    "StoreTooNew": "errors",
    "restore": "recovery",
}
__all__ = [
    "Backup",
    "KeptText",
    "LogEntry",
    "OriginalFile",
    "PatientRow",
    "SessionRow",
    "SignedVersion",
    "Signer",
    "SignerLocked",
    "Store",
    "StoreCancelled",
    "StoreConflict",
    "StoreError",
    "StoreInUse",
    "StoreMissing",
    "StoreTooNew",
    "restore",
]


def __getattr__(name: str) -> Any:
    """The public names, from where they live."""
    if name not in _HOMES:
        raise AttributeError(f"module 'slowphase.store' has no attribute {name!r}")
    return getattr(import_module(f"slowphase.store.{_HOMES[name]}"), name)


def __dir__() -> list[str]:
    return list(__all__)
