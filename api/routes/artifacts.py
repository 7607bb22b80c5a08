"""Files: sent here as they are, stored by their content, read again by their digest."""

from typing import Annotated

from fastapi import APIRouter, Header, Request, Response
from starlette.responses import Response as PlainResponse

from api.access import Caller, allowed
from api.desk import AtDesk
from api.file_responses import FILE_RESPONSES, file_response
from api.keys import Right
from api.problem_responses import problems, refused
from api.uploads import declared_digest, receive_file
from api.web_links import at
from schemas.base import WireModel
from schemas.links import DIGEST, artifact_href
from schemas.problems import ProblemCode

router = APIRouter(prefix="/artifacts", tags=["files"])


class StoredFile(WireModel):
    """A file that is here now. Its ``href`` is what requests refer to."""

    href: str
    type: str
    size: int


@router.post(
    "",
    status_code=201,
    summary="Store a file",
    responses=problems(400, 413),
    openapi_extra={
        "requestBody": {
            "required": True,
            "content": {"application/octet-stream": {"schema": {"type": "string", "format": "binary"}}},
        }
    },
)
async def store_file(
    request: Request,
    response: Response,
    desk: AtDesk,
    caller: Annotated[Caller, allowed(Right.UPLOAD)],
    content_digest: Annotated[str | None, Header(max_length=1000, description="RFC 9530, sha-256")] = None,
) -> StoredFile:
    """Store the body as a file. Its kind is told by its content; sending it twice is harmless."""
    expected = declared_digest(content_digest)
    record = await receive_file(request, desk, caller, expected)
    href = at(request, artifact_href(record.digest))
    response.headers["Location"] = href
    return StoredFile(href=artifact_href(record.digest), type=record.media_type, size=record.size_bytes)


@router.get(
    "/{digest}", summary="A file", response_class=PlainResponse, responses=FILE_RESPONSES | problems(404, 416)
)
def stored_file(
    request: Request, desk: AtDesk, caller: Annotated[Caller, allowed(Right.READ_FILES)], digest: str
) -> PlainResponse:
    """Return the file's bytes, or the parts that ``Range`` asks for."""
    if not DIGEST.fullmatch(digest):
        raise refused(
            ProblemCode.NO_SUCH_ARTIFACT,
            "this is no address of a file",
            "Use the href that POST /artifacts answered: /artifacts/sha256: and 64 digits.",
        )
    record = desk.artifacts.stat(digest, caller.owner)
    return file_response(request, desk.artifacts, digest, caller.owner, record.media_type, record.title)
