"""The signs that patterns are made of: plain questions, each answered by a chance."""

from slowphase.reading.signs.sign import Answer, Sign
from slowphase.reading.signs.table import signs_of

__all__ = ["Answer", "Sign", "signs_of"]
