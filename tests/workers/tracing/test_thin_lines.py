"""Lines and gaps of half a pixel to a pixel and a half stay whole, and nothing faint becomes ink.

Source: the shapes' own closed forms; pictures by tests.support.exact_coverage.
"""

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray

from tests.support.exact_coverage import box, covered
from workers.errors import NoDrawingFoundError
from workers.geometry.flattening import flatten
from workers.tracing.edge_tracer import trace_with_record
from workers.tracing.thin_lines import made_sure, thin_places
from workers.values.image import InkCoverage

SIDE_PX = 160
MM_PER_PX = 0.1
SHEET = box(SIDE_PX / 2, SIDE_PX / 2, SIDE_PX - 20, SIDE_PX - 20)


def counts(pixels: NDArray[np.uint8]) -> tuple[int, int]:
    """Parts, and holes in all of them."""
    outlines, _ = trace_with_record(InkCoverage(pixels=pixels, mm_per_px=MM_PER_PX), 0.02)
    parts = flatten(outlines, 0.0005).ink.polygons.geoms
    return len(parts), sum(len(part.interiors) for part in parts)


@pytest.mark.parametrize("turn_rad", [0.0, 0.02, 0.2, 0.5, 0.785, 1.1])
@pytest.mark.parametrize("width_px", [0.6, 0.7, 0.85, 1.0, 1.25, 1.5])
@pytest.mark.parametrize("place_px", [80.0, 80.25, 80.5])
def test_a_thin_line_stays_in_one_piece(width_px: float, turn_rad: float, place_px: float) -> None:
    """Wherever it lies between the pixels, no pixel of it half ink."""
    line = box(80.2, place_px, 120, width_px, turn_rad)
    assert counts(covered([line], SIDE_PX, SIDE_PX)) == (1, 0)


@pytest.mark.parametrize("turn_rad", [0.0, 0.02, 0.2, 0.5, 0.785, 1.1])
@pytest.mark.parametrize("width_px", [0.6, 0.7, 0.85, 1.0, 1.25, 1.5])
@pytest.mark.parametrize("place_px", [80.0, 80.25, 80.5])
def test_a_thin_gap_stays_open(width_px: float, turn_rad: float, place_px: float) -> None:
    """A slit in a board is one hole."""
    slit = box(80.2, place_px, 100, width_px, turn_rad)
    assert counts(covered([SHEET, slit], SIDE_PX, SIDE_PX)) == (1, 1)


@pytest.mark.parametrize("turn_rad", [0.0, 0.3, 0.785])
def test_a_line_that_hardly_darkens_the_paper_is_no_ink(turn_rad: float) -> None:
    """A twentieth of a pixel: no bit and no eye finds it."""
    line = box(80.2, 80.25, 120, 0.05, turn_rad)
    dot = box(20, 20, 8, 8)
    assert counts(covered([line, dot], SIDE_PX, SIDE_PX)) == (1, 0)


def test_a_broad_pale_band_is_no_thin_line() -> None:
    """Pencil at 40 % over five pixels has no ridge; paper it stays."""
    pixels = np.full((SIDE_PX, SIDE_PX), 255, np.uint8)
    pixels[60:65, 20:140] = 153
    with pytest.raises(NoDrawingFoundError):
        counts(pixels)


def test_a_blurred_faint_line_is_no_ink() -> None:
    """Beside an edge as blurred as a photo's, a faint ridge is pencil."""
    ink = covered([box(80, 40, 100, 30)], SIDE_PX, SIDE_PX)
    ink[100:102, 20:140] = 150
    blurred = cv2.GaussianBlur(ink, (0, 0), 1.0)
    assert counts(blurred) == (1, 0)


def test_grain_makes_nothing_sure() -> None:
    """Grey grain of a scan, five tones strong, on paper and on ink."""
    ink = covered([SHEET], SIDE_PX, SIDE_PX).astype(np.float64)
    grain = 5 * np.random.default_rng(3).standard_normal(ink.shape)
    assert not len(thin_places(np.clip(np.rint(ink + grain), 0, 255).astype(np.uint8)))


def test_turned_over_tones_are_made_sure_alike() -> None:
    """Ink and paper exchanged, the same pixels change."""
    line = covered([box(80.2, 80.4, 120, 0.7, 0.3)], SIDE_PX, SIDE_PX)
    places = thin_places(line)
    assert len(places)
    assert (places == thin_places(255 - line)).all()
    assert (made_sure(line, places) == 255 - made_sure(255 - line, places))[line != 128].all()
