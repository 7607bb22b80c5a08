"""Photos: all that may come, and all that must be refused."""

from __future__ import annotations

import contextlib
import io
import struct
import zlib
from typing import Any

import cv2
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from tests.support.heic_files import QUARTERS, heic_file
from workers.errors import ConversionError, ImageTooLargeError, UnreadableImageError
from workers.intake.photo import MAX_PIXELS, decode_photo

FIELD = "/inputs/photos/0"


def encoded(picture: Image.Image, kind: str, **how: Any) -> bytes:
    """Return the bytes of a picture as Pillow writes them."""
    out = io.BytesIO()
    picture.save(out, kind, **how)
    return out.getvalue()


def quarters() -> Image.Image:
    """Return a picture 64 x 48 whose quarters are red, green, blue and white, red at the top left."""
    pixels = np.zeros((48, 64, 3), np.uint8)
    pixels[:24, :32] = (200, 0, 0)
    pixels[:24, 32:] = (0, 200, 0)
    pixels[24:, :32] = (0, 0, 200)
    pixels[24:, 32:] = 255
    return Image.fromarray(pixels)


def empty_png(width: int, height: int) -> bytes:
    """Return a PNG whose header promises a size and that holds no pixels (PNG 1.2, 11.2.2)."""
    header = b"IHDR" + struct.pack(">IIBBBBB", width, height, 1, 0, 0, 0, 0)
    data = b"IDAT"
    return b"\x89PNG\r\n\x1a\n" + b"".join(
        struct.pack(">I", len(body) - 4) + body + struct.pack(">I", zlib.crc32(body))
        for body in (header, data)
    )


def jpeg_of_many_passes(count: int) -> bytes:
    """Return a progressive JPEG 64 x 48 whose last scan is there so many times more (ITU-T T.81, B.2)."""
    data = encoded(quarters(), "JPEG", progressive=True, quality=85)
    last = data[data.rfind(b"\xff\xc4", 0, data.rfind(b"\xff\xda")) : -2]  # its table, and itself
    return data[:-2] + count * last + data[-2:]


def test_a_jpeg_that_asks_for_thousands_of_passes_is_refused_before_it_is_unpacked() -> None:
    """Each takes as long as all pixels do, so time is bounded like size. Ten more are taken."""
    assert decode_photo(jpeg_of_many_passes(10), FIELD).pixels.shape == (48, 64, 3)
    with pytest.raises(UnreadableImageError, match="passes") as caught:
        decode_photo(jpeg_of_many_passes(5000), FIELD)
    assert caught.value.field == FIELD


def sixteen_bit_rgb_png() -> bytes:
    """Return a PNG 9 x 5 of 16 bit a channel (PNG 1.2, 11.2.2: depth 16, colour type 2), all 0x4D4D."""
    rows = (b"\0" + b"\x4d\x4d" * 27) * 5
    chunks = (b"IHDR" + struct.pack(">IIBBBBB", 9, 5, 16, 2, 0, 0, 0), b"IDAT" + zlib.compress(rows), b"IEND")
    return b"\x89PNG\r\n\x1a\n" + b"".join(
        struct.pack(">I", len(body) - 4) + body + struct.pack(">I", zlib.crc32(body)) for body in chunks
    )


def sixteen_bit(channels: int, ending: str) -> bytes:
    """Return a picture 9 x 5 of 16 bit a channel, all 0x4D4D but for what is opaque, as OpenCV writes it."""
    pixels = np.full((5, 9, channels), 0x4D4D, np.uint16)
    pixels[:, :, 3:] = 0xFFFF
    return cv2.imencode(ending, pixels)[1].tobytes()


