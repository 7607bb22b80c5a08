"""Drawings in SVG as outlines, the pictures inside of them traced."""

from __future__ import annotations

from dataclasses import replace

from workers.intake.svg_document import SvgDocument, read_svg
from workers.intake.svg_pictures import with_pictures
from workers.registry import offers
from workers.values.progress import Reporter, silent

PICTURE_TOLERANCE_MM = 0.02


def read_art(
    data: bytes, field: str, tolerance_mm: float = PICTURE_TOLERANCE_MM, report: Reporter = silent
) -> SvgDocument:
    """Return a drawing with all of its ink as outlines; the arguments and errors are those of ``read_svg``.

    Args:
        data: The file.
        field: JSON pointer of the input that it came from.
        tolerance_mm: Of tracing its pictures.
        report: Told of the tracing.
    """
    document = read_svg(data, field)
    if not document.pictures:
        return document
    tracer = offers.tracer()
    traced = [tracer.trace(picture.coverage, tolerance_mm, report).outlines for picture in document.pictures]
    outlines = with_pictures(document.outlines, document.pictures, traced)
    return replace(document, outlines=outlines, pictures=())
