"""Ink coverage as a file."""

from __future__ import annotations

import io
import struct

import numpy as np
import pytest
from PIL import Image

from workers.errors import ParameterOutOfRangeError
from workers.intake.coverage_file import read_coverage, write_coverage
from workers.values.image import InkCoverage

FIELD = "/inputs/image"


def coverage(mm_per_px: float = 0.1) -> InkCoverage:
    """Return a coverage of all 256 values."""
    return InkCoverage(pixels=np.arange(256, dtype=np.uint8).reshape(16, 16), mm_per_px=mm_per_px)


def as_png(picture: Image.Image, **how: object) -> bytes:
    out = io.BytesIO()
    picture.save(out, "PNG", **how)
    return out.getvalue()


def test_what_is_written_is_read_again() -> None:
    """All 256 values and the scale come back."""
    again = read_coverage(write_coverage(coverage(0.08)), None, FIELD)
    assert np.array_equal(again.pixels, coverage().pixels)
    assert again.mm_per_px == pytest.approx(0.08, rel=1e-9)


def test_the_scale_is_stated_in_pixels_a_metre() -> None:
    """PNG 1.2, 11.3.5.3: pHYs holds pixels per unit twice and 1 for the metre, before IDAT; 8-bit grey."""
    data = write_coverage(coverage(0.1))
    at = data.index(b"pHYs")
    assert struct.unpack(">IIB", data[at + 4 : at + 13]) == (10_000, 10_000, 1)
    assert at < data.index(b"IDAT")
    picture = Image.open(io.BytesIO(data))
    assert (picture.mode, picture.format) == ("L", "PNG")
    picture.load()


def test_the_same_coverage_gives_the_same_bytes() -> None:
    """A file has no clock in it."""
    assert write_coverage(coverage()) == write_coverage(coverage())


def test_a_scale_that_is_asked_for_wins() -> None:
    """The argument is what the sender says of the picture."""
    assert read_coverage(write_coverage(coverage(0.1)), 0.2, FIELD).mm_per_px == 0.2


def test_a_picture_without_scale_is_refused_with_the_field_to_fill() -> None:
    """Neither the file nor the request says how large a pixel is."""
    data = as_png(Image.fromarray(coverage().pixels))
    with pytest.raises(ParameterOutOfRangeError) as caught:
        read_coverage(data, None, FIELD)
    assert caught.value.field == "/inputs/millimetres_per_pixel"


@pytest.mark.parametrize("scale", [0.0, -1.0, float("nan"), float("inf"), 1e-9, 1e9])
def test_a_scale_that_is_none_is_refused(scale: float) -> None:
    """Nothing, less than nothing and no number at all."""
    with pytest.raises(ParameterOutOfRangeError):
        read_coverage(write_coverage(coverage()), scale, FIELD)


def test_a_two_tone_picture_is_ink_and_paper() -> None:
    """One bit a pixel becomes 0 and 255."""
    picture = Image.new("1", (8, 8), 1)
    picture.putpixel((3, 4), 0)
    pixels = read_coverage(as_png(picture), 0.1, FIELD).pixels
    assert pixels[4, 3] == 0
    assert (pixels == 255).sum() == 63


def test_a_coloured_picture_is_read_by_its_light() -> None:
    """Dark blue on cream: ink 0, paper 255, and half the light between them is half-way.

    Light of the middle colour by IEC 61966-2-1, channel by channel.
    """
    ink, paper = np.array([10, 20, 90]), np.array([250, 240, 210])

    def light(value: np.ndarray) -> np.ndarray:
        return np.where(value / 255 <= 0.04045, value / 255 / 12.92, ((value / 255 + 0.055) / 1.055) ** 2.4)

    half = (light(ink) + light(paper)) / 2
    middle = np.round(255 * (1.055 * half ** (1 / 2.4) - 0.055))
    pixels = np.zeros((30, 30, 3), np.uint8)
    pixels[:10], pixels[10:20], pixels[20:] = ink, middle, paper
    read = read_coverage(as_png(Image.fromarray(pixels)), 0.1, FIELD).pixels
    assert read[0, 0] == 0
    assert read[29, 0] == 255
    assert abs(int(read[15, 0]) - 127.5) < 2
