"""Photos of one corner of a sheet: nothing in them tells a scale, and what helps is said."""

from __future__ import annotations

import numpy as np
import pytest

from tests.support.drawn_sheets import DrawnSheet, as_srgb, bar, disc
from workers.errors import SheetNotFoundError
from workers.rectification.lone_corner import lone_corner
from workers.rectification.rectify import rectify
from workers.rectification.reduced import reduced_photo
from workers.values.image import ColourImage
from workers.values.progress import silent
from workers.values.sheet import SheetSize

COLUMNS, ROWS = 640, 480
A5 = SheetSize(width_mm=148.0, height_mm=210.0)


def photo(corners: np.ndarray) -> np.ndarray:
    """Return a photo of an A5 sheet, most of it beyond the rim."""
    ink = (disc(60.0, 60.0, 12.0), bar(30.0, 90.0, 90.0, 94.0))
    return DrawnSheet(148.0, 210.0, corners, COLUMNS, ROWS, ink).photograph()


UPPER_LEFT = np.array([(120.0, 90.0), (905.0, 120.0), (860.0, 1230.0), (90.0, 1190.0)])
LOWER_RIGHT = np.array([(-260.0, -700.0), (530.0, -740.0), (510.0, 390.0), (-300.0, 410.0)])


@pytest.mark.parametrize(
    ("corners", "corner", "names"),
    [
        (UPPER_LEFT, (120, 90), ("left and top", "right and bottom")),
        (LOWER_RIGHT, (510, 390), ("right and bottom", "left and top")),
    ],
)
def test_the_sides_that_are_seen_are_named(
    corners: np.ndarray, corner: tuple[int, int], names: tuple[str, str]
) -> None:
    """Which two are in the picture, which are not, and where they meet, within 2 px."""
    found = lone_corner(reduced_photo(photo(corners)))

    assert found is not None
    assert found.corner_px == pytest.approx(corner, abs=2.0)
    assert f"{names[0]} sides are in the picture" in found.reason
    assert f"the {names[1]} sides lie beyond" in found.reason


def test_the_refusal_names_two_points_to_measure_between() -> None:
    """The corner, and where the longer side leaves the picture: x 640 of the top side."""
    with pytest.raises(SheetNotFoundError, match="left and top sides") as caught:
        rectify([ColourImage(photo(UPPER_LEFT))], A5, silent)

    assert "top edge" in (caught.value.remedy or "")
    assert "'between': [[120, 90], [640, 110]]" in (caught.value.remedy or "")


def test_a_table_without_a_sheet_has_no_corner() -> None:
    """Grain and a lamp's light."""
    grain = np.random.default_rng(3).normal(0.2, 0.02, (ROWS, COLUMNS)) + np.linspace(0, 0.2, COLUMNS)
    assert lone_corner(reduced_photo(as_srgb(grain))) is None
