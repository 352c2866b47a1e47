"""One trial as it is told, and windows of its traces."""

from __future__ import annotations

from typing import TYPE_CHECKING

from slowphase.workbench.refusals import Refusal, not_found
from slowphase.workbench.traces.window import CHANNELS_MOST, window_bytes

if TYPE_CHECKING:
    from collections.abc import Sequence

    from slowphase.workbench.house import House
    from slowphase.workbench.opened.session import OpenSession
    from slowphase.workbench.opened.shown import TrialTold


def told(here: House, session: str, trial: str, part: str) -> str:
    """A part of what is told of a trial, as JSON: ``answer``, ``folded`` or ``impulses``."""
    return told_of(here, session, trial)[1].parts[part]


def window(
    here: House,
    session: str,
    trial: str,
    channels: Sequence[str],
    span: tuple[float | None, float | None],
    columns: int,
) -> bytes:
    """Samples of some channels between two moments; the whole trial where one is None."""
    opened, kept = told_of(here, session, trial)
    _check_channels(channels, kept.channels)
    pyramids = {}
    for channel in channels:
        pyramid = here.room.pyramid(opened, kept.name, channel)
        if pyramid is None:
            raise not_measured(here, session)
        pyramids[channel] = pyramid
    start_s, stop_s = span
    whole = (
        kept.grid.start_s if start_s is None else start_s,
        kept.grid.stop_s if stop_s is None else stop_s,
    )
    return window_bytes(kept.grid, pyramids, whole, columns)


def told_of(here: House, session: str, trial: str) -> tuple[OpenSession, TrialTold]:
    """What is told of a trial of a session in the state that the store has now."""
    wanted = here.room.wanted(session)
    opened = here.room.open(session)
    shown = opened.shown(wanted.key)
    if shown is None:
        raise not_measured(here, session)
    if trial not in shown.trials:
        known = ", ".join(shown.trials) or "none"
        raise not_found("trial", trial, f"one of {known}")
    kept = opened.trial(shown.trials[trial])
    if kept is None:
        raise not_measured(here, session)
    return opened, kept


def not_measured(here: House, session: str) -> Refusal:
    """The session is being measured: ask for the session, which names the job, and again then."""
    here.room.remake(session)
    return Refusal(
        409, "not_measured", "The session is not measured yet.",
        expected="ask for the session, wait for its job, and ask again",
    )  # fmt: skip


def _check_channels(channels: Sequence[str], known: Sequence[str]) -> None:
    unknown = [channel for channel in channels if channel not in known]
    if unknown:
        raise not_found("channel", unknown[0], f"one of {', '.join(known) or 'none'}")
    if len(set(channels)) < len(channels) or len(channels) > CHANNELS_MOST:
        raise Refusal(
            422, "invalid_call", "A channel is asked for twice, or too many are.",
            found=str(len(channels)), expected=f"at most {CHANNELS_MOST} channels, each once",
        )  # fmt: skip
