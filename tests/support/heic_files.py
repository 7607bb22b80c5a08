"""HEIC files around one tiny coded picture: turned, doubled, or with a size that is not true.

The boxes are those of ISO/IEC 23008-12 (HEIF) and ISO/IEC 14496-12 (its container); the coded picture,
128 x 64 pixels of four coloured quarters, comes out of ``pictures/quarters.heic``.
"""

from __future__ import annotations

import struct
from pathlib import Path

QUARTERS = Path(__file__).parent / "pictures" / "quarters.heic"
SIZE_PX = (128, 64)


def heic_file(
    turns: int = 0, said_px: tuple[int, int] = SIZE_PX, pictures_count: int = 1, brand: bytes = b"heic"
) -> bytes:
    """Return a HEIC file.

    Args:
        turns: Quarter turns anticlockwise that the reader shall make (``irot``).
        said_px: Width and height as the header states them (``ispe``).
        pictures_count: How many equal pictures it holds; the first is the primary one.
        brand: The file's major brand.
    """
    whole = QUARTERS.read_bytes()
    config, coded = _box_in(whole, b"hvcC"), _box_in(whole, b"mdat")[8:]
    places = b"\x81\x02" if not turns else b"\x81\x02\x83"  # the first is essential, so is a turn
    associations = b"".join(
        struct.pack(">HB", item, len(places)) + places for item in range(1, pictures_count + 1)
    )
    sizes = _full_box(b"ispe", struct.pack(">II", *said_px))
    turning = _box(b"irot", bytes([turns])) if turns else b""
    properties = _box(
        b"iprp",
        _box(b"ipco", config + sizes + turning)
        + _full_box(b"ipma", struct.pack(">I", pictures_count) + associations),
    )
    entries = b"".join(
        _full_box(b"infe", struct.pack(">HH4s", item, 0, b"hvc1") + b"\0", version=2)
        for item in range(1, pictures_count + 1)
    )
    head = _box(b"ftyp", brand + bytes(4) + b"mif1heic")
    fixed = _full_box(b"hdlr", bytes(4) + b"pict" + bytes(13)) + _full_box(b"pitm", struct.pack(">H", 1))
    listed = _full_box(b"iinf", struct.pack(">H", pictures_count) + entries)
    located = 12 + 4 + 14 * pictures_count
    start = len(head) + 12 + len(fixed) + located + len(listed) + len(properties) + 8
    extents = b"".join(
        struct.pack(">HHHII", item, 0, 1, start, len(coded)) for item in range(1, pictures_count + 1)
    )
    places_of = _full_box(b"iloc", b"\x44\x00" + struct.pack(">H", pictures_count) + extents)
    return head + _full_box(b"meta", fixed + places_of + listed + properties) + _box(b"mdat", coded)


def _box(kind: bytes, body: bytes) -> bytes:
    return struct.pack(">I", len(body) + 8) + kind + body


def _full_box(kind: bytes, body: bytes, version: int = 0) -> bytes:
    return _box(kind, bytes([version, 0, 0, 0]) + body)


def _box_in(data: bytes, kind: bytes) -> bytes:
    """Return the first box of a kind, with its head."""
    at = data.index(kind) - 4
    return data[at : at + struct.unpack_from(">I", data, at)[0]]
