"""A questionnaire of handicap, typed in: the score as it is, and as a share of what it can be."""

from collections.abc import Mapping

from slowphase.measures.evoked_potential import typed
from slowphase.measures.interval import Estimate, Maker
from slowphase.measures.measure import Measure
from slowphase.measures.settings import MeasureSettings

PARTS = ("physical", "emotional", "functional")


def read_handicap(
    make: Maker, values: Mapping[str, object], settings: MeasureSettings
) -> list[Measure]:
    """The total score, its share (%) of the largest, and the scores of the parts that were given.

    More is worse. A score beyond the largest one is missing (``beyond_its_scale``), and so are
    one whose largest was not given (``not_given``) and a part above the whole
    (``typed_contradiction``).
    """
    scale = str(values.get("scale", "not_stated"))
    score, largest = typed(values, "score").value, typed(values, "score_max").value
    why = why_missing(score, largest)
    share = 100.0 * score / largest if not why and score is not None and largest else None
    return [
        make("score", Estimate(None if why else score), "1", definition=scale, why=why),
        make("score_share", Estimate(share), "%", definition=scale, why=why),
        *(part_score(make, values, part, scale) for part in PARTS if part in values),
    ]


def why_missing(score: float | None, largest: float | None) -> tuple[str, ...]:
    """Why a score cannot be had; empty where it can."""
    if score is None or largest is None:
        return ("not_given",)
    return ("beyond_its_scale",) if score > largest else ()


def part_score(make: Maker, values: Mapping[str, object], part: str, scale: str) -> Measure:
    """The score of one part, which is at most the largest, and at most the whole score."""
    own, whole = typed(values, part).value, typed(values, "score").value
    largest = typed(values, "score_max").value
    why = why_missing(own, largest)
    if not why and own is not None and whole is not None and own > whole:
        why = ("typed_contradiction",)
    return make(f"score_{part}", Estimate(None if why else own), "1", definition=scale, why=why)
