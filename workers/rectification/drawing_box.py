"""The drawing's own box: what is left of a photo that shows no sheet."""

from __future__ import annotations

from collections.abc import Sequence

import cv2
import numpy as np

from workers.values.finding import Finding, Severity
from workers.values.image import InkCoverage

MARGIN_MM = 5.0
_INK = 128  # coverage: darker is more than half ink

Box = tuple[int, int, int, int]  # left, top, right, bottom, px


def drawing_box(coverage: InkCoverage) -> Box:
    """Return the box round all ink with ``MARGIN_MM`` of paper, as far as the picture reaches.

    Args:
        coverage: With some ink.
    """
    rows, columns = coverage.pixels.shape
    left, top, width, height = cv2.boundingRect((coverage.pixels < _INK).astype(np.uint8))
    margin = round(MARGIN_MM / coverage.mm_per_px)
    return (
        max(0, left - margin),
        max(0, top - margin),
        min(columns, left + width + margin),
        min(rows, top + height + margin),
    )


def cut_to(box: Box, coverages: Sequence[InkCoverage]) -> list[InkCoverage]:
    """Return the part of each picture in a box.

    Args:
        box: Columns and rows.
        coverages: Pictures of one size.
    """
    left, top, right, bottom = box
    return [
        InkCoverage(pixels=np.ascontiguousarray(own.pixels[top:bottom, left:right]), mm_per_px=own.mm_per_px)
        for own in coverages
    ]


def cut_finding(coverage: InkCoverage) -> Finding:
    """Return that a picture was cut, and what is left of it.

    Args:
        coverage: What is left.
    """
    height_mm, width_mm = (side * coverage.mm_per_px for side in coverage.pixels.shape)
    return Finding(
        code="cut-to-drawing",
        severity=Severity.NOTE,
        message=f"no sheet was looked for, so the picture was cut to the drawing's own box: {width_mm:.0f} x "
        f"{height_mm:.0f} mm, {MARGIN_MM:.0f} mm of paper round it included",
        remedy="name the sheet's size, and show all of its edges, if the sheet itself is wanted",
    )
