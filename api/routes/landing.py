"""The ways in: landing page, conformance, API definition."""

from fastapi import APIRouter, Request
from starlette.responses import JSONResponse

from api.desk import AtDesk
from api.request_checks import LISTED_AS
from api.web_links import OGC_RELATIONS, OPENAPI, link
from schemas.base import WireModel
from schemas.cautions import CAUTIONS
from schemas.jobs import WebLink

router = APIRouter(tags=["service"])

_CLASSES = "http://www.opengis.net/spec/ogcapi-processes-1/1.0/conf/"
_ALWAYS = ("core", "json", "ogc-process-description", "job-list", "dismiss")


class LandingPage(WireModel):
    """Where to go from here."""

    title: str
    description: str
    cautions: tuple[str, ...]
    links: list[WebLink]


class Conformance(WireModel):
    """The classes of OGC API - Processes 1.0 that hold here."""

    conformsTo: list[str]  # noqa: N815 - the standard's name


@router.get("/", summary="Where to go from here", response_model_exclude_none=True)
def landing_page(request: Request, desk: AtDesk) -> LandingPage:
    """Return links to everything this service has."""
    return LandingPage(
        title=desk.settings.title,
        description="Turns inked line art into carved signs: jobs in, proven router programs out.",
        cautions=CAUTIONS,
        links=[
            link(request, "/", "self", "this page"),
            link(request, "/api", "service-desc", "the API's definition", OPENAPI),
            link(request, "/conformance", OGC_RELATIONS + "conformance", "what it conforms to"),
            link(request, "/conformance", "conformance", "what it conforms to"),
            link(request, "/processes", OGC_RELATIONS + "processes", "the processes offered"),
            link(request, "/jobs", OGC_RELATIONS + "job-list", "the jobs"),
            link(request, "/artifacts", "related", "files are uploaded here (POST)"),
            link(request, "/capabilities", "related", "everything that can be named in a request"),
            *(link(request, f"/{name}", "related", f"the {name} offered") for name in LISTED_AS.values()),
            link(request, "/readyz", "status", "whether work can be done now"),
        ],
    )


@router.get("/conformance", summary="What it conforms to")
def conformance(desk: AtDesk) -> Conformance:
    """Return the conformance classes of the job standard that hold here."""
    classes = (*_ALWAYS, "callback") if desk.settings.callback_host_list else _ALWAYS
    return Conformance(conformsTo=[_CLASSES + name for name in classes])


@router.get("/api", summary="The API's definition (OpenAPI 3.1)", response_class=JSONResponse)
def definition(request: Request) -> JSONResponse:
    """Return this very definition."""
    return JSONResponse(request.app.openapi(), media_type=OPENAPI)
