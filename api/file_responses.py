"""Files as answers: never shown inside a page of ours, cached by their digest, in parts if asked."""

from typing import Any

from fastapi import Request
from starlette.responses import FileResponse, Response

from api.ports import ArtifactStore

FILE_RESPONSES: dict[int | str, dict[str, Any]] = {
    200: {"content": {"application/octet-stream": {"schema": {"type": "string", "format": "binary"}}}},
    206: {"description": "The part asked for by 'Range'"},
    304: {"description": "Not changed: 'If-None-Match' holds its digest"},
    400: {"description": "The 'Range' cannot be read"},
    416: {"description": "The 'Range' lies outside the file"},
}


def file_response(
    request: Request, artifacts: ArtifactStore, digest: str, owner: str, media_type: str, file_name: str
) -> Response:
    """Return the answer that sends an artifact.

    Raises:
        Refusal: no-such-artifact.
    """
    path = artifacts.path(digest, owner)
    headers = {
        "ETag": f'"{digest}"',
        "Cache-Control": "private, max-age=31536000, immutable",
        "Content-Security-Policy": "sandbox; default-src 'none'",
        "Content-Disposition": "attachment",
    }
    if f'"{digest}"' in request.headers.get("if-none-match", ""):
        return Response(status_code=304, headers=headers)
    return FileResponse(
        path, headers=headers, media_type=media_type, filename=file_name.rpartition("/")[2] or None
    )
