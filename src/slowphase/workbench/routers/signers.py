"""Who may sign."""

from __future__ import annotations

from fastapi import APIRouter

from slowphase.workbench.house import Here
from slowphase.workbench.shapes.sessions import SignerAsked, SignerEntry
from slowphase.workbench.signing import new_signer, signer_entries

router = APIRouter(tags=["signing"])


@router.get("/signers")
def list_signers(here: Here) -> list[SignerEntry]:
    """Everyone who may sign."""
    return signer_entries(here)


@router.post("/signers", status_code=201)
def add_signer(here: Here, asked: SignerAsked) -> SignerEntry:
    """Add a signer with a passphrase; only its hash is kept."""
    return new_signer(here, asked)
