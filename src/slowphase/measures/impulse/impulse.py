"""Every impulse of one trial: head, eye, gain, saccades, and whether it is accepted."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from slowphase.foundation.arrays import BoolArray, FloatArray
from slowphase.measures.impulse.find import Push, find_pushes
from slowphase.measures.impulse.gain import area, area_gain, moment_gain, regression_gain
from slowphase.measures.impulse.judge import (
    Before,
    before,
    head_reasons,
    plane_reasons,
    seen_reasons,
    trace_reasons,
)
from slowphase.measures.impulse.lag import lag_of
from slowphase.measures.impulse.plane import CANALS
from slowphase.measures.impulse.saccades import Response, Saccade, separated
from slowphase.measures.impulse.settings import ImpulseSettings
from slowphase.measures.impulse.signals import Signals

SHOWN_BEFORE_S = 0.10  # of each impulse, for its picture and its fit
APART_S = 0.05  # before the next push: from where its own start may show


@dataclass(frozen=True, slots=True)
class Impulse:
    """One impulse as it was measured.

    ``onset_s`` is on the recording's clock; ``canal`` the one that the movement excites;
    ``peak_deg_s`` unsigned. Gains are NaN where they cannot be had. ``held_share`` is what slow
    phase and saccades made good of the head's turn by the end of what was watched. ``refused``
    holds reasons, none of an accepted impulse. ``watched`` is False where saccades may have been
    missed: the eye was lost, or the next movement came too soon. ``response`` is None where the
    recording ends too near.
    """

    onset_s: float
    canal: str
    peak_deg_s: float
    acceleration_deg_s2: float
    lasting_s: float
    gain: float
    gain_regression: float
    gain_at_60_ms: float
    gain_at_80_ms: float
    held_share: float
    refused: tuple[str, ...]
    watched: bool
    response: Response | None

    @property
    def accepted(self) -> bool:
        """Whether it takes part in the canal's numbers."""
        return not self.refused

    @property
    def correcting(self) -> tuple[Saccade, ...]:
        """Its corrective saccades, early ones first."""
        return tuple(s for s in self.response.saccades if s.corrects) if self.response else ()


@dataclass(frozen=True, slots=True)
class Impulses:
    """All impulses of one trial in order, the plane, the lag of the eye, and the eyes in it.

    ``off_plane`` is how often the head moved sharply in another plane alone.
    """

    plane: str
    eyes: tuple[str, ...]
    lag_s: float
    impulses: tuple[Impulse, ...] = ()
    off_plane: int = 0

    def of(self, canal: str) -> tuple[Impulse, ...]:
        """Those that excite a canal."""
        return tuple(one for one in self.impulses if one.canal == canal)


def impulses_of(signals: Signals, plane: str, settings: ImpulseSettings) -> Impulses:
    """Every impulse that the head's trace shows, measured and judged."""
    pushes = find_pushes(signals, settings)
    rests = [before(signals, push, settings) for push in pushes]
    steady = _centred(signals, rests, settings)
    lag_s = lag_of(steady, pushes, settings)
    ends = [push.onset_s - APART_S for push in pushes] + [float(signals.time_s[-1])]
    table = zip(pushes, rests, ends[1:], strict=True)
    found = [
        _impulse(steady, push, plane, lag_s, (rest, end), settings) for push, rest, end in table
    ]
    usual = _usual_gaze(rests, settings)
    placed = [
        _with_gaze(one, rest, usual, settings) for one, rest in zip(found, rests, strict=True)
    ]
    off = _moved_off_plane(signals, pushes, settings)
    return Impulses(plane, signals.eyes, lag_s, tuple(placed), off)


def _centred(signals: Signals, rests: Sequence[Before], settings: ImpulseSettings) -> Signals:
    """Signals without what is there at rest: a sensor's offset, a spontaneous nystagmus.

    Both are medians over all impulses; a head that did move before one of them stays as it is, and
    so does the eye's answer to it.
    """
    seen = [rest for rest in rests if np.isfinite(rest.eye_deg_s)]
    if not seen:
        return signals
    head = float(np.median([rest.head_deg_s for rest in seen]))
    eye = float(np.median([rest.eye_deg_s for rest in seen]))
    head = head if abs(head) < settings.rest_deg_s else 0.0
    return replace(
        signals,
        smooth_head_deg_s=signals.smooth_head_deg_s - head,
        eye_deg_s=signals.eye_deg_s - eye,
    )


