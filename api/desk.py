"""What every route works with: one value, made once by ``create_app``."""

from dataclasses import dataclass
from typing import Annotated

from fastapi import Depends, Request

from api.ports import ArtifactStore, JobFeed, JobStore
from api.request_checks import Capabilities
from api.settings import Settings


@dataclass(frozen=True, slots=True, kw_only=True)
class Desk:
    """The stores behind the front desk, its settings, and what this installation offers."""

    jobs: JobStore
    feed: JobFeed
    artifacts: ArtifactStore
    settings: Settings
    capabilities: Capabilities


def _desk_of(request: Request) -> Desk:
    desk: Desk = request.app.state.desk
    return desk


AtDesk = Annotated[Desk, Depends(_desk_of)]
