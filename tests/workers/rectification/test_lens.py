"""Lenses that bow straight lines. Source of the model: Brown 1966, first radial term, written out here."""

from __future__ import annotations

import numpy as np
import pytest

from tests.support.drawn_sheets import DrawnSheet, bar, disc
from workers.rectification.lens import bowed, straightened
from workers.rectification.rectify import rectify
from workers.values.image import ColourImage
from workers.values.progress import silent
from workers.values.sheet import SheetSize

A5 = SheetSize(width_mm=148.0, height_mm=210.0)
COLUMNS, ROWS = 750, 940
CORNERS = np.array([(140.0, 75.0), (605.0, 105.0), (640.0, 820.0), (95.0, 840.0)])
SPOT_MM = (60.0, 80.0, 25.0)


def seen(points: np.ndarray, bow: float) -> np.ndarray:
    """Return points as Brown's first term moves them: r (1 + bow r^2), r in half long sides."""
    own = (points - (COLUMNS / 2, ROWS / 2)) / (ROWS / 2)
    return points + (own * (ROWS / 2)) * (bow * (own**2).sum(axis=1))[:, None]


@pytest.mark.parametrize("bow", [-0.12, 0.0, 0.2])
def test_points_go_through_the_lens_and_back(bow: float) -> None:
    """To a millionth of a pixel, all over the picture but its outermost corners."""
    x, y = np.meshgrid(np.linspace(60, COLUMNS - 60, 9), np.linspace(60, ROWS - 60, 9))
    points = np.column_stack([x.ravel(), y.ravel()])
    assert bowed(points, bow, (COLUMNS, ROWS)) == pytest.approx(seen(points, bow), abs=1e-9)
    back = straightened(seen(points, bow), bow, (COLUMNS, ROWS))
    assert back == pytest.approx(points, abs=1e-6)


@pytest.mark.parametrize("bow", [-0.11, -0.05, 0.06, 0.15])
def test_the_sheets_own_edges_take_out_the_lens(bow: float) -> None:
    """Barrel and cushion: corners within 0.4 px, the spot round and in its place, no curl made up."""
    photo = DrawnSheet(
        148.0, 210.0, CORNERS, COLUMNS, ROWS, (disc(*SPOT_MM), bar(30, 150, 120, 156)), bow=bow
    ).photograph()

    result = rectify([ColourImage(photo)], A5, silent)

    assert result.sheet is not None
    assert np.abs(np.array(result.record["corners_px"]) - seen(CORNERS, bow)).max() < 0.4
    assert result.sheet.surface.lift_mm < 0.3
    scale = result.coverage.mm_per_px
    window = result.coverage.pixels[round(50 / scale) : round(110 / scale), : round(90 / scale)]
    down, across = np.nonzero(window < 128)
    middle = ((across.mean() + 0.5) * scale, (down.mean() + 0.5 + round(50 / scale)) * scale)
    assert middle == pytest.approx(SPOT_MM[:2], abs=0.1)
    assert (np.ptp(across) + 1) * scale == pytest.approx(2 * SPOT_MM[2], abs=1.5 * scale)
    assert (np.ptp(down) + 1) * scale == pytest.approx(2 * SPOT_MM[2], abs=1.5 * scale)
    assert ("lens-straightened" in {finding.code for finding in result.findings}) == (abs(bow) >= 0.03)
