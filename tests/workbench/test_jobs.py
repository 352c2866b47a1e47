"""Jobs: how far they are, what came of them, and stopping them."""

import threading
import time

import pytest

from slowphase.store import StoreConflict
from slowphase.workbench.jobs import Jobs
from slowphase.workbench.refusals import Refusal


def ended(jobs, job):
    while not jobs._find(job.id).ended:
        time.sleep(0.005)
    return jobs.answer(job.id)


def test_a_job_tells_how_far_it_is_and_what_came_of_it():
    jobs, go = Jobs(), threading.Event()

    def work(job):
        job.tell("half", 0.5)
        go.wait(5)
        return {"made": 3}

    job = jobs.start("something", work)
    while jobs.answer(job.id).what != "half":
        time.sleep(0.005)
    answer = jobs.answer(job.id)
    assert (answer.state, answer.share, answer.result) == ("running", 0.5, None)
    assert jobs.running("something") == job.id
    go.set()
    assert ended(jobs, job).model_dump() == {
        "id": job.id, "state": "done", "what": "half", "share": 1.0, "result": {"made": 3},
        "error": None,
    }  # fmt: skip
    assert jobs.running("something") is None


def test_a_job_that_is_cancelled_stops_where_it_next_tells_something():
    jobs, started = Jobs(), threading.Event()

    def work(job):
        started.set()
        while True:
            job.tell("more")
            time.sleep(0.002)

    job = jobs.start("something", work)
    started.wait(5)
    jobs.cancel(job.id)
    assert ended(jobs, job).state == "cancelled"


def test_a_job_that_waits_is_cancelled_at_once_and_never_begins():
    jobs, go, begun = Jobs(), threading.Event(), []
    for number in range(2):
        jobs.start(f"busy {number}", lambda _job: go.wait(5) and None)
    job = jobs.start("waits", begun.append)
    jobs.cancel(job.id)
    assert jobs.answer(job.id).state == "cancelled"
    go.set()
    after = jobs.start("after", lambda _job: {"ran": True})
    assert ended(jobs, after).state == "done"
    assert begun == []


@pytest.mark.parametrize(
    ("error", "code"), [(StoreConflict("first"), "conflict"), (Refusal(422, "own", "x"), "own")]
)
def test_a_job_that_fails_tells_why_in_the_one_shape(error, code):
    def work(_job):
        raise error

    jobs = Jobs()
    answer = ended(jobs, jobs.start("something", work))
    assert (answer.state, answer.error.code) == ("failed", code)


def test_a_job_that_breaks_tells_a_number_and_nothing_else(caplog):
    def work(_job):
        raise RuntimeError("/somewhere/private")

    jobs = Jobs()
    answer = ended(jobs, jobs.start("something", work))
    assert answer.error.code == "internal_error"
    assert "private" not in answer.model_dump_json()
    assert "/somewhere/private" in caplog.text


def test_the_same_matter_is_one_job_until_it_has_ended():
    jobs, go = Jobs(), threading.Event()
    job = jobs.start("something", lambda _job: go.wait(5) and None)
    assert jobs.start("something", lambda _job: None) is job
    assert jobs.start("another", lambda _job: None) is not job
    go.set()
    ended(jobs, job)
    assert jobs.start("something", lambda _job: None) is not job


def test_a_job_that_nobody_started_is_not_found():
    with pytest.raises(Refusal) as refused:
        Jobs().answer("nothing")
    assert refused.value.status_code == 404


def test_jobs_that_ended_long_ago_are_forgotten(monkeypatch):
    monkeypatch.setattr("slowphase.workbench.jobs.KEPT", 3)
    jobs = Jobs()
    done = [jobs.start(f"{number}", lambda _job: None) for number in range(8)]
    for job in done[-2:]:
        ended(jobs, job)
    jobs.start("last", lambda _job: None)
    with pytest.raises(Refusal):
        jobs.answer(done[0].id)
    assert jobs.answer(done[-1].id).state == "done"
