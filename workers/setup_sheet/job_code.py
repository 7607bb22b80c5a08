"""The code by which a job is looked up: the digest of its order, as a symbol and in letters."""

from __future__ import annotations

from reportlab.graphics import renderPDF
from reportlab.graphics.barcode.qr import QrCodeWidget
from reportlab.graphics.shapes import Drawing
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

_LETTERS = 12  # of the digest: 48 bits tell any two jobs of a shop apart
_GROUP = 4


def short_code(digest: str) -> str:
    """Return the beginning of a digest in groups that can be read out.

    >>> short_code("0123456789abcdef99")
    '0123 4567 89ab'
    """
    letters = digest[:_LETTERS]
    return " ".join(letters[start : start + _GROUP] for start in range(0, len(letters), _GROUP))


def draw_code(canvas: Canvas, digest: str, left_mm: float, bottom_mm: float, side_mm: float) -> None:
    """Draw the order's address, ``sha256:`` and its digest, as a QR symbol with its quiet zone.

    Args:
        canvas: The page.
        digest: SHA-256 of the order in hexadecimal digits.
        left_mm: Of the symbol on the page.
        bottom_mm: Of the symbol.
        side_mm: Of the symbol, quiet zone included.

    Source: ISO/IEC 18004; the drawing is the PDF library's own.
    """
    widget = QrCodeWidget(f"sha256:{digest}", barLevel="M")
    widget.barWidth = widget.barHeight = side_mm * mm
    drawing = Drawing(side_mm * mm, side_mm * mm)
    drawing.add(widget)
    canvas.setFillColorRGB(1, 1, 1)
    canvas.rect(left_mm * mm, bottom_mm * mm, side_mm * mm, side_mm * mm, fill=1, stroke=0)
    renderPDF.draw(drawing, canvas, left_mm * mm, bottom_mm * mm)
