"""One position of the head as the rule of positional nystagmus looks at it."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from slowphase.measures.measure import Measure
from slowphase.measures.positional import PositionalShape
from slowphase.measures.result import TrialResult
from slowphase.reading.findings import Findings, named
from slowphase.reading.limits import limits
from slowphase.reading.rule import plain, verdict_of
from slowphase.reading.rules.against import beyond, known
from slowphase.reading.rules.nystagmus import BEATING
from slowphase.reading.words import with_interval

TURNING_S = 2.0  # how long the other way must last: a knot of the curve
QUICK = {"horizontal": ("left", "right"), "vertical": ("down", "up")}  # of slow phase > 0, < 0
TORSION = ("top of the eye to the left shoulder", "top of the eye to the right shoulder")


@dataclass(frozen=True, slots=True)
class Position:
    """One position: its usable peaks and times, and what happens on sitting up from it.

    ``turns``: the curve goes the other way within the position. ``rises``: the patient sits up
    into it; ``turned_round``: and what beat before beats the other way, as loose particles do.
    """

    name: str
    peaks: tuple[Measure, ...]
    times: tuple[Measure, ...]
    reversal: Measure | None
    lasting: bool
    turns: bool
    rises: bool
    turned_round: bool

    @property
    def beating(self) -> tuple[Measure, ...]:
        """The peaks that are surely a nystagmus."""
        limit = limits()["positional_nystagmus"].value
        return tuple(p for p in self.peaks if verdict_of(beyond(limit, p)) == "holds")

    @property
    def downbeat(self) -> bool:
        """Whether it beats downward (slow phase up), and not as a reversal on rising."""
        return not self.turned_round and any(
            p.of == "vertical" and (p.value or 0.0) > 0.0 for p in self.beating
        )

    @property
    def vertical_seen(self) -> bool:
        """Whether the vertical plane was recorded."""
        return any(peak.of == "vertical" for peak in self.peaks)

    @property
    def way(self) -> str:
        """Where the horizontal nystagmus beats; empty where there is none, or on sitting up."""
        across = [p for p in self.beating if p.of == "horizontal" and not self.rises]
        return direction(across[0]) if across else ""

    @property
    def timed(self) -> bool:
        """Whether it is known when it began or how long it lasted."""
        return any(known(measure) for measure in self.times)

    @property
    def text(self) -> str:
        """The position in words: what beats, from when, for how long, and on sitting up."""
        fastest = sorted(self.peaks, key=lambda peak: -abs(peak.value or 0.0))[:1]
        shown = self.beating or fastest
        parts = [", ".join(_peak_text(peak, self.beating) for peak in shown)]
        parts += [f"{WORDS[m.name]} {plain(m)}" for m in self.times if known(m)]
        if _reverses(self.reversal):
            parts.append("turns round on sitting up")
        return f"{self.name}: {', '.join(parts)}"


WORDS = {"latency": "begins after", "duration": "lasts"}


def positions(findings: Findings) -> list[Position]:
    """Every position of a session, in its order, with the trial's id where names are not unique."""
    trials = findings.of_kind("positional")
    names = [str(trial.stimulus.get("position") or trial.id) for trial in trials]
    twice = {name for name in names if names.count(name) > 1}
    return [
        _position(findings, trial, f"{name} ({trial.id})" if name in twice else name)
        for trial, name in zip(trials, names, strict=True)
    ]


def _position(findings: Findings, trial: TrialResult, name: str) -> Position:
    times = [m for name in ("latency", "duration") if (m := named(trial, name)) is not None]
    lay = trial.stimulus.get("sits_up_from")
    return Position(
        name=name,
        peaks=tuple(m for m in trial.measures if m.name == "peak" and known(m)),
        times=tuple(times),
        reversal=_reversal(findings, trial.id),
        lasting=any("lasting_nystagmus" in m.why for m in times),
        turns=_turns(trial),
        rises=bool(lay),
        turned_round=_reverses(_reversal(findings, str(lay))),
    )


def _reversal(findings: Findings, lying: str) -> Measure | None:
    """What sitting up from a position did."""
    found = (m for group in findings.groups_of("positional") for m in group.measures
             if (m.name, m.of) == ("reversal", lying))  # fmt: skip
    return next(found, None)


def _reverses(reversal: Measure | None) -> bool:
    return reversal is not None and "reverses_on_rising" in reversal.why


def direction(peak: Measure) -> str:
    """Where a nystagmus beats, by its quick phase."""
    up = (peak.value or 0.0) > 0.0
    if peak.of == "torsional":
        return f"quick phases with the {TORSION[0] if up else TORSION[1]}"
    ahead, back = QUICK[str(peak.of)]
    return BEATING[ahead if up else back]


def _peak_text(peak: Measure, beating: tuple[Measure, ...]) -> str:
    value, low, high = peak.value or 0.0, peak.low, peak.high
    if value < 0.0:
        low, high = (None if end is None else -end for end in (peak.high, peak.low))
    shown = with_interval(abs(value), low, high, "deg/s")
    return f"{direction(peak)} {shown}" if peak in beating else f"{peak.of} {shown}"


def _turns(trial: TrialResult) -> bool:
    """Whether the curve of the fastest plane surely goes the other way behind its peak."""
    own = trial.evidence.own if trial.evidence is not None else None
    if not isinstance(own, PositionalShape):
        return False
    limit = limits()["positional_turn"].value
    return any(largest_turn_deg_s(*curve) > limit for curve in _fastest(own))


def _fastest(shape: PositionalShape) -> Iterator[tuple[np.ndarray, np.ndarray]]:
    curves = [(time, speed) for _, time, speed in shape.curves if time.size]
    if curves:
        yield max(curves, key=lambda curve: float(np.max(np.abs(curve[1]))))


def largest_turn_deg_s(time_s: np.ndarray, velocity_deg_s: np.ndarray) -> float:
    """The fastest slow phase (deg/s) the other way behind the peak that lasts for ``TURNING_S``.

    Arrays of shape (g,) on an even grid; 0 where it never turns.
    """
    top = int(np.argmax(np.abs(velocity_deg_s)))
    against = -np.sign(velocity_deg_s[top]) * velocity_deg_s[top:]
    width = max(round(TURNING_S / float(np.diff(time_s[:2]).sum() or 1.0)), 1)
    if against.size < width:
        return 0.0
    held = np.lib.stride_tricks.sliding_window_view(against, width).min(axis=1)
    return max(float(held.max()), 0.0)
