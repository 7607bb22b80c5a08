"""What a picture file says beside its pixels: which way is up, how large, and whether more follow."""

from __future__ import annotations

import struct
import zlib

from PIL import Image

from workers.values.frames import MM_PER_INCH

# What Pillow's decoders were seen to raise on damaged files.
PILLOW_ERRORS = (
    OSError, ValueError, SyntaxError, EOFError, LookupError, TypeError, AttributeError, ArithmeticError,
    RuntimeError, AssertionError, struct.error, zlib.error,
)  # fmt: skip

_ORIENTATION_TAG = 0x0112  # Exif 2.32, section 4.6.4
_MAKER_TAG = 0x010F
_OF_FORM = (72.0, 96.0)  # pixels an inch that say nothing


def marks(opened: Image.Image, media: str) -> tuple[int, float | None]:
    """Return the Exif orientation (1 to 8) and the scale in mm per pixel, None unless believable.

    Args:
        opened: The picture.
        media: Its media type.

    Cameras write 72 pixels an inch as a matter of form, and painting programs 96, so a picture that is no
    PNG and names its camera, or says exactly 72 or 96, says nothing of the sheet's scale.
    """
    try:
        exif = opened.getexif()
        orientation, maker = exif.get(_ORIENTATION_TAG, 1), exif.get(_MAKER_TAG)
        across, down = (float(value) for value in opened.info.get("dpi", (0.0, 0.0)))
    except PILLOW_ERRORS:
        return 1, None
    if not isinstance(orientation, int) or not 1 <= orientation <= 8:
        orientation = 1
    placeholder = media != "image/png" and (bool(maker) or min(abs(across - form) for form in _OF_FORM) < 0.5)
    believable = not placeholder and 30.0 <= across <= 10_000.0 and abs(across - down) <= 0.01 * across
    return orientation, MM_PER_INCH / across if believable else None


def has_more_frames(opened: Image.Image, media: str) -> bool:
    """Return whether other pictures follow the first.

    Args:
        opened: The picture, its first frame unpacked.
        media: Its media type.

    Of a TIFF they are not counted, for they may be millions. A JPEG's are not asked for: what phones
    append there are previews and maps of depth.
    """
    if media == "image/jpeg":
        return False
    try:
        if media != "image/tiff":
            return int(getattr(opened, "n_frames", 1)) > 1
        opened.seek(1)
    except PILLOW_ERRORS:
        return False
    return True