# How the upright picture is stored for each orientation (Exif 2.32, 4.6.5.1.6: which side of the
# scene the 0th row and the 0th column are).
STORED = {
    1: lambda im: im,
    2: lambda im: im[:, ::-1],
    3: lambda im: im[::-1, ::-1],
    4: lambda im: im[::-1],
    5: lambda im: im.transpose(1, 0, 2),
    6: lambda im: np.rot90(im, 1),
    7: lambda im: im[::-1, ::-1].transpose(1, 0, 2),
    8: lambda im: np.rot90(im, -1),
}


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "TIFF", "WEBP", "AVIF"])
@pytest.mark.parametrize("orientation", range(1, 9))
def test_every_orientation_comes_out_upright(orientation: int, kind: str) -> None:
    """The scene's top left is the picture's, however the camera was held."""
    upright = np.asarray(quarters())
    exif = Image.Exif()
    exif[0x0112] = orientation
    stored = Image.fromarray(np.ascontiguousarray(STORED[orientation](upright)))
    lossy = {"JPEG": {"quality": 95, "subsampling": 0}, "AVIF": {"quality": 95, "subsampling": "4:4:4"}}
    pixels = decode_photo(encoded(stored, kind, exif=exif, **lossy.get(kind, {})), FIELD).pixels
    assert pixels.shape == upright.shape
    assert (
        np.abs(pixels.astype(int) - upright)[2:-2, 2:-2][(slice(None, None, 9), slice(None, None, 11))].max()
        < 40
    )


@pytest.mark.parametrize(
    ("data", "value"),
    [
        (encoded(Image.new("L", (9, 5), 77), "PNG"), 77),
        (encoded(Image.new("1", (9, 5), 1), "PNG"), 255),
        (encoded(Image.new("1", (9, 5), 0), "PPM"), 0),
        (encoded(Image.new("L", (9, 5), 77), "PPM"), 77),
        (encoded(Image.new("RGBA", (9, 5), (0, 0, 0, 0)), "PNG"), 255),
        (encoded(Image.new("LA", (9, 5), (0, 127)), "PNG"), 128),
        (encoded(Image.new("P", (9, 5), 0), "PNG", transparency=0), 255),
        (encoded(Image.fromarray(np.full((5, 9), 0x4D4D, np.uint16)), "PNG"), 0x4D),
        (encoded(Image.fromarray(np.full((5, 9), 0x4D4D, np.uint16)), "TIFF"), 0x4D),
        (encoded(Image.new("CMYK", (9, 5), (0, 0, 0, 255)), "TIFF"), 0),
        (encoded(Image.new("CMYK", (16, 16), (0, 0, 0, 0)), "JPEG"), 255),
        (encoded(Image.new("L", (16, 16), 77), "JPEG"), 77),
        (encoded(Image.new("RGB", (9, 5), (77, 77, 77)), "BMP"), 77),
        (encoded(Image.new("RGB", (9, 5), (77, 77, 77)), "WEBP", lossless=True), 77),
        (sixteen_bit_rgb_png(), 0x4D),
        (encoded(Image.new("P", (9, 5), 0), "BMP"), 0),
        (encoded(Image.new("L", (9, 5), 77), "BMP"), 77),
        (encoded(Image.new("P", (9, 5), 0), "TIFF"), 0),
        (encoded(Image.new("L", (9, 5), 77), "TIFF"), 77),
        (encoded(Image.new("RGBA", (9, 5), (0, 0, 0, 0)), "TIFF"), 255),
        (encoded(Image.new("RGBA", (9, 5), (0, 0, 0, 0)), "WEBP"), 255),
        (encoded(Image.new("RGBA", (9, 5), (0, 0, 0, 0)), "AVIF"), 255),
        (encoded(Image.new("RGB", (16, 16), (77, 77, 77)), "AVIF", quality=95), 77),
        (sixteen_bit(3, ".tif"), 0x4D),
        (sixteen_bit(4, ".png"), 0x4D),
        (sixteen_bit(1, ".png"), 0x4D),
    ],
)
def test_every_depth_and_colour_becomes_srgb(data: bytes, value: int) -> None:
    """Grey, two-tone, 16-bit, palette, CMYK and transparent pictures all come out as what they show."""
    pixels = decode_photo(data, FIELD).pixels
    assert pixels.dtype == np.uint8
    assert pixels.shape[2] == 3
    assert np.abs(pixels.astype(int) - value).max() <= 1


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"no picture at all",
        b"\x89PNG but only text",
        b"\xff\xd8\xff",
        encoded(quarters(), "PNG")[:-60],
        encoded(quarters(), "JPEG")[:400],
        encoded(quarters(), "WEBP")[:60],
        encoded(quarters(), "BMP")[:-500],
        encoded(quarters(), "TIFF")[:-500],
        encoded(quarters(), "AVIF")[:-40],
        encoded(quarters(), "AVIF")[:80],
        encoded(quarters(), "GIF"),
        cv2.imencode(".tif", np.ones((5, 9, 3), np.float32))[1].tobytes(),
        QUARTERS.read_bytes()[:-80],
        heic_file(said_px=(64, 64)),
        heic_file(said_px=(4000, 3000)),
        b"\0\0\0\x18ftypheic\0\0\0\0mif1heic",
        b'<svg xmlns="http://www.w3.org/2000/svg"/>',
        empty_png(20, 20),
        empty_png(0, 20),
    ],
)
def test_what_is_no_whole_picture_is_refused(data: bytes) -> None:
    """Empty, cut short, wrongly named or of another kind: one error that names the field and a remedy."""
    with pytest.raises(UnreadableImageError) as caught:
        decode_photo(data, FIELD)
    assert caught.value.field == FIELD
    assert caught.value.remedy


