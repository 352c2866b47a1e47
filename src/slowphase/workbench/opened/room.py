"""The sessions that are open, the last one first; desks are given up where memory asks for it."""

from __future__ import annotations

import logging
import threading
from collections import OrderedDict
from functools import partial
from queue import SimpleQueue
from time import sleep
from typing import TYPE_CHECKING

from slowphase.reference.library import PREFERENCES, References, references_from, shipped
from slowphase.workbench.opened.kept import Kept
from slowphase.workbench.opened.key import code_digest
from slowphase.workbench.opened.memory import TraceMemory, give_back
from slowphase.workbench.opened.session import OpenSession, Tell, Wanted
from slowphase.workbench.traces.pyramid import Pyramid, make_pyramid

if TYPE_CHECKING:
    from collections.abc import Callable

    from slowphase.analysis.result import Analysis
    from slowphase.store import Store
    from slowphase.workbench.jobs import Job, Jobs
    from slowphase.workbench.opened.shown import Shown

LOG = logging.getLogger("slowphase.workbench")
FIRST_S = 0.8  # the first picture comes before the desk
LATER_S = 0.5  # a person may undo at once; the answer to that comes first
OPEN = 50  # sessions; without their desks they are small
DESK_BYTES = 150_000_000  # of all desks but the last one's
BYTES_OF_FILES = 3  # memory of a desk for each byte of the files that it is made of


class Room:
    """The open sessions of one server."""

    def __init__(self, store: Store, jobs: Jobs) -> None:
        self._store = store
        self._jobs = jobs
        self._open: OrderedDict[str, OpenSession] = OrderedDict()
        self._lock = threading.Lock()
        self._measuring = threading.Lock()
        self._references: dict[tuple[tuple[str, str], ...], References] = {}
        self._later: SimpleQueue[Callable[[], None]] = SimpleQueue()
        self._preparing: Job | None = None
        self.traces = TraceMemory()
        threading.Thread(target=self._do_later, name="slowphase-keeper", daemon=True).start()

    def open(self, session: str) -> OpenSession:
        """The open session of an id that the store knows."""
        with self._lock:
            found = self._open.get(session)
            if found is None:
                found = self._open[session] = OpenSession(Kept(self._store, session))
            self._open.move_to_end(session)
            self._close_some()
        return found

    def load(self) -> None:
        """Load what the first picture and the first desk need, while nobody waits for it."""
        import polars  # noqa: F401  loading is what is wanted

        import slowphase.analysis.desk  # noqa: F401

        code_digest()
        self.references()

    def held(self, session: str, key: str) -> Shown | None:
        """What is shown of a state, if the session is open and holds it."""
        with self._lock:
            opened = self._open.get(session)
        return None if opened is None else opened.held(key)

    def wanted(self, session: str) -> Wanted:
        """The state of a session that the store has now; raises `StoreMissing`."""
        row = self._store.session(session)
        return Wanted(row, self._store.edits(session), self.references())

    def references(self) -> References:
        """The shipped reference sets and the clinic's own."""
        texts = {file.name: file.text for file in self._store.reference_files()}
        key = tuple(sorted(texts.items()))
        if key not in self._references:
            own = {name: text for name, text in key if name != PREFERENCES}
            prefer = texts.get(PREFERENCES)
            made = references_from(own, preferences=prefer) if texts else shipped()
            self._references = {key: made}
        return self._references[key]

    def measure(self, session: str, *, prepare_only: bool = False) -> Job:
        """Measure a session beside the server, and make its desk ready for edits.

        ``prepare_only`` marks work that nobody waits for: it ends when another session is opened.
        """
        work = partial(self._measure, session, first_s=FIRST_S if prepare_only else 0.0)
        job = self._jobs.start(f"opening {session}", work)
        before, self._preparing = self._preparing, job if prepare_only else None
        if before is not None and before is not job and not before.ended:
            before.stop.set()
        return job

    def remake(self, session: str) -> Job:
        """Measure a session again of which what was kept is gone."""
        wanted, opened = self.wanted(session), self.open(session)
        if not self._jobs.running(f"opening {session}"):
            opened.forget(wanted.key)
        return self.measure(session)

    def _measure(self, session: str, job: Job, *, first_s: float) -> None:
        job.stop.wait(first_s)
        self.measure_now(session, job.tell)

    def measure_now(self, session: str, tell: Tell) -> None:
        """Measure a session and keep what is shown of it; one after the other, for its memory."""
        with self._measuring:
            opened, wanted = self.open(session), self.wanted(session)
            tell("opening", 0.0)
            self.make_room(opened, wanted)
            opened.measured(wanted, tell)
            give_back()

    def analysis(self, session: str, tell: Tell) -> Analysis:
        """The analysis of a session as it is now; raises `InputError` where it cannot be used."""
        opened, wanted = self.open(session), self.wanted(session)
        self.make_room(opened, wanted)
        return opened.analysis(wanted, tell)

    def make_room(self, opened: OpenSession, wanted: Wanted) -> None:
        """Give up the desks of other sessions until one more fits."""
        if opened.nbytes:
            return
        coming = BYTES_OF_FILES * sum(file.bytes for file in wanted.row.files)
        with self._lock:
            others = [one for one in self._open.values() if one is not opened and one.nbytes]
        held = sum(one.nbytes for one in others)
        for one in others:
            if held + coming <= DESK_BYTES:
                break
            size = one.nbytes
            held -= size if one.give_up() else 0
        give_back()

    def pyramid(self, opened: OpenSession, traces: str, channel: str) -> Pyramid | None:
        """A channel at every zoom; None where its samples are not kept."""

        def make() -> Pyramid | None:
            samples = opened.samples(traces, channel)
            return None if samples is None else make_pyramid(samples)

        return self.traces.get((traces, channel), make)

    def keep_later(self, opened: OpenSession) -> None:
        """Keep what was made of a session when there is time for it."""
        self._later.put(opened.keep_now)

    def keep_all(self) -> None:
        """Keep what waits to be kept."""
        with self._lock:
            sessions = list(self._open.values())
        for opened in sessions:
            opened.keep_now()

    def _do_later(self) -> None:
        while True:
            work = self._later.get()
            sleep(LATER_S)
            try:
                work()
            except Exception:
                LOG.exception("what was made of a session was not kept")

    def _close_some(self) -> None:
        while len(self._open) > OPEN:
            self._open.popitem(last=False)
