"""Work that takes longer than an answer may: it runs beside the server, tells how far it is, stops.

Threads are daemons: the store keeps nothing half done, so that the server may end at any moment.
"""

from __future__ import annotations

import secrets
import threading
from collections import OrderedDict
from dataclasses import dataclass, field
from queue import SimpleQueue
from typing import TYPE_CHECKING, Any

from slowphase.store.errors import StoreCancelled
from slowphase.workbench.refusals import Refusal, incident, not_found, refusal_of
from slowphase.workbench.shapes.errors import ErrorBody
from slowphase.workbench.shapes.jobs import JobAnswer, State

if TYPE_CHECKING:
    from collections.abc import Callable

    Work = Callable[["Job"], dict[str, Any] | None]

KEPT = 200  # ended jobs that can still be asked for
WORKERS = 2


class Cancelled(Exception):  # noqa: N818  asked for, not a fault
    """The caller asked a job to stop."""


@dataclass(slots=True)
class Job:
    """One job; its work calls `tell`, which raises `Cancelled` where it is to stop."""

    id: str
    about: str
    state: State = "waiting"
    what: str = ""
    share: float = 0.0
    result: dict[str, Any] | None = None
    error: Refusal | None = None
    stop: threading.Event = field(default_factory=threading.Event)

    def tell(self, what: str, share: float | None = None) -> None:
        """Say what is done now and which share (0 to 1) is behind."""
        if self.stop.is_set():
            raise Cancelled
        self.what = what
        self.share = self.share if share is None else min(max(share, 0.0), 1.0)

    @property
    def ended(self) -> bool:
        """Whether nothing more will come of it."""
        return self.state in ("done", "failed", "cancelled")


class Jobs:
    """The jobs of one server, done two at a time in the order in which they were asked for."""

    def __init__(self) -> None:
        self._jobs: OrderedDict[str, Job] = OrderedDict()
        self._lock = threading.Lock()
        self._queue: SimpleQueue[tuple[Job, Work]] = SimpleQueue()
        for number in range(WORKERS):
            name = f"slowphase-job-{number}"
            threading.Thread(target=self._work, name=name, daemon=True).start()

    def start(self, about: str, work: Work) -> Job:
        """Begin a job, or give the one about the same matter that has not ended yet."""
        with self._lock:
            for job in self._jobs.values():
                if job.about == about and not job.ended and not job.stop.is_set():
                    return job
            job = Job(secrets.token_hex(8), about)
            self._jobs[job.id] = job
            self._forget()
        self._queue.put((job, work))
        return job

    def running(self, about: str) -> str | None:
        """The id of the job about a matter that has not ended yet."""
        with self._lock:
            return next(
                (job.id for job in self._jobs.values() if job.about == about and not job.ended),
                None,
            )

    def answer(self, job_id: str) -> JobAnswer:
        """How far a job is; 404 where there is none."""
        job = self._find(job_id)
        error = None if job.error is None else _body(job.error)
        return JobAnswer(
            id=job.id,
            state=job.state,
            what=job.what or "waiting for its turn",
            share=job.share,
            result=job.result,
            error=error,
        )

    def cancel(self, job_id: str) -> None:
        """Ask a job to stop; one that waits ends at once, one that has ended stays as it is."""
        job = self._find(job_id)
        job.stop.set()
        if job.state == "waiting":
            job.state = "cancelled"

    def cancel_all(self) -> None:
        """Ask every job to stop."""
        with self._lock:
            for job in self._jobs.values():
                job.stop.set()

    def _find(self, job_id: str) -> Job:
        with self._lock:
            job = self._jobs.get(job_id)
        if job is None:
            raise not_found("job", job_id)
        return job

    def _forget(self) -> None:
        """Forget the oldest jobs that have ended."""
        ended = [id_ for id_, job in self._jobs.items() if job.ended]
        for id_ in ended[: max(len(ended) - KEPT, 0)]:
            del self._jobs[id_]

    def _work(self) -> None:
        while True:
            job, work = self._queue.get()
            if not job.stop.is_set():
                _do(job, work)
            elif not job.ended:
                job.state = "cancelled"


def _do(job: Job, work: Work) -> None:
    job.state = "running"
    try:
        job.result = work(job)
        job.share, job.state = 1.0, "done"
    except (Cancelled, StoreCancelled):
        job.state = "cancelled"
    except Exception as error:
        job.error = _told(error, job)
        job.state = "failed"


def _told(error: Exception, job: Job) -> Refusal:
    try:
        return refusal_of(error)
    except Exception:
        return incident("job", job.about)


def _body(refusal: Refusal) -> ErrorBody:
    return ErrorBody.model_validate(refusal.body())
