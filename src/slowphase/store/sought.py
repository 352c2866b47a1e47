"""What a search looks at: text without case and accents, dates as people write them."""

import unicodedata
from collections.abc import Iterable
from datetime import date

from slowphase.store.errors import StoreError

WORDS_MOST, FIND_LONGEST = 30, 1_000
# Letters that Unicode does not take apart, in the plain letters that people type for them.
_PLAIN = str.maketrans(
    {"ø": "o", "ł": "l", "đ": "d", "ð": "d", "þ": "th", "æ": "ae", "œ": "oe", "ı": "i", "ħ": "h"}
)


def folded(text: str) -> str:
    """A text as a search compares it."""
    for _ in range(2):  # what was taken apart may have capitals of its own
        text = unicodedata.normalize("NFKD", unicodedata.normalize("NFKD", text).casefold())
    plain = "".join(sign for sign in text if not unicodedata.combining(sign))
    return " ".join(plain.translate(_PLAIN).split())


def sought_words(find: str) -> tuple[str, ...]:
    """The words that must all be found, each once; raises `StoreError` for too many."""
    words = tuple(dict.fromkeys(folded(find).split()))
    if len(words) > WORDS_MOST or len(find) > FIND_LONGEST:
        raise StoreError(
            f"{len(words)} words of {len(find)} characters are sought: expected at most "
            f"{WORDS_MOST} words and {FIND_LONGEST} characters"
        )
    return words


def sought_text(*texts: str | None, day: date | None = None) -> str:
    """The text in which words are looked for."""
    return folded("\n".join([*(text for text in texts if text), *_written(day)]))


def _written(day: date | None) -> Iterable[str]:
    """A date in the usual ways of writing it, with and without leading zeros."""
    if day is None:
        return ()
    year, month, number = day.year, day.month, day.day
    return (
        day.isoformat(),
        f"{number:02}.{month:02}.{year}",
        f"{number}.{month}.{year}",
        f"{number:02}/{month:02}/{year}",
        f"{number}/{month}/{year}",
        f"{month:02}/{number:02}/{year}",
        f"{month}/{number}/{year}",
    )
