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

    More is worse. A score beyond the largest one is missing (``beyond_its_scale``).
    """
    scale = str(values.get("scale"))
    score, largest = typed(values, "score").value, typed(values, "score_max").value
    sound = score is not None and largest is not None and score <= largest
    why = () if sound else ("beyond_its_scale",)
    share = 100.0 * score / largest if sound and score is not None and largest else None
    return [
        make("score", Estimate(score if sound else None), "1", definition=scale, why=why),
        make("score_share", Estimate(share), "%", definition=scale, why=why),
        *(
            make(f"score_{part}", typed(values, part), "1", definition=scale)
            for part in PARTS
            if part in values
        ),
    ]
