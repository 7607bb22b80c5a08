"""No request body beyond a cap: refused by its declared length, or while it comes."""

from collections.abc import Callable

from starlette.datastructures import Headers
from starlette.exceptions import HTTPException
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from api.problem_responses import problem_response, refused
from schemas.problems import ProblemCode

MIB = 1024 * 1024


class BodyLimit:
    """Stops bodies that are too large, always with the same problem document.

    Args:
        app: What is guarded.
        limit_of: The cap in bytes for a path.
    """

    def __init__(self, app: ASGIApp, limit_of: Callable[[str], int]) -> None:
        self._app = app
        self._limit_of = limit_of

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the request on, counting."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        limit_bytes = self._limit_of(scope["path"])
        if _declared_bytes(scope) > limit_bytes:
            refusal = refused(ProblemCode.BODY_TOO_LARGE, _too_large(limit_bytes), "Send less at once.")
            answer = problem_response(refusal.document, instance=scope["path"])
            await answer(scope, receive, send)
            return
        seen_bytes = 0

        async def counted() -> Message:
            nonlocal seen_bytes
            message = await receive()
            seen_bytes += len(message.get("body", b""))
            if seen_bytes > limit_bytes:
                raise HTTPException(
                    413, _too_large(limit_bytes)
                )  # FastAPI lets this kind pass while it reads
            return message

        await self._app(scope, counted, send)


def _declared_bytes(scope: Scope) -> int:
    declared = Headers(scope=scope).get("content-length", "")
    return int(declared) if declared.isascii() and declared.isdigit() and len(declared) < 19 else 0


def _too_large(limit_bytes: int) -> str:
    size = f"{limit_bytes / MIB:g} MiB" if limit_bytes >= MIB else f"{limit_bytes} bytes"
    return f"the body is larger than the {size} that are taken here"
