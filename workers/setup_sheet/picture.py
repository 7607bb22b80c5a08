"""A picture on the page."""

from __future__ import annotations

import io

from PIL import Image
from reportlab.lib.units import mm
from reportlab.lib.utils import ImageReader
from reportlab.pdfgen.canvas import Canvas

from workers.setup_sheet.look import RULE

_PICTURE_PX = 800  # 300 dots to the inch are enough


def draw_picture(
    canvas: Canvas, png: bytes, left_mm: float, top_mm: float, box_mm: tuple[float, float]
) -> float:
    """Draw a picture as large as its box allows, in the middle of its width; return how much height it took.

    Args:
        canvas: The page.
        png: The picture.
        left_mm: Of the box.
        top_mm: Of the box, from the page's lower edge.
        box_mm: Its width and its height.
    """
    with Image.open(io.BytesIO(png)) as opened:
        opened.thumbnail((_PICTURE_PX, _PICTURE_PX), Image.Resampling.BOX)
        picture = ImageReader(opened.convert("RGB"))
    across, down = picture.getSize()
    width_mm, most_mm = box_mm
    height_mm = min(width_mm * down / across, most_mm)
    wide_mm = height_mm * across / down
    start_mm = left_mm + (width_mm - wide_mm) / 2
    canvas.drawImage(picture, start_mm * mm, (top_mm - height_mm) * mm, wide_mm * mm, height_mm * mm)
    canvas.setStrokeColor(RULE)
    canvas.setLineWidth(0.5)
    canvas.rect(start_mm * mm, (top_mm - height_mm) * mm, wide_mm * mm, height_mm * mm)
    return float(height_mm)
