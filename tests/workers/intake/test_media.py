"""Kinds of files, told by their bytes. Signatures are those of the formats' own specifications."""

from __future__ import annotations

import pytest

from workers.intake.media import media_of


@pytest.mark.parametrize(
    ("data", "media"),
    [
        (b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR", "image/png"),
        (b"\xff\xd8\xff\xe1\0\x10Exif", "image/jpeg"),
        (b"RIFF\x10\0\0\0WEBPVP8 ", "image/webp"),
        (b"BM\x36\0\0\0", "image/bmp"),
        (b"II*\0\x08\0\0\0", "image/tiff"),
        (b"MM\0*\0\0\0\x08", "image/tiff"),
        (b"P4\n8 8\n", "image/x-portable-bitmap"),
        (b"P5 8 8 255 ", "image/x-portable-graymap"),
        (b"\0\0\0\x18ftypheic\0\0\0\0", "image/heic"),
        (b"\0\0\0\x18ftypmif1\0\0\0\0mif1heic", "image/heic"),
        (b"\0\0\0\x18ftypmif1\0\0\0\0mif1avif", "image/avif"),
        (b"\0\0\0\x14ftypavis\0\0\0\0", "image/avif"),
        (b'<?xml version="1.0"?>\n<!-- a -->\n<svg xmlns="http://www.w3.org/2000/svg"/>', "image/svg+xml"),
        (b'\xef\xbb\xbf<svg:svg xmlns:svg="http://www.w3.org/2000/svg"/>', "image/svg+xml"),
        (b'{"a": 1}', "application/json"),
        (b"%PDF-1.7", "application/pdf"),
    ],
)
def test_a_kind_is_told_by_its_first_bytes(data: bytes, media: str) -> None:
    """Each format begins as its specification says."""
    assert media_of(data) == media


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"\x89PNG",
        b"hello",
        b"<html><svg/></html>",
        b"RIFF....WAVE",
        b"P7\n",
        b"\0\0\0\x14ftypisom\0\0\0\0",
    ],
)
def test_what_is_not_known_has_no_kind(data: bytes) -> None:
    """Short, plain and foreign files come out as nothing, never as a guess."""
    assert media_of(data) == ""
