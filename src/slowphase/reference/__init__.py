"""How unusual a value is: reference sets with their sources, and how one is chosen."""

from slowphase.reference.placement import Placement
from slowphase.reference.select import candidates, place, place_all
from slowphase.reference.sets import ReferenceEntry, reference_digest, reference_sets

__all__ = [
    "Placement",
    "ReferenceEntry",
    "candidates",
    "place",
    "place_all",
    "reference_digest",
    "reference_sets",
]
