"""Do the rules of agreement between tests keep quiet where the tests agree, and speak where not?

Sixty simulated sessions (healthy, one-sided and two-sided losses of any degree, in turn, full
protocol, 100 Hz; seeds fixed in advance) whose tests come from one person: every disagreement is
false. Then the same kind of sessions, spoilt in one way each: `found_pct` is the share in which the
rule that is meant for it says that the tests do not agree.
"""

from collections import Counter
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from datetime import date

import numpy as np
from threadpoolctl import threadpool_limits

import slowphase
from slowphase.cli.simulated_session import session_from
from slowphase.physiology.scenario import run as simulate
from slowphase.physiology.scenario import scenario_from
from slowphase.reading.agreement import RULES
from slowphase.recording.session import Patient, Session
from slowphase.recording.trial import Trial

SEED = 20261125
SESSIONS = 60
SPOILT = 10
KINDS = ("healthy", "one-sided", "two-sided")
CONDITIONS = {"alerting": "naming towns", "recording": "video"}
EQUIPMENT = {"sampling_hz": 100.0}
OTHER_EAR = {"right": "left", "left": "right"}
Table = dict[str, object]


def run(sessions: int = SESSIONS, spoilt: int = SPOILT) -> list[dict[str, object]]:
    """One row for each rule over the consistent sessions, one for each way of spoiling one."""
    tasks = [(name, number) for name in SPOILS for number in range(spoilt)]
    with ProcessPoolExecutor() as pool:
        plain = list(pool.map(consistent_session, range(sessions)))
        found = list(pool.map(spoilt_session, tasks))
    rows = [consistent_row(rule.code, plain) for rule in RULES]
    return rows + [spoilt_row(name, tasks, found) for name in SPOILS]


def consistent_row(code: str, found: list[dict[str, str]]) -> dict[str, object]:
    """How often a rule came out each way where every disagreement is false."""
    counts = Counter(session[code] for session in found)
    tested = len(found) - counts["not_tested"]
    share = round(100.0 * counts["disagree"] / tested, 1) if tested else None
    return {
        "sessions": "consistent",
        "rule": code,
        "n": tested,
        "disagree_pct": share,
        "agree": counts["agree"],
        "cannot_tell": counts["cannot_tell"],
        "not_tested": counts["not_tested"],
    }


def spoilt_row(
    name: str, tasks: list[tuple[str, int]], found: list[dict[str, str]]
) -> dict[str, object]:
    """How often the rule that is meant for it finds a spoilt session."""
    rule = SPOILS[name][0]
    own = [f[rule] for (task, _), f in zip(tasks, found, strict=True) if task == name]
    share = round(100.0 * own.count("disagree") / len(own), 1)
    return {"sessions": name, "rule": rule, "n": len(own), "found_pct": share}


def person_keys(kind: str, rng: np.random.Generator) -> Table:
    """An invented person by short keys: age, function of either side, compensation."""
    keys: Table = {"age_years": float(rng.uniform(20, 80))}
    if kind == "one-sided":
        side = ("right", "left")[int(rng.integers(2))]
        left_over = {side: float(rng.uniform(0, 0.7))}
        keys |= left_over | {"compensated": float(rng.choice([0, 0.3, 0.6, 1.0]))}
    if kind == "two-sided":
        keys |= {side: float(rng.uniform(0.1, 0.6)) for side in ("right", "left")}
        keys["compensated"] = float(rng.uniform(0.5, 1))
    return keys


def acute(rng: np.random.Generator) -> Table:
    """A person with an uncompensated loss of one side."""
    side = ("right", "left")[int(rng.integers(2))]
    return {"age_years": float(rng.uniform(20, 80)), side: float(rng.uniform(0, 0.4)),
            "compensated": 0.0}  # fmt: skip


def session(tables: Table, name: str, seed: int) -> Session:
    """A simulated session in memory."""
    base: Table = {"seed": seed, "protocol": {"trials": "full"}, "equipment": EQUIPMENT}
    trials = simulate(scenario_from(base | tables))
    patient = Patient(name, 50.0, "unknown")
    return session_from(trials, patient, date(2026, 1, 15), conditions=dict(CONDITIONS))


def verdicts(made: Session) -> dict[str, str]:
    """The verdict of every rule on a session."""
    with threadpool_limits(1):
        return {found.code: found.verdict for found in slowphase.analyze(made).agreements}


def consistent_session(number: int) -> dict[str, str]:
    """Verdicts on one session of one person."""
    rng = np.random.default_rng([SEED, number])
    kind = KINDS[number % len(KINDS)]
    return verdicts(session({"person": person_keys(kind, rng)}, kind, 1000 + number))


def spoilt_session(task: tuple[str, int]) -> dict[str, str]:
    """Verdicts on one session that was spoilt."""
    name, number = task
    place = list(SPOILS).index(name)
    rng = np.random.default_rng([SEED, 1, place, number])
    return verdicts(SPOILS[name][1](rng, 5000 + 100 * place + number))


def mirrored(trial: Trial, *, eye: bool) -> Trial:
    """A trial whose eye or chair channel has the wrong sign."""
    seen = trial.recording
    if seen is None:
        return trial
    if not eye:
        head = None if seen.head_velocity_deg_s is None else -seen.head_velocity_deg_s
        return replace(trial, recording=replace(seen, head_velocity_deg_s=head))
    channels = {k: -v if k.startswith("eye_h") else v for k, v in seen.channels.items()}
    return replace(trial, recording=replace(seen, channels=channels))


