"""The application: routes, doors and answers around the stores it is given; nothing global."""

import asyncio

from fastapi import FastAPI
from starlette.middleware import Middleware
from starlette.middleware.cors import CORSMiddleware
from starlette.types import Lifespan

from api.access import Access
from api.body_limit import BodyLimit
from api.desk import Desk
from api.keys import Key
from api.problem_responses import EVERYWHERE, add_problem_handlers, problems
from api.routes import artifacts, capabilities, events, execution, health, jobs, landing, processes, results
from api.security_headers import SecurityHeaders
from schemas.cautions import CAUTIONS

_HOW = """\
A sign takes four requests. Store each file by `POST /artifacts` and keep the `href` it answers. Send the
order, with these as links, by `POST /processes/sign/execution`; it answers the job. Follow the job at
`/jobs/{job_id}/events` (server-sent events) or `/jobs/{job_id}`. Take the files from
`/jobs/{job_id}/results`; if it failed, the same address answers the problem, with the field at fault and
what to do.

Lengths are text with a unit ("19 mm", "3/4 in") or a number of millimetres; angles are "90 deg" or a number
of degrees. Places on a board count from its lower left corner, x to the right and y up. What may be named is
listed at `/bits`, `/materials`, `/machines`, `/fonts`, `/dialects` and `/patterns`."""


def create_app(
    desk: Desk, keys: list[Key] | None = None, lifespan: Lifespan[FastAPI] | None = None
) -> FastAPI:
    """Return the application around a desk.

    Args:
        desk: Stores, settings and capabilities.
        keys: Who is let in; without any, this very machine.
        lifespan: What is to be done around its serving.
    """
    settings = desk.settings

    def limit_of(path: str) -> int:
        return settings.max_upload_bytes if path == "/artifacts" else settings.max_request_bytes

    app = FastAPI(
        title=settings.title,
        version="1",
        summary="Inked line art in, proven router programs out.",
        description="\n".join((_HOW, "", "Before anything is cut:", "", *(f"- {each}" for each in CAUTIONS))),
        openapi_url=None,  # served at /api in the media type of the standard
        docs_url=None,
        redoc_url=None,
        generate_unique_id_function=lambda route: route.name,
        lifespan=lifespan,
        responses=problems(*EVERYWHERE),
        middleware=[
            Middleware(SecurityHeaders),
            *_for_web_pages(settings.web_origin_list),
            Middleware(Access, keys=keys or [], settings=settings),
            Middleware(BodyLimit, limit_of=limit_of),
        ],
    )
    app.state.desk = desk
    app.state.body_models = execution.BODY_MODELS
    app.state.open_streams = 0
    app.state.stopping = asyncio.Event()  # set by who serves the app: event streams end
    for room in (landing, processes, execution, jobs, events, results, artifacts, capabilities, health):
        app.include_router(room.router)
    add_problem_handlers(app)
    return app


def _for_web_pages(origins: list[str]) -> list[Middleware]:
    """Return what lets the browser call from pages of these origins; nothing is let in without any."""
    if not origins:
        return []
    return [
        Middleware(
            CORSMiddleware,
            allow_origins=origins,
            allow_methods=["GET", "POST", "DELETE"],
            allow_headers=["Authorization", "Content-Type", "Idempotency-Key", "Last-Event-ID", "Prefer"],
            expose_headers=["Location", "Preference-Applied", "Idempotency-Replayed", "Retry-After"],
        )
    ]
