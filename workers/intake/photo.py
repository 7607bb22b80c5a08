"""Photographs: from bytes nobody vouches for to upright pixels.

The order is the point. The kind of file is told by its first bytes, its size by
its header, and both are weighed before any pixel is unpacked: a hundred kilobytes
can ask for gigabytes.
"""

from __future__ import annotations

import io
import os
import warnings

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageFile

from workers.errors import ImageTooLargeError, UnreadableImageError
from workers.intake.heic import heic_picture, opened_heic
from workers.intake.media import media_of
from workers.intake.photo_marks import PILLOW_ERRORS, has_more_frames, marks
from workers.values.image import ColourImage

MAX_BYTES = 64 * 1024 * 1024
MAX_PIXELS = 50_000_000  # the largest common phone sensor in its full mode
MAX_SIDE_PX = 15_000
MAX_SCANS = 100  # of a JPEG; each goes over all pixels, and cameras and editors write 1 to 12
_SCAN = b"\xff\xda"  # ITU-T T.81, B.2.3; within coded data a byte of 0 follows each 0xff

# OpenCV reads its own limit once, when it loads.
os.environ.setdefault("OPENCV_IO_MAX_IMAGE_PIXELS", str(MAX_PIXELS))
import cv2  # noqa: E402

_PILLOW_FORMAT = {
    "image/png": "PNG",
    "image/jpeg": "JPEG",
    "image/webp": "WEBP",
    "image/avif": "AVIF",
    "image/bmp": "BMP",
    "image/tiff": "TIFF",
    "image/x-portable-bitmap": "PPM",
    "image/x-portable-graymap": "PPM",
}
_ALLOWED = "JPEG, PNG, WebP, HEIC, AVIF, TIFF, BMP, PBM or PGM"
_OTHER_NAMES = {
    "image/svg+xml": "an SVG drawing",
    "image/gif": "a GIF picture",
    "application/pdf": "a PDF document",
    "application/zip": "a ZIP archive",
    "application/json": "JSON text",
}

_DECODER_ERRORS = (*PILLOW_ERRORS, cv2.error)  # each becomes one error of ours

_TURNS: dict[int, int | None] = {
    3: cv2.ROTATE_180,
    5: cv2.ROTATE_90_CLOCKWISE,
    6: cv2.ROTATE_90_CLOCKWISE,
    7: cv2.ROTATE_90_COUNTERCLOCKWISE,
    8: cv2.ROTATE_90_COUNTERCLOCKWISE,
}
_MIRRORED_FIRST = {2: 1, 5: 0, 7: 0, 4: 0}  # flip code of OpenCV: 1 left for right, 0 top for bottom


def decode_photo(data: bytes, field: str) -> ColourImage:
    """Return the pixels of a picture file, upright, as 8-bit sRGB.

    Args:
        data: The file's bytes: JPEG, PNG, WebP, HEIC, AVIF, TIFF, BMP, PBM or PGM; 1 to 16 bit, grey,
            colour, palette or CMYK. What is transparent shows white. Of several frames the first is taken.
        field: JSON pointer of the link the file came by, for the error.

    Returns:
        The picture, turned and mirrored as its Exif orientation asks, and whether more followed it.

    Raises:
        UnreadableImageError: Empty, cut short, damaged, or of a kind that is not taken.
        ImageTooLargeError: More bytes, pixels or pixels a side than this installation takes.

    Source: Exif 2.32 (CIPA DC-008) for orientation; PNG 1.2, 11.3.5.3 and JFIF 1.02 for resolution.
    """
    media = _checked_media(data, field)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # Pillow warns of what is then refused, or does no harm
        if media == "image/heic":
            return _of_heic(data, field)
        opened = _opened(data, media, field)
        _check_size(opened.width, opened.height, field)
        _check_scans(data, media, field)
        pixels = _decoded(data, opened, media, field)
        orientation, mm_per_px = marks(opened, media)  # after: Pillow turns a TIFF itself, and says so
        several = has_more_frames(opened, media)
    return ColourImage(_upright(pixels, orientation), mm_per_px, several)


def _of_heic(data: bytes, field: str) -> ColourImage:
    """Return a phone's picture; it comes upright."""
    try:
        opened = opened_heic(data)
        width_px, height_px = opened.size
        _check_size(width_px, height_px, field)
        pixels = _flattened(heic_picture(opened))
    except _DECODER_ERRORS as error:
        raise _unreadable(field) from error
    return ColourImage(pixels, None, len(opened) > 1)


def _checked_media(data: bytes, field: str) -> str:
    """Return the media type, refusing what is empty, too long, or no picture we take."""
    if not data:
        raise UnreadableImageError("the file is empty", field=field, remedy="send the picture again")
    if len(data) > MAX_BYTES:
        raise ImageTooLargeError(
            f"the file has {len(data) / 2**20:.0f} MB; at most {MAX_BYTES // 2**20} MB are taken",
            field=field,
            remedy="save the photo as a JPEG",
        )
    media = media_of(data)
    if media not in _PILLOW_FORMAT and media != "image/heic":
        found = _OTHER_NAMES.get(media, "no kind of picture that is known here")
        raise UnreadableImageError(
            f"the file is {found}; a picture must be {_ALLOWED}",
            field=field,
            remedy="use 'svg' for drawings, and save photos as JPEG or PNG",
        )
    return media


