"""Links to resources of this service, and the relations between them."""

from fastapi import Request

from schemas.jobs import JobStatus, StatusInfo, WebLink

OGC_RELATIONS = "http://www.opengis.net/def/rel/ogc/1.0/"
JSON = "application/json"
OPENAPI = "application/vnd.oai.openapi+json;version=3.1"
EVENTS = "text/event-stream"


def at(request: Request, path: str) -> str:
    """Return a path of this service as clients must write it, behind whatever prefix a proxy adds."""
    prefix: str = request.scope.get("root_path", "")
    return prefix.rstrip("/") + path


def link(request: Request, path: str, rel: str, title: str, media_type: str = JSON) -> WebLink:
    """Return a link to a resource of this service."""
    return WebLink(href=at(request, path), rel=rel, type=media_type, title=title)


def with_links(request: Request, status: StatusInfo) -> StatusInfo:
    """Return a job's state with links to all that belongs to it."""
    job = f"/jobs/{status.jobID}"
    links = [
        link(request, job, "self", "this job"),
        link(request, f"{job}/events", "monitor", "what happens to it, as it happens", EVENTS),
        link(request, "/jobs", "up", "all jobs"),
    ]
    if status.status is JobStatus.SUCCESSFUL:
        links.append(link(request, f"{job}/results", OGC_RELATIONS + "results", "what it made"))
    if status.status is JobStatus.FAILED:
        links.append(link(request, f"{job}/results", OGC_RELATIONS + "exceptions", "why it failed"))
    return status.model_copy(update={"links": links})