def _impulse(
    signals: Signals, push: Push, plane: str, lag_s: float, around: tuple[Before, float],
    settings: ImpulseSettings,
) -> Impulse:  # fmt: skip
    rest, free_until_s = around
    why = (*head_reasons(signals, push, rest, settings), *seen_reasons(signals, push, settings))
    until_s = min(push.onset_s + settings.watched_s, max(free_until_s, push.end_s + APART_S))
    nothing = float("nan")
    blank = Impulse(
        push.onset_s, CANALS[plane][0 if push.way > 0 else 1], push.peak_deg_s,
        push.acceleration_deg_s2, push.end_s - push.onset_s, nothing, nothing, nothing, nothing,
        nothing, why, watched=False, response=None,
    )  # fmt: skip
    if "impulse_cut" in why:
        return blank
    response = _response(signals, push, lag_s, until_s, settings)
    why += plane_reasons(signals, push, response, settings)
    if "impulse_blink" not in why:
        why += trace_reasons(signals, push, response, settings)
    shown = until_s - push.onset_s
    return replace(
        blank,
        gain=area_gain(response, lag_s),
        gain_regression=regression_gain(response, lag_s),
        gain_at_60_ms=moment_gain(response, 0.060),
        gain_at_80_ms=moment_gain(response, 0.080),
        held_share=_held_share(response, shown),
        refused=why,
        watched=_watched(response, shown, settings),
        response=response,
    )


def _response(
    signals: Signals, push: Push, lag_s: float, until_s: float, settings: ImpulseSettings
) -> Response:
    ends = [push.onset_s - SHOWN_BEFORE_S, until_s]
    part = slice(*np.searchsorted(signals.time_s, ends))
    since = signals.time_s[part] - push.onset_s
    head = push.way * signals.smooth_head_deg_s
    late = np.interp(signals.time_s[part] - lag_s, signals.time_s, head)
    return separated(
        since,
        head[part],
        late,
        -push.way * signals.eye_deg_s[part],
        hidden(signals, part),
        push.end_s - push.onset_s,
        signals.noise_deg_s,
        settings,
    )


def hidden(signals: Signals, part: slice) -> BoolArray:
    """Samples of a part in which no eye is seen, with those beside that the filter spoils."""
    beside = signals.hidden.copy()
    beside[1:] |= signals.hidden[:-1]
    beside[:-1] |= signals.hidden[1:]
    return beside[part]


def _held_share(response: Response, shown_s: float) -> float:
    """What the eye made good of the head's turn, saccades included, by the end; NaN if unseen."""
    if response.hidden.any():
        return float("nan")
    turned = area(response.head, response.time_s, 0.0, shown_s)
    return area(response.eye, response.time_s, 0.0, shown_s) / turned if turned > 0 else 0.0


def _watched(response: Response, shown_s: float, settings: ImpulseSettings) -> bool:
    """Whether the eye was seen for the whole time in which saccades are looked for."""
    after: FloatArray = response.time_s[response.hidden]
    return bool(shown_s >= settings.watched_s - 1e-9 and not np.any(after > 0))


def _usual_gaze(rests: Sequence[Before], settings: ImpulseSettings) -> float | None:
    known = [rest.gaze_deg for rest in rests if np.isfinite(rest.gaze_deg)]
    return float(np.median(known)) if len(known) >= settings.gaze_impulses_min else None


def _with_gaze(
    one: Impulse, rest: Before, usual_deg: float | None, settings: ImpulseSettings
) -> Impulse:
    """The impulse, refused where the eye was far from its usual place before."""
    if usual_deg is None or not abs(rest.gaze_deg - usual_deg) > settings.gaze_off_deg:
        return one
    return replace(one, refused=(*one.refused, "impulse_gaze_off"))


def _moved_off_plane(signals: Signals, pushes: Sequence[Push], settings: ImpulseSettings) -> int:
    """How many sharp movements there are in the other planes beside those of the plane."""
    if signals.off_plane_deg_s is None:
        return 0
    beside = replace(signals, smooth_head_deg_s=signals.off_plane_deg_s)
    others = find_pushes(replace(beside, head_deg_s=signals.off_plane_deg_s), settings)
    fast = [one for one in others if one.peak_deg_s > settings.peak_min_deg_s]
    reach = settings.lasting_max_s
    return sum(all(abs(one.onset_s - push.onset_s) > reach for push in pushes) for one in fast)
