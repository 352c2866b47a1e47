"""Every route of the server: one file a subject, each with one ``router``.

A new subject (bringing in, courses, references, teaching) is a file here, its shapes in
``shapes/``, and one line in ``ROUTERS``; token, limits and errors are the same for all.
"""

from fastapi import APIRouter

from slowphase.workbench.routers import (
    about,
    edits,
    figures,
    jobs,
    log,
    patients,
    reading,
    sessions,
    signers,
    trials,
)

ROUTERS: tuple[APIRouter, ...] = (
    about.router,
    patients.router,
    log.router,
    jobs.router,
    sessions.router,
    figures.router,
    trials.router,
    edits.router,
    reading.router,
    signers.router,
)
