"""Files: in as they are, out as they were, and only to whom they belong."""

import base64
import hashlib
from typing import Any

import pytest

from api.uploads import media_type_of
from tests.support.front_desk import FrontDesk, InProcessClient

CONTENT = b"<svg xmlns='http://www.w3.org/2000/svg'/>"
DIGEST = hashlib.sha256(CONTENT)


@pytest.fixture
def client() -> InProcessClient:
    """Somebody at a desk that takes files of up to 1000 bytes."""
    return FrontDesk(max_upload_bytes=1000).client()


def test_a_file_is_stored_under_its_digest(client: InProcessClient) -> None:
    """FIPS 180-4: the address is the SHA-256 of the content; sending it again changes nothing."""
    first = client.post("/artifacts", content=CONTENT)
    again = client.post("/artifacts", content=CONTENT)

    assert first.status_code == again.status_code == 201
    assert first.json() == again.json()
    assert first.json() == {
        "href": f"/artifacts/sha256:{DIGEST.hexdigest()}",
        "type": "image/svg+xml",
        "size": len(CONTENT),
    }
    assert first.headers["location"] == first.json()["href"]


def test_a_file_comes_back_harmless(client: InProcessClient) -> None:
    """Sent to be saved, never to be shown in a page of ours: an SVG may hold scripts."""
    answer = client.get(client.post("/artifacts", content=CONTENT).json()["href"])

    assert answer.content == CONTENT
    assert answer.headers["content-disposition"] == f'attachment; filename="{DIGEST.hexdigest()}"'
    assert answer.headers["x-content-type-options"] == "nosniff"
    assert "sandbox" in answer.headers["content-security-policy"]


def test_a_file_that_is_known_is_not_sent_again(client: InProcessClient) -> None:
    """RFC 9110, 13.1.2: If-None-Match with its ETag answers 304."""
    href = client.post("/artifacts", content=CONTENT).json()["href"]
    etag = client.get(href).headers["etag"]

    answer = client.get(href, headers={"If-None-Match": etag})

    assert (answer.status_code, answer.content) == (304, b"")


@pytest.mark.parametrize(
    ("wanted", "status", "content"),
    [
        ("bytes=0-3", 206, CONTENT[:4]),
        ("bytes=-2", 206, CONTENT[-2:]),
        ("bytes=900-", 416, None),
        ("bytes=-0", 416, None),
        ("bytes=5-2", 200, CONTENT),  # 14.2: what cannot be read is ignored
        ("lines=1-2", 200, CONTENT),
        ("bytes=0-1,4-5", 200, CONTENT),  # 14.2: a server may ignore the field
    ],
)
def test_parts_of_a_file_can_be_had(
    client: InProcessClient, wanted: str, status: int, content: bytes | None
) -> None:
    """RFC 9110, 14: Range."""
    href = client.post("/artifacts", content=CONTENT).json()["href"]

    answer = client.get(href, headers={"Range": wanted})

    assert answer.status_code == status
    if content is None:
        assert answer.headers["content-range"] == f"bytes */{len(CONTENT)}"
        assert answer.json()["status"] == 416
    else:
        assert answer.content == content


@pytest.mark.parametrize(
    ("header", "status"),
    [
        ("sha-256=:" + base64.b64encode(DIGEST.digest()).decode() + ":", 201),
        ("sha-512=:AAAA:, sha-256=:" + base64.b64encode(DIGEST.digest()).decode() + ":", 201),
        ("sha-512=:AAAA:", 201),
        ("sha-256=:" + base64.b64encode(bytes(32)).decode() + ":", 400),
        ("sha-256=:AAAA:", 400),
    ],
)
def test_a_promised_digest_is_checked(client: InProcessClient, header: str, status: int) -> None:
    """RFC 9530: one that is not the content's refuses it; kinds we do not know are passed over."""
    assert (
        client.post("/artifacts", content=CONTENT, headers={"Content-Digest": header}).status_code == status
    )


@pytest.mark.parametrize("declared", [True, False])
def test_a_file_beyond_the_cap_is_refused(client: InProcessClient, declared: bool) -> None:
    """By its declared length at once, or while it comes; 1000 bytes fit, 1001 do not."""

    async def pieces(size: int) -> Any:
        for _ in range(size):
            yield b"x"

    def body(size: int) -> Any:
        return b"x" * size if declared else pieces(size)

    assert client.post("/artifacts", content=body(1000)).status_code == 201
    answer = client.post("/artifacts", content=body(1001))
    assert (answer.status_code, answer.json()["code"]) == (413, "body-too-large")


def test_an_empty_file_is_refused(client: InProcessClient) -> None:
    """Nothing can be made of nothing."""
    assert client.post("/artifacts", content=b"").json()["code"] == "input-rejected"


@pytest.mark.parametrize("digest", ["sha256:" + "0" * 64, "sha256:0", "../../etc/passwd", "%2e%2e", "md5:0"])
def test_what_is_not_here_is_a_problem(client: InProcessClient, digest: str) -> None:
    """Unknown digests and other addresses are 404 in the one form."""
    answer = client.get(f"/artifacts/{digest}")

    assert answer.status_code == 404
    assert answer.headers["content-type"] == "application/problem+json"


@pytest.mark.parametrize(
    ("head", "media_type"),
    [
        (b"\x89PNG\r\n\x1a\n", "image/png"),  # PNG specification, 5.2
        (b"\xff\xd8\xff\xe0", "image/jpeg"),  # ITU-T T.81, B.1.1
        (b"RIFF\0\0\0\0WEBPVP8 ", "image/webp"),  # RFC 9649, 2.4
        (b"%PDF-1.7", "application/pdf"),
        (b"PK\x03\x04", "application/zip"),
        (b"glTF\x02\0\0\0", "model/gltf-binary"),  # glTF 2.0, 4.4
        (b"\xef\xbb\xbf<?xml version='1.0'?>\n<!-- tern -->\n<svg>", "image/svg+xml"),
        (b"<html><svg", "image/svg+xml"),
        (b"<html>", "application/xml"),
        (b' {"a": 1}', "application/json"),
        (b"G21\nG90\n", "text/plain"),
        (b"\0\1\2", "application/octet-stream"),
    ],
)
def test_kinds_are_told_by_content(head: bytes, media_type: str) -> None:
    """The first bytes of each format, by its specification; the sender's word does not count."""
    assert media_type_of(head) == media_type
