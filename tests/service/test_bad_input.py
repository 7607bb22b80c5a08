"""Bad input ends in a problem that names the field and the remedy; never in a traceback."""

import copy
import io
import struct
import zlib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image

from api.local_run import run_here
from schemas.problems import Problem, Refusal
from workers.pipeline.capabilities import capabilities
from workers.pipeline.run_step import run_step

SIGN: dict[str, Any] = {
    "board": {"width": "300 mm", "height": "200 mm", "thickness": "18 mm", "material": "basswood"},
    "art": [{"photos": [{"href": "photo.png"}]}],
    "incise": {"bit": "vee-90", "depth_limit": "2.5 mm"},
}


def picture(grey: int, size: tuple[int, int] = (400, 300)) -> bytes:
    """A PNG of one grey."""
    written = io.BytesIO()
    Image.fromarray(np.full(size[::-1], grey, np.uint8)).save(written, "PNG")
    return written.getvalue()


def huge_png() -> bytes:
    """60,000 x 60,000 one-bit pixels in a few kilobytes (structure: PNG, ISO/IEC 15948)."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    header = struct.pack(">IIBBBBB", 60_000, 60_000, 1, 0, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", header)
        + chunk(b"IDAT", zlib.compress(b"\0" * 7501))
        + chunk(b"IEND", b"")
    )


def problem_of(folder: Path, photo: bytes, change: Callable[[dict[str, Any]], None] | None = None) -> Problem:
    """What a sign made from a photo comes to when it must not succeed."""
    (folder / "photo.png").write_bytes(photo)
    inputs = copy.deepcopy(SIGN)
    if change:
        change(inputs)
    try:
        result = run_here("sign", inputs, folder, run_step, lambda fraction, message: None, capabilities)
    except Refusal as refusal:
        return refusal.document
    assert result.problem is not None
    return result.problem


@pytest.mark.parametrize(
    ("photo", "code"),
    [
        pytest.param(b"", "unreadable-image", id="empty"),
        pytest.param(picture(200)[:60], "unreadable-image", id="truncated"),
        pytest.param(b"This is text.\n" * 20, "unreadable-image", id="text"),
        pytest.param(huge_png(), "image-too-large", id="huge"),
        pytest.param(picture(255), "no-drawing-found", id="all-white"),
        pytest.param(picture(0), "no-drawing-found", id="all-black"),
    ],
)
def test_a_bad_photo_is_refused_by_name(tmp_path: Path, photo: bytes, code: str) -> None:
    """The photo at fault is pointed at, and there is something to do."""
    found = problem_of(tmp_path, photo)
    assert found.code.value == code, found
    assert found.status == 422
    assert found.errors[0].pointer.startswith("/inputs/art/0")
    assert found.errors[0].remedy


@pytest.mark.parametrize(
    ("change", "pointer", "word"),
    [
        (lambda order: order["incise"].update(bit="vee-91"), "/inputs/incise/bit", "vee-90"),
        (lambda order: order["board"].update(thickness="2 mm"), "/inputs", "depth limit"),
        (lambda order: order["board"].update(width="-3 mm"), "/inputs/board/width", "0"),
        (lambda order: order["board"].update(colour="red"), "/inputs/board/colour", ""),
        (lambda order: order["board"].update(material="basewood"), "/inputs/board/material", "basswood"),
        (lambda order: order.update(machine="bench-60"), "/inputs/machine", "bench-600"),
        (lambda order: order.update(dialect="metric-line"), "/inputs/dialect", "metric-lines"),
        (lambda order: order.pop("incise"), "/inputs/incise", ""),
        (lambda order: order["art"][0].update(photos=[{"href": "none.jpg"}]), "/inputs/art/0/photos/0", ""),
    ],
)
def test_a_bad_field_is_pointed_at(
    tmp_path: Path, change: Callable[[dict[str, Any]], None], pointer: str, word: str
) -> None:
    """Each error leads to its field, and says a way out."""
    found = problem_of(tmp_path, picture(255), change)
    (error, *_) = found.errors
    assert error.pointer.startswith(pointer)
    assert word in error.detail + error.remedy
    assert error.remedy
