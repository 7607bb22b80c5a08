"""Sheets that fill the picture, seen by a pinhole camera written out here."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest

from tests.support.drawn_sheets import DrawnSheet, bar, disc
from workers.errors import SheetNotFoundError
from workers.rectification.edge_lines import EdgeLine
from workers.rectification.filled_frame import between_two_sides
from workers.rectification.rectify import Rectified, rectify
from workers.values.finding import Severity
from workers.values.image import ColourImage
from workers.values.progress import silent
from workers.values.sheet import SheetSize

WIDTH_MM, HEIGHT_MM = 148.0, 210.0
SIZE = SheetSize(width_mm=WIDTH_MM, height_mm=HEIGHT_MM)
ROWS = 1000
FOCAL_PX = 0.72 * ROWS
Light = Callable[[np.ndarray, np.ndarray], np.ndarray]


def seen(tilt_deg: float, far_mm: float, top_mm: float = 0.0) -> np.ndarray:
    """Return the sheet's corners from the picture's middle, px: x = f X / Z after a turn about x."""
    tilt = math.radians(tilt_deg)
    corners = np.array([(0, 0, 0), (WIDTH_MM, 0, 0), (WIDTH_MM, HEIGHT_MM, 0), (0, HEIGHT_MM, 0)], float)
    corners -= (WIDTH_MM / 2, HEIGHT_MM / 2 - top_mm, 0)
    about_x = np.array([(1, 0, 0), (0, math.cos(tilt), -math.sin(tilt)), (0, math.sin(tilt), math.cos(tilt))])
    placed = corners @ about_x.T + (0, 0, far_mm)
    return FOCAL_PX * placed[:, :2] / placed[:, 2:]


def line_of(start: np.ndarray, end: np.ndarray) -> EdgeLine:
    """Return the line of a side that runs clockwise."""
    along = (end - start) / np.linalg.norm(end - start)
    normal = np.array([-along[1], along[0]])
    return EdgeLine(normal, float(normal @ start), np.zeros(2), 0.0)


def photographed(corners: np.ndarray, columns: int, light: Light | None = None) -> Rectified:
    """Return what is read of an A5 sheet with a spot and a bar in a picture so wide."""
    ink = (disc(70.0, 90.0, 25.0), bar(40.0, 140.0, 110.0, 146.0))
    middle = np.array([columns, ROWS]) / 2
    drawn = DrawnSheet(WIDTH_MM, HEIGHT_MM, corners + middle, columns, ROWS, ink)
    return rectify([ColourImage(drawn.photograph(light))], SIZE, silent)


def warnings(result: Rectified) -> set[str]:
    return {found.code for found in result.findings if found.severity is Severity.WARNING}


@pytest.mark.parametrize(("first", "half_frame"), [(1, (480.0, 300.0)), (0, (215.0, 500.0))])
def test_two_sides_give_the_sheet_if_it_does_not_lean(first: int, half_frame: tuple[float, float]) -> None:
    """Seen from straight above, all four corners to a thousandth of a pixel."""
    corners = seen(0.0, 240.0)
    lines = [line_of(corners[k], corners[(k + 1) % 4]) for k in range(4)]
    found = between_two_sides(
        lines[first], lines[first + 2], first, np.array(half_frame), (WIDTH_MM, HEIGHT_MM), FOCAL_PX
    )
    assert found is not None
    assert found[0] == pytest.approx(corners, abs=1e-3)


def test_a_tilt_along_the_two_sides_is_seen() -> None:
    """Of 12 degrees: the upper end is as much farther away as it is, to 2 %; a mirrored pair is no sheet."""
    corners = seen(12.0, 240.0)
    right, left = line_of(corners[1], corners[2]), line_of(corners[3], corners[0])
    half_frame, size_mm = np.array([480.0, 290.0]), (WIDTH_MM, HEIGHT_MM)
    found = between_two_sides(right, left, 1, half_frame, size_mm, FOCAL_PX)
    assert found is not None
    widths = [np.linalg.norm(own[k + 1] - own[k]) for own in (found[0], corners) for k in (0, 2)]
    assert widths[0] / widths[1] == pytest.approx(widths[2] / widths[3], rel=0.02)
    assert between_two_sides(left, right, 1, half_frame, size_mm, FOCAL_PX) is None


def test_a_sheet_wider_than_the_picture_is_read_between_its_two_sides() -> None:
    """Area to 2 % and the spot round; what is not known is warned of, with the two sides' names."""
    result = photographed(seen(0.0, 240.0), 400)
    scale = result.coverage.mm_per_px
    ink = result.coverage.pixels < 128
    assert ink.sum() * scale**2 == pytest.approx(math.pi * 25.0**2 + 70.0 * 6.0, rel=0.02)
    assert "two-sides-outside" in warnings(result)
    told = next(found for found in result.findings if found.code == "two-sides-outside")
    assert "right and left" in told.message


