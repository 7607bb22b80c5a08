"""An edge moved to the picture's areas covers each pixel as the picture says.

The polygon's areas are worked out anew by tests.support.exact_coverage, which shares no code with the tracer.
"""

import numpy as np
import pytest

from tests.support.exact_coverage import box, covered, star
from workers.tracing.area_true import moved_to_area
from workers.tracing.edge_points import edge_loops

ROWS, COLUMNS = 70, 90
RIM_TO_RIM = [box(45, 35, 140, 2.2, 0.0), box(45, 35, 2.2, 110, 0.0), box(45, 35, 150, 1.6, 0.7)]
WITHIN = [star(30, 30, 24, 7, 5, 0.3), box(65, 45, 30, 2.4, 0.9), box(62, 20, 26, 0.9, 2.4)]


def clipped(rings: list[np.ndarray]) -> np.ndarray:
    """A picture of rings, each drawn alone and laid over the others, cut at the rim."""
    wide = [covered([ring + 100], ROWS + 200, COLUMNS + 200)[100:-100, 100:-100] for ring in rings]
    return np.min(wide, axis=0)


@pytest.mark.parametrize("rings", [RIM_TO_RIM, WITHIN], ids=["from rim to rim", "within"])
def test_pixels_are_covered_as_the_picture_says(rings: list[np.ndarray]) -> None:
    """Nearly all to a fortieth; where edges cross or end within a pixel, to a third."""
    pixels = clipped(rings)
    edge = edge_loops(pixels)
    loops = np.split(edge.points, edge.starts[1:-1])
    own = covered([loop + 4 for loop in loops], ROWS + 8, COLUMNS + 8)[4:-4, 4:-4]
    off = np.abs(own.astype(int) - pixels)[pixels < 255] / 255
    assert np.quantile(off, 0.9) < 0.025
    assert off.max() < 0.34


def test_what_agrees_stays_where_it_is() -> None:
    """A square on pixel sides is moved nowhere, to the last bit."""
    pixels = np.full((40, 40), 255, np.uint8)
    pixels[10:30, 10:30] = 0
    corners = np.array([[10, 10], [10, 30], [30, 30], [30, 10]], float)  # ink on the left, as seen
    share = np.linspace(0, 1, 20, endpoint=False)[:, None]
    sides = [a + share * (b - a) for a, b in zip(corners, np.roll(corners, -1, axis=0), strict=True)]
    points = np.concatenate(sides)
    assert np.array_equal(moved_to_area(points, np.array([0, len(points)], np.int32), pixels), points)
