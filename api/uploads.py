"""Uploads: streamed to the store, told by their content, checked against what was promised."""

import base64
import binascii
import re

from fastapi import Request
from starlette.concurrency import run_in_threadpool

from api.access import Caller
from api.desk import Desk
from api.problem_responses import refused
from schemas.artifacts import ArtifactRecord
from schemas.problems import ProblemCode

_HEAD_BYTES = 1024
_SHA_256 = re.compile(r"(?:^|,)\s*sha-256=:([A-Za-z0-9+/=]+):")
_BY_FIRST_BYTES = {
    b"\x89PNG\r\n\x1a\n": "image/png",
    b"\xff\xd8\xff": "image/jpeg",
    b"BM": "image/bmp",
    b"II*\0": "image/tiff",
    b"MM\0*": "image/tiff",
    b"%PDF-": "application/pdf",
    b"PK\x03\x04": "application/zip",
    b"glTF": "model/gltf-binary",
}


def media_type_of(head: bytes) -> str:
    """Return the media type of a file by its first bytes; the sender's word is no evidence.

    >>> media_type_of(b"<?xml version='1.0'?><svg/>")
    'image/svg+xml'
    """
    for first, media_type in _BY_FIRST_BYTES.items():
        if head.startswith(first):
            return media_type
    if head.startswith(b"RIFF") and head[8:12] == b"WEBP":
        return "image/webp"
    if b"\0" in head:
        return "application/octet-stream"
    text = head.lstrip(b"\xef\xbb\xbf \t\r\n")
    if text.startswith(b"<"):
        return "image/svg+xml" if b"<svg" in head else "application/xml"
    if text.startswith((b"{", b"[")):
        return "application/json"
    return "text/plain"


def declared_digest(content_digest: str | None) -> str | None:
    """Return the SHA-256 of a ``Content-Digest`` header (RFC 9530) as ``sha256:…``; None without one.

    Raises:
        Refusal: digest-mismatch: it cannot be read.
    """
    if content_digest is None or not (found := _SHA_256.search(content_digest)):
        return None  # digests of other kinds may be sent too; RFC 9530 lets us pass them over
    try:
        raw = base64.b64decode(found[1], validate=True)
    except binascii.Error:
        raw = b""
    if len(raw) != 32:
        raise refused(
            ProblemCode.DIGEST_MISMATCH,
            "the Content-Digest cannot be read",
            "Write sha-256=:BASE64: with the 32 bytes of the file's SHA-256, or leave the header out.",
        )
    return "sha256:" + raw.hex()


async def receive_file(request: Request, desk: Desk, caller: Caller, expected: str | None) -> ArtifactRecord:
    """Stream the body into the store.

    Raises:
        Refusal: body-too-large, digest-mismatch, quota-exceeded, input-rejected for an empty body.
    """
    room_bytes = await run_in_threadpool(_room_bytes, desk, caller)
    head = b""
    with desk.artifacts.begin(min(desk.settings.max_upload_bytes, room_bytes)) as writer:
        async for chunk in request.stream():
            if len(head) < _HEAD_BYTES:
                head += chunk[:_HEAD_BYTES]
            writer.write(chunk)
        if not writer.size_bytes:
            raise refused(
                ProblemCode.INPUT_REJECTED, "the file is empty", "Send the file as the request's body."
            )
        return await run_in_threadpool(
            lambda: writer.commit(
                owner=caller.owner, media_type=media_type_of(head), expected_digest=expected
            )
        )


def _room_bytes(desk: Desk, caller: Caller) -> int:
    """Return how much more the caller may keep here."""
    if caller.stored_bytes is None:
        return desk.settings.max_upload_bytes
    room_bytes = caller.stored_bytes - desk.artifacts.stored_bytes(caller.owner)
    if room_bytes <= 0:
        raise refused(
            ProblemCode.QUOTA_EXCEEDED,
            f"this key may keep {caller.stored_bytes} bytes here, and does",
            "Erase jobs that are no longer wanted, or ask for more room.",
        )
    return room_bytes
