"""A person in a few words: age, what is left of each labyrinth, compensation, and so on.

    degree of function     w = w_asked·(1 − 0.0015·max(age − 40, 0))
    storage                of the alert person × (1 − 0.35·(1 − alertness))
    alertness              gains × (1 − 0.15·(1 − alertness)), lapses, roving, tired quick phases

With age the gain falls, most at 0.01 Hz (Chan et al. 2016), a little (Peterka et al. 1990;
abstracts read); from alert to drowsy the time constant falls by a third and the step gain by 8 %
(Matta, Enticott 2004, abstract read). The sizes beyond that are chosen.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace

from slowphase.physiology.alertness import Alertness
from slowphase.physiology.caloric import Caloric
from slowphase.physiology.fixation import Fixation
from slowphase.physiology.impulse import Impulses
from slowphase.physiology.labyrinths import Labyrinths, gaze_leak_per_s, imbalance_of, reflex_of
from slowphase.physiology.oculomotor import Oculomotor
from slowphase.physiology.person import Person
from slowphase.physiology.pursuit import Pursuit

AGEING_PER_YEAR = 0.0015  # of the function of both labyrinths, chosen
AGEING_FROM_YEARS = 40.0
FOLLOWED_DEG_S = 120.0  # head speed beyond which a head-fixed target is lost, chosen
DROWSY_STORAGE = 0.35  # time constant 15.8 to 10.5 s: Matta, Enticott 2004, abstract read
DROWSY_GAIN = 0.15  # step gain 0.53 to 0.49, sinusoids by 0.1 of about 0.5: same source


@dataclass(frozen=True, slots=True)
class ShortForm:
    """The short keys of ``[person]``.

    ``age_years`` in years. ``right`` and ``left`` are what is left of each labyrinth's function
    (1 whole, 0 none). ``compensated`` goes from 0 (acute) to 1. ``storage`` is a factor of the
    velocity storage (1 usual). ``suppression`` is the share of the reflex that a head-fixed target
    takes away at low frequencies, and the gain of the pursuit that it rests on. ``alertness`` goes
    from 1 (alert) to 0 (drowsy). Function at the very low frequency of calorics and the high ones
    of head impulses is that of the labyrinth, unless ``right_caloric`` and so on say otherwise.
    """

    age_years: float = 30.0
    right: float = 1.0
    left: float = 1.0
    compensated: float = 0.0
    storage: float = 1.0
    suppression: float = 0.95
    alertness: float = 1.0
    right_caloric: float | None = None
    left_caloric: float | None = None
    right_impulse: float | None = None
    left_impulse: float | None = None


def ageing(age_years: float) -> float:
    """The share of function that age leaves."""
    return 1.0 - AGEING_PER_YEAR * max(age_years - AGEING_FROM_YEARS, 0.0)


def labyrinths_of(short: ShortForm) -> Labyrinths:
    """Both labyrinths at this age and alertness."""
    left_over = ageing(short.age_years)
    return Labyrinths(
        right=short.right * left_over,
        left=short.left * left_over,
        compensated=short.compensated,
        storage=short.storage * (1.0 - DROWSY_STORAGE * (1.0 - short.alertness)),
    )


def caloric_of(short: ShortForm) -> Caloric:
    """What calorics find of either ear."""
    left_over = ageing(short.age_years)
    return Caloric(
        right=left_over * _either(short.right_caloric, short.right),
        left=left_over * _either(short.left_caloric, short.left),
    )


def impulses_of(short: ShortForm) -> Impulses:
    """What head impulses find of either side."""
    labyrinths = labyrinths_of(short)
    left_over = ageing(short.age_years)
    return Impulses(
        replace(
            labyrinths,
            right=left_over * _either(short.right_impulse, short.right),
            left=left_over * _either(short.left_impulse, short.left),
        )
    )


def _either(own: float | None, usual: float) -> float:
    return usual if own is None else own


def alertness_of(level: float) -> Alertness:
    """Everything that a level of alertness from 1 to 0 stands for."""
    drowsy = 1.0 - level
    return Alertness(
        throughout=1.0 - DROWSY_GAIN * drowsy,
        lapses_per_min=3.0 * drowsy,
        roving_deg=2.0 * drowsy,
        quick_rate=1.0 - 0.35 * drowsy,
        quick_speed=1.0 - 0.25 * drowsy,
    )


def person_of(short: ShortForm) -> Person:
    """The person that the short keys describe."""
    labyrinths = labyrinths_of(short)
    return Person(
        reflex=reflex_of(labyrinths),
        spontaneous=imbalance_of(labyrinths),
        oculomotor=replace(Oculomotor(), gaze_leak_per_s=gaze_leak_per_s(labyrinths)),
        alertness=alertness_of(short.alertness),
        fixation=Fixation(strength=short.suppression, largest_deg_s=FOLLOWED_DEG_S),
        caloric=caloric_of(short),
        impulses=impulses_of(short),
        pursuit=replace(Pursuit(), gain=short.suppression),
    )


def parts_of(table: Mapping[str, object]) -> tuple[dict[str, object], dict[str, object]]:
    """The short keys of a ``[person]`` table, and the tables that change single fields.

    ``alertness`` is either: a number is short, a table changes the fields of ``Alertness``.
    """
    short: dict[str, object] = {}
    detail: dict[str, object] = {}
    for key, value in table.items():
        is_short = key in ShortForm.__dataclass_fields__ and not isinstance(value, Mapping)
        (short if is_short else detail)[key] = value
    return short, detail
