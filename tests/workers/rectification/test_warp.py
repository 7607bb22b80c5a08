"""How fine the working raster is, and that a flat sheet laid by its homography is where the grid puts it."""

from __future__ import annotations

import dataclasses

import cv2
import numpy as np
import pytest

from tests.support.drawn_sheets import DrawnSheet, bar
from workers.rectification.finest_stroke import finest_stroke_mm
from workers.rectification.sheet_surface import LENS_BOW, Surface, flat_parameters
from workers.rectification.warp import laid_square, photo_scale, working_scale

CORNERS = np.array([(101.3, 60.7), (1640.2, 92.4), (1690.9, 1228.6), (52.8, 1160.1)])


def surface() -> Surface:
    """Return a flat sheet of 150 x 110 mm, some 10 pixels to the millimetre."""
    return Surface(150.0, 110.0, (1800, 1300), flat_parameters(CORNERS), None, np.zeros((4, 2)), 0.0)


def test_a_sharp_photo_keeps_its_own_scale() -> None:
    """Edges over 2 pixels leave nothing to spare, and strokes of 0.5 mm ask for more than it has."""
    assert working_scale(surface(), 2.0).px_per_mm == pytest.approx(photo_scale(surface()), abs=1e-3)
    fine = working_scale(surface(), 2.0, 0.5)
    assert fine.px_per_mm == pytest.approx(photo_scale(surface()), abs=1e-3)
    assert fine.reason == "as fine as the photo is"


def test_a_blurred_photo_is_worked_on_as_finely_as_its_blur_asks() -> None:
    """Edges over 3 pixels are 2.5 at five sixths of the scale; no blur takes it below 8 px/mm."""
    own = photo_scale(surface())
    assert working_scale(surface(), 3.0).px_per_mm == pytest.approx(own * 2.5 / 3.0, abs=1e-3)
    assert working_scale(surface(), 9.0).px_per_mm == 8.0
    assert "blur" in working_scale(surface(), 9.0).reason


@pytest.mark.parametrize(
    ("finest_mm", "px_per_mm"), [(3.0, 8.0), (1.0, 8.0), (0.6, 8 / 0.6), (0.5, 16.0), (0.3, 20.0)]
)
def test_fineliners_are_read_more_finely_than_markers(finest_mm: float, px_per_mm: float) -> None:
    """Eight pixels over the finest stroke of a photo with 30 px/mm, from 8 to 20 px/mm; the reason has it."""
    large = Surface(150.0, 110.0, (5400, 3900), flat_parameters(CORNERS * 3), None, np.zeros((4, 2)), 0.0)
    scale = working_scale(large, 2.0, finest_mm)
    assert scale.px_per_mm == pytest.approx(px_per_mm, abs=1e-3)
    assert f"{finest_mm:.2f} mm" in scale.reason


def test_the_memory_bounds_the_scale() -> None:
    """A fineliner on 420 x 594 mm at 30 px/mm is read at 12 px/mm, 36 million pixels, and not at 20."""
    corners = np.array([(0.0, 0.0), (12600.0, 0.0), (12600.0, 17820.0), (0.0, 17820.0)])
    poster = Surface(420.0, 594.0, (12600, 17820), flat_parameters(corners), None, np.zeros((4, 2)), 0.0)
    scale = working_scale(poster, 2.0, 0.3)
    assert scale.reason == "as fine as the memory allows"
    assert scale.px_per_mm == 12.0
    assert 420 * 594 * scale.px_per_mm**2 <= 40_000_000


def test_noise_on_soft_edges_is_no_stroke() -> None:
    """Bars of 5 mm out of focus, with a sensor's noise: no hairline is made of them."""
    bars = (bar(20.0, 20.0, 130.0, 25.0), bar(20.0, 30.0, 25.0, 90.0))
    clean = DrawnSheet(150.0, 110.0, CORNERS, 1800, 1300, bars).photograph()
    soft = cv2.GaussianBlur(clean, (0, 0), 2.5).astype(np.float64)
    noisy = np.clip(soft + np.random.default_rng(4).normal(0, 8, soft.shape), 0, 255).astype(np.uint8)
    assert finest_stroke_mm(noisy, surface(), photo_scale(surface()), 6.3) > 0.6


@pytest.mark.parametrize("width_mm", [0.4, 1.0, 2.5])
def test_the_finest_stroke_is_measured_in_the_photo(width_mm: float) -> None:
    """One thin line of 60 mm beside bars: its width to a tenth. Without it the bars' 5 mm."""
    sheet = {"width_mm": 150.0, "height_mm": 110.0, "corners_px": CORNERS, "columns": 1800, "rows": 1300}
    broad = (bar(20.0, 20.0, 130.0, 25.0), bar(20.0, 30.0, 25.0, 90.0))
    thin = bar(40.0, 60.0, 100.0, 60.0 + width_mm)
    scale = photo_scale(surface())
    with_line = DrawnSheet(**sheet, ink=(*broad, thin)).photograph()  # type: ignore[arg-type]
    without = DrawnSheet(**sheet, ink=broad).photograph()  # type: ignore[arg-type]
    assert finest_stroke_mm(with_line, surface(), scale) == pytest.approx(width_mm, rel=0.1)
    assert finest_stroke_mm(without, surface(), scale) == pytest.approx(5.0, rel=0.15)


def test_the_quick_way_and_the_general_way_agree() -> None:
    """A lens that bows nothing to speak of takes the general way: light within 1/32 px of the slope."""
    y, x = np.mgrid[0:1300, 0:1800]
    light = (26000 + 12000 * np.sin(x / 9.0) + 12000 * np.cos(y / 11.0)).astype(np.uint16)
    flat = surface()
    parameters = flat.parameters.copy()
    parameters[LENS_BOW] = 1e-12
    general = laid_square(light, dataclasses.replace(flat, parameters=parameters), 9.0)
    quick = laid_square(light, flat, 9.0)
    steepest = 12000 / 9.0 + 12000 / 11.0
    assert quick.shape == general.shape
    assert np.abs(quick.astype(int) - general).max() < steepest / 32