@pytest.mark.parametrize(
    "size", [(30_000, 30_000), (16_000, 2), (9_000, MAX_PIXELS // 9_000 + 1), (2**31 - 1,) * 2]
)
def test_a_picture_that_would_unpack_too_large_is_refused_by_its_header(size: tuple[int, int]) -> None:
    """A file of a hundred bytes cannot make the worker take gigabytes."""
    with pytest.raises(ImageTooLargeError) as caught:
        decode_photo(empty_png(*size), FIELD)
    assert caught.value.field == FIELD


def test_an_avif_that_says_it_is_too_large_is_refused_by_its_header() -> None:
    """The size in its ``ispe`` box (ISO/IEC 23008-12, 6.5.3) is weighed before the picture is unpacked."""
    data = encoded(quarters(), "AVIF")
    at = data.index(b"ispe") + 8
    said = data[:at] + struct.pack(">II", 9_000, MAX_PIXELS // 9_000 + 1) + data[at + 8 :]
    with pytest.raises(ImageTooLargeError) as caught:
        decode_photo(said, FIELD)
    assert caught.value.field == FIELD


def test_a_file_of_too_many_bytes_is_refused() -> None:
    """The cap on bytes comes before anything is read."""
    with pytest.raises(ImageTooLargeError, match="64 MB"):
        decode_photo(b"\xff\xd8\xff" + bytes(64 * 2**20), FIELD)


FIRST, SECOND = Image.new("L", (8, 8), 10), Image.new("L", (8, 8), 200)


@pytest.mark.parametrize(
    ("data", "is_several"),
    [
        (encoded(FIRST, "TIFF", save_all=True, append_images=[SECOND]), True),
        (encoded(FIRST, "PNG", save_all=True, append_images=[SECOND]), True),
        (encoded(FIRST, "WEBP", save_all=True, append_images=[SECOND], lossless=True), True),
        (encoded(FIRST, "AVIF", save_all=True, append_images=[SECOND], quality=100), True),
        (encoded(FIRST, "AVIF", quality=100), False),
        (encoded(FIRST, "TIFF"), False),
        (encoded(FIRST, "PNG"), False),
        (encoded(FIRST, "WEBP", lossless=True), False),
    ],
)
def test_of_several_frames_the_first_is_taken_and_that_is_told(data: bytes, is_several: bool) -> None:
    """A TIFF of two pages, an animated PNG, WebP and AVIF show their first picture."""
    photo = decode_photo(data, FIELD)
    assert photo.pixels.max() == pytest.approx(10, abs=2)
    assert photo.is_first_of_several == is_several


# What the corners of the four quarters show after so many quarter turns anticlockwise.
RED, GREEN, BLUE, WHITE = (200, 0, 0), (0, 200, 0), (0, 0, 200), (255, 255, 255)
TURNED = [
    (RED, GREEN, BLUE, WHITE), (GREEN, WHITE, RED, BLUE), (WHITE, BLUE, GREEN, RED), (BLUE, RED, WHITE, GREEN)
]  # fmt: skip


@pytest.mark.parametrize("turns", range(4))
def test_a_phones_heic_comes_out_upright(turns: int) -> None:
    """The file's own turn (ISO/IEC 23008-12, 6.5.10: quarter turns anticlockwise) is made, once."""
    pixels = decode_photo(heic_file(turns=turns), FIELD).pixels
    assert pixels.shape == ((128, 64, 3) if turns % 2 else (64, 128, 3))
    corners = [pixels[row, column] for row in (8, -8) for column in (8, -8)]
    assert np.abs(np.array(corners, int) - TURNED[turns]).max() <= 2


def test_of_several_pictures_in_a_heic_the_primary_one_is_taken() -> None:
    """Three in one file: one is shown, and it is told that there are more."""
    assert decode_photo(heic_file(pictures_count=3), FIELD).is_first_of_several
    assert not decode_photo(QUARTERS.read_bytes(), FIELD).is_first_of_several


def test_a_heic_that_says_it_is_too_large_is_refused_by_its_header() -> None:
    """The caps hold for phones' files as for all."""
    with pytest.raises(ImageTooLargeError) as caught:
        decode_photo(heic_file(said_px=(9_000, MAX_PIXELS // 9_000 + 1)), FIELD)
    assert caught.value.field == FIELD


@pytest.mark.parametrize(
    ("data", "mm_per_px"),
    [
        (encoded(quarters(), "PNG", dpi=(300, 300)), 25.4 / 300),
        (encoded(quarters(), "TIFF", dpi=(200, 200)), 25.4 / 200),
        (encoded(quarters(), "JPEG", dpi=(150, 150)), 25.4 / 150),
        (encoded(quarters(), "JPEG", dpi=(72, 72)), None),
        (encoded(quarters(), "BMP", dpi=(96, 96)), None),
        (encoded(quarters(), "BMP", dpi=(150, 150)), 25.4 / 150),
        (encoded(quarters(), "JPEG", dpi=(300, 150)), None),
        (encoded(quarters(), "PNG"), None),
    ],
)
def test_a_scale_is_believed_only_where_it_says_something(data: bytes, mm_per_px: float | None) -> None:
    """A resolution counts, but not 72 in a JPEG or 96 in a BMP, which are written as a matter of form."""
    found = decode_photo(data, FIELD).mm_per_px
    assert found == (None if mm_per_px is None else pytest.approx(mm_per_px, rel=1e-3))


SEEDS = [encoded(quarters(), kind) for kind in ("PNG", "JPEG", "TIFF", "BMP", "WEBP", "PPM")]
SEEDS += [QUARTERS.read_bytes(), encoded(quarters(), "AVIF")]


@given(
    seed=st.sampled_from(range(len(SEEDS))),
    hits=st.lists(st.tuples(st.floats(0, 0.999), st.integers(0, 255)), max_size=6),
    kept=st.floats(0.05, 1.0),
)
@settings(deadline=None, max_examples=150)
def test_a_damaged_file_gives_a_picture_or_one_of_our_errors(
    seed: int, hits: list[tuple[float, int]], kept: float
) -> None:
    """No decoder's own exception gets out, whatever bytes are changed or cut off."""
    data = bytearray(SEEDS[seed])
    for place, value in hits:
        data[int(place * len(data))] = value
    with contextlib.suppress(ConversionError):
        decode_photo(bytes(data[: int(kept * len(data))]), FIELD)
