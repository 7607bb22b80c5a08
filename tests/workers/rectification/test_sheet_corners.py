"""Lines are told from edges: paper's own lines, however dark, and things laid along a side."""

from __future__ import annotations

import numpy as np
import pytest

from tests.support.drawn_sheets import DrawnSheet, bar, disc
from workers.rectification.rectify import rectify
from workers.values.finding import Severity
from workers.values.image import ColourImage
from workers.values.progress import silent
from workers.values.sheet import SheetSize

A5 = SheetSize(width_mm=148.0, height_mm=210.0)
UPRIGHT = np.array([(113.1, 48.9), (628.4, 80.6), (679.1, 840.4), (64.6, 865.6)])


@pytest.mark.parametrize("pitch_mm", [7.0, 9.0])
@pytest.mark.parametrize("turn", [0, 1])
def test_nearly_black_rules_and_a_spot_are_no_sides(pitch_mm: float, turn: int) -> None:
    """Along and across the sheet: all four corners within 0.6 px, none at a line."""
    size = (148.0, 210.0) if turn == 0 else (210.0, 148.0)
    corners = (
        UPRIGHT if turn == 0 else np.array([(60.0, 101.0), (860.0, 53.0), (829.0, 690.0), (92.0, 640.0)])
    )
    rules = tuple(bar(0.0, y, size[0], y + 0.6) for y in np.arange(1.6 * pitch_mm, size[1] - 3, pitch_mm))
    columns, rows = (750, 940) if turn == 0 else (940, 750)
    sheet = DrawnSheet(*size, corners, columns, rows, (disc(60.0, 80.0, 14.0), *rules))

    result = rectify([ColourImage(sheet.photograph())], A5, silent)

    assert np.linalg.norm(np.array(result.record["corners_px"]) - corners, axis=1).max() < 0.6


def test_a_thing_laid_along_a_side_is_warned_of_or_left_out() -> None:
    """A dark bar aslant over most of the left edge: corners within 1 px, or a warning that names the side."""
    along = tuple((-1.0 + 4.0 * share, 20.0 + 130.0 * share, 5.0) for share in np.linspace(0, 1, 60))
    sheet = DrawnSheet(148.0, 210.0, UPRIGHT, 750, 940, (disc(80.0, 80.0, 20.0),), covers=along)

    result = rectify([ColourImage(sheet.photograph())], A5, silent)

    off_px = np.linalg.norm(np.array(result.record["corners_px"]) - UPRIGHT, axis=1).max()
    told = [found for found in result.findings if found.severity is Severity.WARNING]
    assert off_px < 1.0 or any("left" in found.message for found in told)