def with_mirrored_eye(rng: np.random.Generator, seed: int) -> Session:
    """The eye's horizontal channels have the wrong sign."""
    made = session({"person": person_keys("one-sided", rng)}, "mirrored eye", seed)
    return replace(made, trials=tuple(mirrored(t, eye=True) for t in made.trials))


def with_mirrored_chair(rng: np.random.Generator, seed: int) -> Session:
    """The chair's channel has the wrong sign."""
    made = session({"person": person_keys("one-sided", rng)}, "mirrored chair", seed)
    chair = ("sinusoid", "step")
    return replace(
        made,
        trials=tuple(mirrored(t, eye=False) if t.kind in chair else t for t in made.trials),
    )


def with_other_nystagmus(rng: np.random.Generator, seed: int) -> Session:
    """An uncompensated loss whose nystagmus beats toward it."""
    person = acute(rng)
    toward = -8.0 if "right" in person else 8.0
    return session({"person": person | {"spontaneous": {"bias_deg_s": toward}}}, "toward", seed)


def with_ears_mixed_up(rng: np.random.Generator, seed: int) -> Session:
    """The keys of right and left irrigations were exchanged, and so their temperatures."""
    made = session({"person": acute(rng)}, "ears mixed up", seed)
    return replace(made, trials=tuple(other_ear(trial) for trial in made.trials))


def other_ear(trial: Trial) -> Trial:
    """An irrigation under the name of the other ear at the other temperature: its nystagmus goes
    the way that those call for."""
    if trial.kind != "caloric":
        return trial
    keys = dict(trial.stimulus)
    warm = float(str(keys["temperature_c"])) > 37.0
    keys |= {"ear": OTHER_EAR[str(keys["ear"])], "temperature_c": 30.0 if warm else 44.0}
    return replace(trial, stimulus=keys)


def with_other_steps(rng: np.random.Generator, seed: int) -> Session:
    """Steps of a person whose storage is half of that in the sinusoids."""
    person = person_keys("healthy", rng)
    made = session({"person": person | {"storage": 1.2}}, "other steps", seed)
    short = session({"person": person | {"storage": 0.6}}, "other steps", seed)
    steps = {trial.id: trial for trial in short.trials if trial.kind == "step"}
    return replace(made, trials=tuple(steps.get(t.id, t) for t in made.trials))


def with_weaker_stops(rng: np.random.Generator, seed: int) -> Session:
    """Light while the chair turns: it helps the per-rotatory response alone."""
    person = person_keys("healthy", rng)
    dark = [{"id": f"step-{side}", "light_leak": 0.4} for side in ("right", "left")]
    return session({"person": person, "trial": dark}, "light while turning", seed)


def parted(rng: np.random.Generator, seed: int) -> Session:
    """Calorics of one side are gone, impulses are as they were."""
    side = ("right", "left")[int(rng.integers(2))]
    person = {"age_years": float(rng.uniform(20, 60)), side: 0.9, f"{side}_caloric": 0.15,
              f"{side}_impulse": 1.0, "compensated": 1.0}  # fmt: skip
    return session({"person": person}, "parted", seed)


def poor_suppression(rng: np.random.Generator, seed: int) -> Session:
    """Suppression fails, as if the target in the chair was not seen; pursuit is another day's."""
    person = person_keys("healthy", rng)
    made = session({"person": person | {"suppression": 0.4}}, "target not seen", seed)
    able = session({"person": person}, "target not seen", seed)
    pursuits = {trial.id: trial for trial in able.trials if trial.kind == "pursuit"}
    return replace(made, trials=tuple(pursuits.get(t.id, t) for t in made.trials))


def bad_equipment(**keys: float) -> Callable[[np.random.Generator, int], Session]:
    """A recorder that is off."""

    def spoil(rng: np.random.Generator, seed: int) -> Session:
        tables: Table = {"person": person_keys("healthy", rng), "equipment": EQUIPMENT | keys}
        return session(tables, "equipment", seed)

    return spoil


def lit(rng: np.random.Generator, seed: int) -> Session:
    """Light in the booth."""
    tables: Table = {"person": person_keys("healthy", rng),
                     "protocol": {"trials": "full", "light_leak": 0.4}}  # fmt: skip
    return session(tables, "light", seed)


SPOILS: dict[str, tuple[str, Callable[[np.random.Generator, int], Session]]] = {
    "eye channel mirrored": ("nystagmus_weaker_side", with_mirrored_eye),
    "chair channel mirrored": ("nystagmus_weaker_side", with_mirrored_chair),
    "nystagmus toward the loss": ("nystagmus_weaker_side", with_other_nystagmus),
    "ears of calorics exchanged": ("directions", with_ears_mixed_up),
    "steps of half the storage": ("phase_time_constant", with_other_steps),
    "light while turning": ("per_post", with_weaker_stops),
    "calorics of one side gone": ("frequencies", parted),
    "target in the chair not seen": ("suppression_pursuit", poor_suppression),
    "calibration 1.8 times": ("calibration_implausible", bad_equipment(calibration=1.8)),
    "clock 40 ms late": ("clock_lag", bad_equipment(head_late_s=0.04)),
    "light in the booth": ("light_leak", lit),
}


if __name__ == "__main__":
    for row in run():
        print(row)
