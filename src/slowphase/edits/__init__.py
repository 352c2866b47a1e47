"""What a person changed: small, typed, ordered, signed; kept beside the recording, never in it."""

from slowphase.edits.apply import apply
from slowphase.edits.edit import Edit, Edits
from slowphase.edits.file import read_edits, write_edits

__all__ = ["Edit", "Edits", "apply", "read_edits", "write_edits"]
