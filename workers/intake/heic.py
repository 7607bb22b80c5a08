"""HEIC, what phones keep their photos in: its header first, its pixels only when asked.

The reader turns and mirrors as the file's own boxes say; the Exif orientation inside repeats that
and is not to be obeyed a second time (ISO/IEC 23008-12, 6.5.10 and A.2.4).
"""

from __future__ import annotations

import io

import pi_heif
from PIL import Image


def opened_heic(data: bytes) -> pi_heif.HeifFile:
    """Return a file of which only the header was read; its ``size`` is that of the upright picture.

    Args:
        data: The file's bytes.

    Raises:
        ValueError, RuntimeError, OSError: As the reader finds the file damaged or not of its kind.
    """
    return pi_heif.open_heif(io.BytesIO(data), convert_hdr_to_8bit=True)


def heic_picture(opened: pi_heif.HeifFile) -> Image.Image:
    """Return the primary picture unpacked, upright, 8 bit.

    Args:
        opened: What ``opened_heic`` gave, its size found fit.

    Raises:
        ValueError, RuntimeError, OSError: The coded picture is damaged, or not as large as its header says.
    """
    picture: Image.Image = opened.to_pillow()
    return picture
