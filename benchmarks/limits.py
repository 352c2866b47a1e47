"""Where the measures stop being reliable: one thing made worse at a time, the rest healthy.

Two sinusoids (0.08 and 0.32 Hz) and one step of an invented healthy person at 250 Hz with 0.06 deg
of noise, analysed with default settings. Only the factor of the row changes, and the seeds are the
same at every level. Errors as in the accuracy: percent of the truth (at least 0.05) for gain and
time constant, a missing value worse than any other.
"""

from collections import defaultdict
from collections.abc import Callable, Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field, replace

from threadpoolctl import threadpool_limits

from slowphase.analysis.run import analyze
from slowphase.cli.simulated_session import session_from
from slowphase.physiology.alertness import Alertness
from slowphase.physiology.blink import Blinking
from slowphase.physiology.labyrinth import Direction, Reflex
from slowphase.physiology.oculomotor import Oculomotor, QuickPhases
from slowphase.physiology.person import Person
from slowphase.physiology.protocol import TrialPlan, sinusoid, step
from slowphase.physiology.recorder import Equipment
from slowphase.physiology.simulate import simulate
from slowphase.physiology.spontaneous import Spontaneous
from slowphase.recording.session import Patient

from .errors import Compared, compared, summary

SEED = 20261127
SESSIONS = 8
STUDIED = (
    ("sinusoid", "gain"),
    ("sinusoid", "phase"),
    ("sinusoid", "bias"),
    ("step", "gain"),
    ("step", "time_constant"),
)
GAIN = Direction().gain


@dataclass(frozen=True, slots=True)
class Case:
    """Who is examined, how, and with what equipment; the defaults are the healthy standard."""

    person: Person = field(default_factory=Person)
    plans: tuple[TrialPlan, ...] = (sinusoid(0.08), sinusoid(0.32), step("right"))
    equipment: Equipment = field(default_factory=Equipment)


@dataclass(frozen=True, slots=True)
class Factor:
    """What is changed, in the unit of its levels, from its mildest to its worst."""

    name: str
    unit: str
    levels: tuple[float, ...]
    case: Callable[[float], Case]


def _recorded(**changes: object) -> Case:
    return Case(equipment=replace(Equipment(), **changes))


def _person(**changes: object) -> Case:
    return Case(person=replace(Person(), **changes))


def _noise(sampling_hz: float) -> Factor:
    return Factor(
        f"noise at {sampling_hz:g} Hz",
        "deg",
        (0.02, 0.05, 0.1, 0.2, 0.4, 0.7, 1.0, 1.5),
        lambda noise_deg: _recorded(sampling_hz=sampling_hz, noise_deg=noise_deg),
    )


def _weak(gain: float) -> Case:
    side = Direction(gain=gain)
    return _person(reflex=Reflex(right=side, left=side))


def _slow(peak_deg_s: float) -> Case:
    """The chair turns so that the slow phase reaches about this speed."""
    head_deg_s = peak_deg_s / GAIN
    plans = [
        replace(plan, peak_velocity_deg_s=head_deg_s, velocity_deg_s=head_deg_s)
        for plan in Case().plans
    ]
    return Case(plans=tuple(plans))


def _quick_phases(per_s: float) -> Case:
    quick = QuickPhases(rest_per_s=per_s, busy_per_s=0.0)
    return _person(oculomotor=Oculomotor(quick=quick))


def _lapsing(share_pct: float) -> Case:
    often = Alertness(lapses_per_min=10.0 * bool(share_pct), lapse_share_limit=share_pct / 100)
    return _person(alertness=often)


def _losing(per_min: float) -> Case:
    return _recorded(eyes=("right",), eye_mismatch=0.0, losses_per_min=per_min)


def _turning(cycles: float) -> Case:
    plans = (replace(sinusoid(frequency), cycles=cycles) for frequency in (0.08, 0.32))
    return Case(plans=tuple(plans))


def _lasting(seconds: float) -> Case:
    return Case(plans=(replace(step("right"), rotation_s=seconds, rest_s=seconds),))


def _drifting(drift: float) -> Case:
    return _recorded(
        method="electrodes",
        sampling_hz=200.0,
        noise_deg=0.35,
        eyes=("right",),
        eye_mismatch=0.0,
        losses_per_min=0.0,
        drift_deg_per_sqrt_s=drift,
    )


