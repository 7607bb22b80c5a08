"""Sheets that run out of the picture, seen by a pinhole camera written out here; sheets on lighter tables."""

from __future__ import annotations

import math

import numpy as np
import pytest

from tests.support.drawn_sheets import DrawnSheet, bar, disc
from workers.errors import SheetNotFoundError
from workers.rectification.cut_off_sheets import completed
from workers.rectification.rectify import Rectified, rectify
from workers.values.image import ColourImage
from workers.values.progress import silent
from workers.values.sheet import SheetSize

WIDTH_MM, HEIGHT_MM = 148.0, 210.0
COLUMNS, ROWS = 750, 1000
FOCAL_PX = 720.0  # 0.72 of the long side, as a phone's
SIZE = SheetSize(width_mm=WIDTH_MM, height_mm=HEIGHT_MM)


def seen(tilt_deg: float, pan_deg: float, left_mm: float, top_mm: float, far_mm: float) -> np.ndarray:
    """Return the sheet's corners from the picture's middle, px: x = f X / Z after two turns and a shift."""
    tilt, pan = math.radians(tilt_deg), math.radians(pan_deg)
    corners = np.array([(0, 0, 0), (WIDTH_MM, 0, 0), (WIDTH_MM, HEIGHT_MM, 0), (0, HEIGHT_MM, 0)], float)
    corners -= (WIDTH_MM / 2, HEIGHT_MM / 2, 0)
    about_x = np.array([(1, 0, 0), (0, math.cos(tilt), -math.sin(tilt)), (0, math.sin(tilt), math.cos(tilt))])
    about_y = np.array([(math.cos(pan), 0, math.sin(pan)), (0, 1, 0), (-math.sin(pan), 0, math.cos(pan))])
    placed = corners @ about_x.T @ about_y.T + (left_mm, top_mm, far_mm)
    return FOCAL_PX * placed[:, :2] / placed[:, 2:]


def lines_of(corners: np.ndarray) -> list[np.ndarray]:
    """Return the four sides as (1, 3) arrays: normal into the sheet, offset."""
    found = []
    for k in range(4):
        along = corners[(k + 1) % 4] - corners[k]
        normal = np.array([-along[1], along[0]]) / np.linalg.norm(along)
        found.append(np.array([[*normal, normal @ corners[k]]]))
    return found


@pytest.mark.parametrize("outside", range(4))
def test_three_sides_and_the_camera_give_the_fourth(outside: int) -> None:
    """To a thousandth of a pixel, whichever is missing."""
    corners = seen(18.0, 9.0, 8.0, -5.0, 290.0)
    lines = lines_of(corners)
    opposite, before, after = (outside + 2) % 4, (outside + 1) % 4, (outside + 3) % 4
    lengths = (WIDTH_MM, HEIGHT_MM) if outside % 2 == 0 else (HEIGHT_MM, WIDTH_MM)
    again = completed(lines[before], lines[opposite], lines[after], lengths, FOCAL_PX)[0]
    assert np.abs(np.roll(again, opposite, axis=0) - corners).max() < 1e-3


def sheet(corners: np.ndarray, **changes: object) -> DrawnSheet:
    """Return an A5 sheet with a spot and a bar, seen at these corners."""
    given: dict[str, object] = {
        "width_mm": WIDTH_MM,
        "height_mm": HEIGHT_MM,
        "corners_px": corners + np.array([COLUMNS, ROWS]) / 2,
        "columns": COLUMNS,
        "rows": ROWS,
        "ink": (disc(70.0, 90.0, 25.0), bar(40.0, 140.0, 110.0, 146.0)),
    }
    return DrawnSheet(**{**given, **changes})  # type: ignore[arg-type]


def codes(result: Rectified) -> set[str]:
    return {finding.code for finding in result.findings}


@pytest.mark.parametrize(("left_mm", "top_mm", "name"), [(40.0, 0.0, "right"), (0.0, 50.0, "bottom")])
def test_a_side_outside_of_the_picture_is_worked_out_and_told(
    left_mm: float, top_mm: float, name: str
) -> None:
    """The spot's middle within 0.3 mm, nothing drawn where nothing was seen, and a warning with the side."""
    corners = seen(10.0, 4.0, left_mm, top_mm, 190.0)
    result = rectify([ColourImage(sheet(corners).photograph())], SIZE, silent)
    scale = result.coverage.mm_per_px
    ink = np.where(result.coverage.pixels < 128, 1.0, 0.0)
    assert ink.sum() * scale**2 == pytest.approx(math.pi * 25.0**2 + 70.0 * 6.0, rel=0.01)
    window = ink[: round(118 / scale)]
    y, x = np.mgrid[: window.shape[0], : window.shape[1]] + 0.5
    middle = ((window * x).sum() / window.sum() * scale, (window * y).sum() / window.sum() * scale)
    assert middle == pytest.approx((70.0, 90.0), abs=0.3)
    told = next(finding for finding in result.findings if finding.code == "side-outside")
    assert name in told.message


def test_where_three_sides_say_too_little_the_photo_is_refused() -> None:
    """Under a strong tilt a slightly other camera would put the missing side centimetres away."""
    with pytest.raises(SheetNotFoundError, match="outside of the picture"):
        rectify([ColourImage(sheet(seen(-37.0, 0.0, 0.0, 80.0, 275.0)).photograph())], SIZE, silent)


@pytest.mark.parametrize(("paper", "table"), [(0.25, 0.75), (0.4, 0.6)])
def test_a_sheet_darker_than_its_table_is_found_and_told(paper: float, table: float) -> None:
    """Corners within half a pixel, the right way up, with a warning."""
    corners = seen(12.0, 6.0, 0.0, 0.0, 280.0)
    photo = sheet(corners, paper=paper, table=table)
    result = rectify([ColourImage(photo.photograph())], SIZE, silent)
    assert np.abs(np.array(result.record["corners_px"]) - photo.corners_px).max() < 0.5
    assert "sheet-darker-than-table" in codes(result)
