"""What kind of file some bytes are, told by the bytes alone."""

from __future__ import annotations

import re

_SIGNATURES: tuple[tuple[bytes, str], ...] = (
    (b"\x89PNG\r\n\x1a\n", "image/png"),
    (b"\xff\xd8\xff", "image/jpeg"),
    (b"BM", "image/bmp"),
    (b"II*\x00", "image/tiff"),
    (b"MM\x00*", "image/tiff"),
    (b"GIF87a", "image/gif"),
    (b"GIF89a", "image/gif"),
    (b"%PDF-", "application/pdf"),
    (b"PK\x03\x04", "application/zip"),
    (b"\x1f\x8b", "application/gzip"),
    (b"glTF", "model/gltf-binary"),
)

_PORTABLE_MAP = re.compile(rb"P([1245])[\s#]")
_ROOT_ELEMENT = re.compile(rb"<(?![?!])(?:[A-Za-z_][\w.-]*:)?([A-Za-z_][\w.-]*)")
_AVIF_BRANDS = frozenset((b"avif", b"avis"))
_ANY_CODING_BRANDS = frozenset((b"mif1", b"msf1"))  # what codes the picture, the other brands tell
_HEIC_BRANDS = frozenset((b"heic", b"heix", b"heif")) | _ANY_CODING_BRANDS


def media_of(data: bytes) -> str:
    """Return the media type of a file by its first bytes, "" when none is known.

    A name or a header of the request is never asked: both come from whoever sent it.

    Args:
        data: The file, or at least its first 4096 bytes.

    Returns:
        A registered media type such as "image/png" or "image/svg+xml", or "".

    Source: the signatures are those of the formats' own specifications (PNG 1.2, ITU-T T.81,
    RIFF/WebP container, TIFF 6.0, Netpbm manual pages, SVG 2, ISO/IEC 14496-12).

    >>> media_of(b"P5 2 2 255 ....")
    'image/x-portable-graymap'
    """
    for signature, media in _SIGNATURES:
        if data.startswith(signature):
            return media
    if data[:4] == b"RIFF" and data[8:12] == b"WEBP":
        return "image/webp"
    if data[4:8] == b"ftyp" and (media := _media_of_brands(data)):
        return media
    portable = _PORTABLE_MAP.match(data)
    if portable:
        return "image/x-portable-bitmap" if portable[1] in b"14" else "image/x-portable-graymap"
    return _media_of_text(data[:4096])


def _media_of_brands(data: bytes) -> str:
    """Return the type of a file in ISO's container by its brands, "" for films and whatever else.

    Source: ISO/IEC 14496-12, 4.3 (``ftyp``); ISO/IEC 23008-12, 10.2; AV1 Image File Format 1.1, 6.
    """
    brand, length = data[8:12], min(int.from_bytes(data[:4], "big"), 4096)
    others = {data[at : at + 4] for at in range(16, length - 3, 4)}
    if brand in _AVIF_BRANDS or (brand in _ANY_CODING_BRANDS and others & _AVIF_BRANDS):
        return "image/avif"
    return "image/heic" if brand in _HEIC_BRANDS else ""


def _media_of_text(head: bytes) -> str:
    """Return the type of a text file by its first element or bracket, "" for anything else."""
    text = head.removeprefix(b"\xef\xbb\xbf").lstrip()
    if text.startswith((b"{", b"[")):
        return "application/json"
    if not text.startswith(b"<"):
        return ""
    without_comments = re.sub(rb"<!--.*?-->", b"", text, flags=re.DOTALL)
    root = _ROOT_ELEMENT.search(without_comments)
    return "image/svg+xml" if root and root[1] == b"svg" else ""