FACTORS = (
    _noise(250.0),
    _noise(120.0),
    _noise(60.0),
    Factor(
        "sampling rate",
        "Hz",
        (1000.0, 500.0, 250.0, 120.0, 60.0, 50.0, 40.0, 30.0),
        lambda sampling_hz: _recorded(sampling_hz=sampling_hz),
    ),
    Factor("gain of the reflex", "ratio", (1.0, 0.65, 0.4, 0.2, 0.1, 0.05, 0.02), _weak),
    Factor(
        "slow response",
        "deg/s",
        (40.0, 20.0, 10.0, 5.0, 2.0, 1.0, 0.5),
        _slow,
    ),
    Factor("fast response", "deg/s", (40.0, 60.0, 80.0, 120.0, 160.0, 200.0), _slow),
    Factor("few quick phases", "per s", (3.0, 2.0, 1.5, 1.0, 0.6, 0.3), _quick_phases),
    Factor("many quick phases", "per s", (3.0, 4.0, 5.0, 6.0), _quick_phases),
    Factor(
        "blinks",
        "per min",
        (0.0, 10.0, 20.0, 30.0, 45.0, 60.0),
        lambda per_min: _person(blinking=Blinking(per_min=per_min)),
    ),
    Factor(
        "short losses of the only eye", "per min", (0.0, 15.0, 60.0, 120.0, 200.0, 400.0), _losing
    ),
    Factor(
        "spontaneous nystagmus",
        "deg/s",
        (0.0, 5.0, 10.0, 20.0, 30.0, 45.0, 60.0),
        lambda bias_deg_s: _person(spontaneous=Spontaneous(bias_deg_s=bias_deg_s)),
    ),
    Factor("lapses of alertness", "% of the trial", (0.0, 10.0, 20.0, 30.0, 45.0, 60.0), _lapsing),
    Factor("cycles", "cycles", (8.0, 4.0, 3.0, 2.0, 1.5, 1.0, 0.5), _turning),
    Factor("time at constant velocity", "s", (60.0, 40.0, 25.0, 15.0, 10.0, 5.0), _lasting),
    Factor("drift of electrodes", "deg per root s", (0.0, 0.25, 0.5, 1.0, 2.0, 4.0), _drifting),
)


def run(sessions: int = SESSIONS, factors: tuple[Factor, ...] = FACTORS) -> list[dict[str, object]]:
    """A row per factor, level and measure."""
    tasks = [
        (FACTORS.index(factor), level, number)
        for factor in factors
        for level in factor.levels
        for number in range(sessions)
    ]
    groups: dict[tuple[int, float, str, str], list[Compared]] = defaultdict(list)
    for (index, level, _), values in _measured(tasks):
        for value in values:
            groups[index, level, value.kind, value.name].append(value)
    return [
        {
            "factor": FACTORS[index].name,
            "level": level,
            "level_unit": FACTORS[index].unit,
            "kind": kind,
            "measure": name,
            "unit": values[0].unit,
        }
        | summary(values)
        for (index, level, kind, name), values in groups.items()
    ]


def _measured(
    tasks: list[tuple[int, float, int]],
) -> Iterator[tuple[tuple[int, float, int], list[Compared]]]:
    with ProcessPoolExecutor() as pool:
        results = pool.map(one_session, tasks, chunksize=4)
        for done, (task, values) in enumerate(zip(tasks, results, strict=True), start=1):
            if done % 100 == 0:
                print(f"  {done} of {len(tasks)} sessions", flush=True)
            yield task, values


def one_session(task: tuple[int, float, int]) -> list[Compared]:
    """Simulate, analyse and compare one session of one factor's level."""
    index, level, number = task
    case = FACTORS[index].case(level)
    with threadpool_limits(1):
        trials = simulate(case.person, case.plans, case.equipment, seed=SEED + number)
        session = session_from(trials, Patient("LIMITS", 50.0), None)
        truth = {trial.plan.id: trial.truth for trial in trials}
        values = compared(analyze(session), truth)
        return [value for value in values if (value.kind, value.name) in STUDIED]
