"""Files as answers: never shown inside a page of ours, cached by their digest, in parts if asked."""

import re
from typing import Any

from fastapi import Request
from starlette.responses import FileResponse, Response

from api.ports import ArtifactStore
from api.problem_responses import problem_response
from schemas.problems import ProblemCode, problem

_ONE_RANGE = re.compile(r"^bytes=(?:(?P<first>\d{1,18})-(?P<last>\d{0,18})|-(?P<suffix>\d{1,18}))$")

FILE_RESPONSES: dict[int | str, dict[str, Any]] = {
    200: {"content": {"*/*": {"schema": {"type": "string", "format": "binary"}}}},
    206: {
        "description": "The part asked for by 'Range'",
        "content": {"*/*": {"schema": {"type": "string", "format": "binary"}}},
    },
    304: {"description": "Not changed: 'If-None-Match' holds its digest"},
}


def file_response(
    request: Request, artifacts: ArtifactStore, digest: str, owner: str, media_type: str, file_name: str
) -> Response:
    """Return the answer that sends an artifact, or the one part of it that ``Range`` asks for.

    Raises:
        Refusal: no-such-artifact.
    """
    path = artifacts.path(digest, owner)
    headers = {
        "ETag": f'"{digest}"',
        "Cache-Control": "private, max-age=31536000, immutable",
        "Content-Security-Policy": "sandbox; default-src 'none'",
    }
    if f'"{digest}"' in request.headers.get("if-none-match", ""):
        return Response(status_code=304, headers=headers)
    if not _range_is_good(request, size_bytes := path.stat().st_size):
        return _outside(size_bytes, request.url.path)
    name = file_name.rpartition("/")[2] or digest.removeprefix("sha256:")
    return FileResponse(path, headers=headers, media_type=media_type, filename=name)


def _range_is_good(request: Request, size_bytes: int) -> bool:
    """Return whether the range lies in the file; one that cannot be read is ignored (RFC 9110, 14.2)."""
    asked = _ONE_RANGE.match(request.headers.get("range", ""))
    if asked is None or (asked["last"] and int(asked["last"]) < int(asked["first"])):
        request.scope["headers"] = [each for each in request.scope["headers"] if each[0] != b"range"]
        return True
    return int(asked["suffix"]) > 0 if asked["suffix"] else int(asked["first"]) < size_bytes


def _outside(size_bytes: int, instance: str) -> Response:
    document = problem(
        ProblemCode.REQUEST_REFUSED,
        f"the range lies outside the file of {size_bytes} bytes",
        remedy="Ask for bytes that are there, or for the whole file.",
    )
    return problem_response(
        document.model_copy(update={"status": 416}), {"Content-Range": f"bytes */{size_bytes}"}, instance
    )
