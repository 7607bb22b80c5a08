"""PNG files with their scale."""

from __future__ import annotations

import struct
import zlib

import cv2
import numpy as np
from numpy.typing import NDArray

_SIGNATURE_AND_HEADER_BYTES = 8 + 25  # signature; IHDR with length, name and check
_COMPRESSION = 3  # four times as fast as 9 on these pictures, for files a tenth larger
_FILTER = cv2.IMWRITE_PNG_FILTER_SUB  # half the time of the library's choice by rows, for files no larger


def encode_png(pixels: NDArray[np.uint8] | NDArray[np.uint16], mm_per_px: float) -> bytes:
    """Return a picture as PNG whose physical pixel size is stated.

    Args:
        pixels: Grey (rows, columns), 8 or 16 bit, or blue, green, red (rows, columns, 3).
        mm_per_px: Side of a pixel.

    Source: Portable Network Graphics, W3C recommendation, 11.3.4.3 pHYs.
    """
    options = [cv2.IMWRITE_PNG_COMPRESSION, _COMPRESSION, cv2.IMWRITE_PNG_FILTER, _FILTER]
    done, data = cv2.imencode(".png", pixels, options)
    if not done:
        raise ValueError(f"pixels of shape {pixels.shape} and {pixels.dtype} make no PNG")
    per_metre = round(1000 / mm_per_px)
    body = b"pHYs" + struct.pack(">IIB", per_metre, per_metre, 1)
    chunk = struct.pack(">I", len(body) - 4) + body + struct.pack(">I", zlib.crc32(body))
    encoded = data.tobytes()
    return encoded[:_SIGNATURE_AND_HEADER_BYTES] + chunk + encoded[_SIGNATURE_AND_HEADER_BYTES:]
