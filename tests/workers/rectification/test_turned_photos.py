"""Which way is up: the sheet's corners follow the picture, and a turn that is asked for is exact."""

from __future__ import annotations

import numpy as np
import pytest

from tests.support.drawn_sheets import DrawnSheet, bar, disc
from workers.rectification.rectify import Rectified, rectify
from workers.touch_up.apply import apply_to_coverage
from workers.values.image import ColourImage
from workers.values.progress import silent
from workers.values.sheet import SheetSize
from workers.values.touch_up import Turn

A5 = SheetSize(width_mm=148.0, height_mm=210.0)
CORNERS = np.array([(113.1, 48.9), (628.4, 80.6), (679.1, 840.4), (64.6, 865.6)])


@pytest.fixture(scope="module")
def photo() -> np.ndarray:
    ink = (disc(60.0, 60.0, 20.0), bar(30.0, 150.0, 120.0, 156.0))
    return DrawnSheet(148.0, 210.0, CORNERS, 750, 940, ink).photograph()


def read(photo: np.ndarray) -> Rectified:
    return rectify([ColourImage(photo)], A5, silent)


@pytest.mark.parametrize("quarters", [1, 2, 3])
def test_a_photo_taken_sideways_comes_upright_by_a_turn(photo: np.ndarray, quarters: int) -> None:
    """Turned with the phone, read as it lies, turned back by request: the upright photo's ink, to 1 %."""
    upright = read(photo).coverage
    sideways = read(np.ascontiguousarray(np.rot90(photo, quarters))).coverage

    turned = apply_to_coverage(sideways, (Turn(turn_deg=-90.0 * quarters),), silent).drawing

    assert turned.mm_per_px == pytest.approx(upright.mm_per_px, rel=0.005)
    rows, columns = (min(a, b) for a, b in zip(upright.pixels.shape, turned.pixels.shape, strict=True))
    ink, again = (each.pixels[:rows, :columns] < 128 for each in (upright, turned))
    assert (ink ^ again).sum() < 0.01 * ink.sum()
