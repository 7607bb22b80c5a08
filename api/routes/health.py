"""Is it alive, is it of use?"""

from fastapi import APIRouter

from api.desk import AtDesk
from schemas.base import WireModel
from schemas.job_records import Backlog

router = APIRouter(tags=["service"])


class Health(WireModel):
    """A sign of life."""

    status: str


class Readiness(WireModel):
    """Whether work can be done now, and how much waits."""

    status: str
    backlog: Backlog


@router.get("/healthz", summary="Is this process alive?")
def alive() -> Health:
    """Answer."""
    return Health(status="alive")


@router.get("/readyz", summary="Can jobs be taken now?")
def ready(desk: AtDesk) -> Readiness:
    """Return how much waits; a problem if the store is out of reach."""
    desk.jobs.ping()
    return Readiness(status="ready", backlog=desk.jobs.backlog())
