"""How fine the working raster is, and that a flat sheet laid by its homography is where the grid puts it."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from workers.rectification.sheet_surface import LENS_BOW, Surface, flat_parameters
from workers.rectification.warp import laid_square, photo_scale, working_scale

CORNERS = np.array([(101.3, 60.7), (1640.2, 92.4), (1690.9, 1228.6), (52.8, 1160.1)])


def surface() -> Surface:
    """Return a flat sheet of 150 x 110 mm, some 10 pixels to the millimetre."""
    return Surface(150.0, 110.0, (1800, 1300), flat_parameters(CORNERS), None, np.zeros((4, 2)), 0.0)


def test_a_sharp_photo_keeps_its_own_scale() -> None:
    """Edges over 2 pixels leave nothing to spare."""
    assert working_scale(surface(), 2.0) == pytest.approx(photo_scale(surface()), abs=1e-3)


def test_a_blurred_photo_is_worked_on_as_finely_as_its_blur_asks() -> None:
    """Edges over 3 pixels are 2.5 at five sixths of the scale; no blur takes it below 8 px/mm."""
    own = photo_scale(surface())
    assert working_scale(surface(), 3.0) == pytest.approx(own * 2.5 / 3.0, abs=1e-3)
    assert working_scale(surface(), 9.0) == 8.0


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