def test_a_phone_across_an_upright_sheet_shows_half_of_it_and_that_is_enough() -> None:
    """Lying across, its ends would be seen, so it lies upright: the size of what is drawn to 2 %."""
    columns, px_per_mm = 1333, 1333 / 160.0
    sides = np.array([WIDTH_MM, HEIGHT_MM]) * px_per_mm / 2
    corners = np.array([(-1, -1), (1, -1), (1, 1), (-1, 1)]) * sides
    result = photographed(corners, columns)
    scale = result.coverage.mm_per_px
    assert "two-sides-outside" in warnings(result)
    assert result.coverage.pixels.shape[0] * scale == pytest.approx(HEIGHT_MM, abs=0.2)
    area_mm2 = (result.coverage.pixels < 128).sum() * scale**2
    assert area_mm2 == pytest.approx(math.pi * 25.0**2 + 70.0 * 6.0, rel=0.02)


def test_a_side_that_leaves_the_picture_half_way_still_counts() -> None:
    """The other runs all along; the spot keeps its size to 2 %."""
    corners = seen(0.0, FOCAL_PX / 5.2)
    turn = math.radians(3.0)
    about = np.array([(math.cos(turn), -math.sin(turn)), (math.sin(turn), math.cos(turn))])
    result = photographed(corners @ about.T + (15.0, 0.0), 800)
    area_mm2 = (result.coverage.pixels < 128).sum() * result.coverage.mm_per_px**2
    assert "two-sides-outside" in warnings(result)
    assert area_mm2 == pytest.approx(math.pi * 25.0**2 + 70.0 * 6.0, rel=0.02)


def test_a_picture_filled_with_paper_is_taken_for_the_sheet_and_told() -> None:
    """It shows 189 mm of 210, and is taken for as much as fits in: the ink is too large, and warned of."""
    px_per_mm, columns = ROWS / 189.0, 720
    sides = np.array([WIDTH_MM, HEIGHT_MM]) * px_per_mm / 2
    corners = np.array([(-1, -1), (1, -1), (1, 1), (-1, 1)]) * sides
    result = photographed(corners, columns, light=lambda x, y: 1.0 - 0.3 * (x + y) / 2)
    assert "paper-fills-the-picture" in warnings(result)
    assert result.coverage.mm_per_px == pytest.approx(WIDTH_MM / columns)
    area_mm2 = (result.coverage.pixels < 128).sum() * result.coverage.mm_per_px**2
    true_mm2 = math.pi * 25.0**2 + 70.0 * 6.0
    assert area_mm2 == pytest.approx(true_mm2 * (WIDTH_MM / columns * px_per_mm) ** 2, rel=0.02)


def test_a_dark_table_without_a_sheet_is_not_paper() -> None:
    """Strokes of chalk in a pool of light, and darkness all round."""
    y, x = np.mgrid[0:600, 0:450]
    value = 60 + 150 * np.exp(-((x - 225) ** 2 + (y - 300) ** 2) / 90.0**2)
    value[290:310, 150:300] = 20
    dark = np.repeat(value.astype(np.uint8)[:, :, None], 3, axis=2)
    with pytest.raises(SheetNotFoundError):
        rectify([ColourImage(dark)], SIZE, silent)
