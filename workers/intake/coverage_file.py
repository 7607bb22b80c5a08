"""Ink coverage as a file: an 8-bit grey PNG that states its scale."""

from __future__ import annotations

import math
import struct
import zlib

import cv2
import numpy as np
from numpy.typing import NDArray

from workers.errors import ParameterOutOfRangeError
from workers.intake.photo import decode_photo
from workers.values.image import ColourImage, InkCoverage

_FINEST_MM_PER_PX = 0.001
_COARSEST_MM_PER_PX = 10.0
_HEADER_LENGTH = 33  # signature and IHDR; pHYs must stand before IDAT (PNG 1.2, 11.3.5.3)


def write_coverage(coverage: InkCoverage, compression: int = 1) -> bytes:
    """Return the coverage as a grey PNG, black ink on white, its scale in the pHYs chunk.

    Args:
        coverage: What to write.
        compression: 0 (none) to 9 (slow) of the format's deflate.

    The scale is kept to the whole pixel a metre that the format holds: at 10 pixels
    to the millimetre an error of at most 1 in 20,000.
    """
    settings = [
        cv2.IMWRITE_PNG_COMPRESSION,
        compression,
        cv2.IMWRITE_PNG_STRATEGY,
        cv2.IMWRITE_PNG_STRATEGY_RLE,
    ]
    written, encoded = cv2.imencode(".png", coverage.pixels, settings)
    if not written:
        raise ValueError("the coverage could not be written as PNG")
    raw = encoded.tobytes()
    per_metre = max(1, round(1000.0 / coverage.mm_per_px))
    body = b"pHYs" + struct.pack(">IIB", per_metre, per_metre, 1)
    chunk = struct.pack(">I", 9) + body + struct.pack(">I", zlib.crc32(body))
    return raw[:_HEADER_LENGTH] + chunk + raw[_HEADER_LENGTH:]


def read_coverage(data: bytes, mm_per_px: float | None, field: str) -> InkCoverage:
    """Return the ink coverage in a two-tone, grey or coloured picture.

    Grey values are taken as they stand. A coloured picture becomes the grey of its light,
    stretched so that its darkest is ink and its brightest is paper.

    Args:
        data: The file's bytes, any picture that ``decode_photo`` takes.
        mm_per_px: Scale, mm per pixel; None: the file's own.
        field: JSON pointer of the link the file came by, for the errors.

    Raises:
        UnreadableImageError: As for a photo.
        ImageTooLargeError: As for a photo.
        ParameterOutOfRangeError: Neither the file nor the argument gives a usable scale.

    Source: IEC 61966-2-1 (sRGB) for the light of a value and the weights of the channels.
    """
    picture = decode_photo(data, field)
    return coverage_of(picture, _scale(picture, mm_per_px, field))


def coverage_of(picture: ColourImage, mm_per_px: float) -> InkCoverage:
    """Return the ink coverage in a decoded picture; see :func:`read_coverage`.

    Args:
        picture: The picture.
        mm_per_px: Its scale, mm per pixel.
    """
    red, green, blue = (picture.pixels[:, :, channel] for channel in range(3))
    if np.array_equal(red, green) and np.array_equal(green, blue):
        return InkCoverage(pixels=np.ascontiguousarray(red), mm_per_px=mm_per_px)
    return InkCoverage(pixels=_grey_of_colour(picture.pixels), mm_per_px=mm_per_px)


def _scale(picture: ColourImage, mm_per_px: float | None, field: str) -> float:
    """Return the scale that was asked for, or the file's, or refuse."""
    scale = picture.mm_per_px if mm_per_px is None else mm_per_px
    asked = f"{field.rsplit('/', 1)[0]}/millimetres_per_pixel"
    if scale is None:
        raise ParameterOutOfRangeError(
            "the picture does not say how large its pixels are",
            field=asked,
            remedy="give 'millimetres_per_pixel', or save the picture with its resolution",
        )
    if not (math.isfinite(scale) and _FINEST_MM_PER_PX <= scale <= _COARSEST_MM_PER_PX):
        raise ParameterOutOfRangeError(
            f"a scale of {scale} mm per pixel; {_FINEST_MM_PER_PX} to {_COARSEST_MM_PER_PX} can be used",
            field=asked,
            remedy="a sheet scanned at 300 dpi has 0.0847 millimetres per pixel",
        )
    return float(scale)


def _grey_of_colour(pixels: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """Return the light of each pixel, darkest part of the picture 0 and brightest 255."""
    value = np.arange(256) / 255.0
    light = np.where(value <= 0.04045, value / 12.92, ((value + 0.055) / 1.055) ** 2.4)
    grey = np.zeros(pixels.shape[:2], np.float32)
    for channel, weight in enumerate((0.2126, 0.7152, 0.0722)):
        grey += np.take((weight * light).astype(np.float32), pixels[:, :, channel])
    ink, paper = np.percentile(grey[::4, ::4], (0.5, 99.5))
    if paper - ink < 0.02:  # one tone: nothing to stretch
        return np.asarray(np.clip(grey * 255.0 + 0.5, 0, 255), np.uint8)
    return np.asarray(np.clip((grey - ink) * (255.0 / (paper - ink)) + 0.5, 0, 255), np.uint8)