def _opened(data: bytes, media: str, field: str) -> Image.Image:
    """Return the picture with only its header read."""
    try:
        return Image.open(io.BytesIO(data), formats=[_PILLOW_FORMAT[media]])
    except Image.DecompressionBombError as error:
        raise ImageTooLargeError(
            f"the picture says it has far more than {MAX_PIXELS / 1e6:.0f} million pixels",
            field=field,
            remedy="scale the picture down",
        ) from error
    except _DECODER_ERRORS as error:
        raise UnreadableImageError(
            "the picture is damaged, or of a rare variant of its format that is not taken",
            field=field,
            remedy="send the original file again, or save it as PNG or JPEG",
        ) from error


def _check_size(width_px: int, height_px: int, field: str) -> None:
    """Refuse a picture larger than this installation unpacks."""
    if width_px < 1 or height_px < 1:
        raise UnreadableImageError("the picture has no pixels", field=field, remedy="send another picture")
    if width_px * height_px > MAX_PIXELS or max(width_px, height_px) > MAX_SIDE_PX:
        raise ImageTooLargeError(
            f"the picture has {width_px} x {height_px} pixels; at most {MAX_PIXELS / 1e6:.0f} million "
            f"and {MAX_SIDE_PX} a side are taken",
            field=field,
            remedy="scale the picture down; 12 million pixels are plenty for a sheet of paper",
        )


def _check_scans(data: bytes, media: str, field: str) -> None:
    """Refuse a JPEG of so many scans that it would take minutes: a hundred bytes more can ask for a pass."""
    if media == "image/jpeg" and (count := data.count(_SCAN)) > MAX_SCANS:
        raise UnreadableImageError(
            f"the JPEG says that its pixels come in {count} passes; at most {MAX_SCANS} are taken",
            field=field,
            remedy="save the photo as a plain JPEG",
        )


def _decoded(data: bytes, opened: Image.Image, media: str, field: str) -> NDArray[np.uint8]:
    """Return all pixels as (rows, columns, 3), not yet turned."""
    try:
        if media == "image/jpeg" and opened.mode in ("RGB", "L"):
            pixels = cv2.imdecode(
                np.frombuffer(data, np.uint8), cv2.IMREAD_COLOR_RGB | cv2.IMREAD_IGNORE_ORIENTATION
            )
        else:
            pixels = _unpacked(opened)
    except _DECODER_ERRORS as error:
        raise _unreadable(field) from error
    if pixels is None or pixels.shape[:2] != (opened.height, opened.width):
        raise _unreadable(field)
    return np.asarray(pixels, np.uint8)


def _unpacked(opened: Image.Image) -> NDArray[np.uint8]:
    """Return the first frame in sRGB."""
    ImageFile.LOAD_TRUNCATED_IMAGES = False
    opened.load()
    return _flattened(opened)


def _flattened(opened: Image.Image) -> NDArray[np.uint8]:
    """Return an unpacked picture in sRGB, over white where it is transparent."""
    if opened.mode.startswith("I") or opened.mode == "F":
        return _grey_of_deep(np.asarray(opened))
    if "A" in opened.getbands() or "transparency" in opened.info:
        layer = opened.convert("RGBA")
        paper = Image.new("RGBA", layer.size, "white")
        return np.asarray(Image.alpha_composite(paper, layer).convert("RGB"))
    return np.asarray(opened.convert("RGB"))


def _grey_of_deep(values: NDArray[np.generic]) -> NDArray[np.uint8]:
    """Return 16-bit, 32-bit or real greys as three equal 8-bit channels."""
    grey = np.asarray(values, np.float32)
    if not np.isfinite(grey).all():
        raise ValueError("a grey that is no number")
    full = 1.0 if values.dtype.kind == "f" and grey.max() <= 1.0 else 255.0 if grey.max() <= 255 else 65535.0
    if values.dtype == np.uint16:
        full = 65535.0
    bytes_ = np.clip(grey * (255.0 / full) + 0.5, 0, 255).astype(np.uint8)
    return np.repeat(bytes_[:, :, None], 3, axis=2)


def _upright(pixels: NDArray[np.uint8], orientation: int) -> NDArray[np.uint8]:
    """Return the picture as its Exif orientation says it should be seen."""
    seen = pixels
    if orientation in _MIRRORED_FIRST:
        seen = np.asarray(cv2.flip(seen, _MIRRORED_FIRST[orientation]), np.uint8)
    turn = _TURNS.get(orientation)
    return seen if turn is None else np.asarray(cv2.rotate(seen, turn), np.uint8)


def _unreadable(field: str) -> UnreadableImageError:
    return UnreadableImageError(
        "the picture is damaged or cut short", field=field, remedy="send the original file again"
    )
