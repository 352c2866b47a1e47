"""How unusual a value is: reference sets with their sources, and how one is chosen."""

from slowphase.reference.library import References, read_references
from slowphase.reference.placement import Placement, RunnerUp
from slowphase.reference.select import candidates, place, place_all
from slowphase.reference.sets import ReferenceEntry, reference_digest, reference_sets

__all__ = [
    "Placement",
    "ReferenceEntry",
    "References",
    "RunnerUp",
    "candidates",
    "place",
    "place_all",
    "read_references",
    "reference_digest",
    "reference_sets",
]
