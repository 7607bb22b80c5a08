"""Every step gives the same drawing whether done on a picture or on polygons.

The two ways share the checked areas but not how they change the drawing; the picture's first
coverage comes from ``tests.support.exact_coverage``, the polygons' areas from GEOS.
"""

import numpy as np
import pytest
from shapely.geometry import Point

from tests.support.both_ways import MM_PER_PX, area_mm2, boatyard, farthest_apart_px, straight_sided
from workers.touch_up.apply import apply_to_artwork, apply_to_coverage
from workers.values.progress import silent
from workers.values.region import Artwork, Region
from workers.values.touch_up import (
    Crop,
    Draw,
    Erase,
    Flip,
    Invert,
    Keep,
    Mirror,
    Patch,
    RemoveSpecks,
    SetIn,
    Stroke,
    Thicken,
    Thin,
    TouchUp,
    Turn,
)

LASSO = Patch(polygon_mm=((3.03, -2.14), (22.31, -4.47), (19.52, -20.38), (11.04, -11.91)))
LINE = Stroke(line_mm=((2.07, -21.33), (9.41, -15.18), (27.66, -3.02)), width_mm=1.37)
LOOP = Stroke(line_mm=((5, -5), (25, -18), (25, -5), (5, -18)), width_mm=0.8)
DOT = Stroke(line_mm=((26.03, -13.07),), width_mm=2.2)
OUTER = Point(4, 4).buffer(3.3, quad_segs=64)
RING = Artwork(
    ink=Region(OUTER.difference(Point(4, 4).buffer(1.9, quad_segs=64)).union(Point(9, 4).buffer(0.7))),
    width_mm=10,
    height_mm=8,
)

STEPS: dict[str, list[TouchUp]] = {
    "nothing": [],
    "quarter turn": [Turn(turn_deg=90)],
    "half turn": [Turn(turn_deg=180)],
    "three quarters": [Turn(turn_deg=-90)],
    "turn": [Turn(turn_deg=7.3)],
    "large turn": [Turn(turn_deg=-131.0)],
    "mirror left-right": [Mirror(is_left_right=True)],
    "mirror top-bottom": [Mirror(is_left_right=False)],
    "crop": [Crop(left_mm=4.1, top_mm=-2.3, width_mm=17.5, height_mm=19.2)],
    "crop between pixels": [Crop(left_mm=4.14, top_mm=-2.33, width_mm=17.53, height_mm=19.26)],
    "crop beyond the sheet": [Crop(left_mm=10, top_mm=1, width_mm=50, height_mm=20.5)],
    "invert": [Invert()],
    "erase": [Erase(area=LASSO)],
    "rub out": [Erase(area=LINE)],
    "keep": [Keep(area=LASSO)],
    "remove specks": [RemoveSpecks(below_mm2=0.3)],
    "remove all specks": [RemoveSpecks(below_mm2=1.0)],
    "flip ink": [Flip(x_mm=20.5, y_mm=-8.5)],
    "flip ring": [Flip(x_mm=8.03, y_mm=-4.8)],
    "flip hole": [Flip(x_mm=8.03, y_mm=-9.07)],
    "flip ground": [Flip(x_mm=1, y_mm=-1)],
    "draw": [Draw(area=LASSO)],
    "draw line": [Draw(area=LINE)],
    "draw crossing line": [Draw(area=LOOP)],
    "draw dot": [Draw(area=DOT)],
    "draw over the rim": [Draw(area=Stroke(line_mm=((-4, -3), (40, -21)), width_mm=2))],
    "set in by width": [
        SetIn(drawing=straight_sided(RING), x_mm=15.2, y_mm=-12.4, width_mm=14.3, turn_deg=33)
    ],
    "set in by height": [SetIn(drawing=straight_sided(RING), x_mm=28.2, y_mm=-3.4, height_mm=5)],
    "thicken": [Thicken(by_mm=0.43)],
    "thicken a little": [Thicken(by_mm=0.02)],
    "thicken much": [Thicken(by_mm=2.4)],
    "thicken to the full": [Thicken(by_mm=11)],
    "thin at the rim": [Invert(), Thin(by_mm=0.6)],
    "thin much within": [Invert(), Thin(by_mm=3.2, within=LASSO)],
    "thicken within": [Thicken(by_mm=0.43, within=LASSO)],
    "thin": [Thin(by_mm=0.31)],
    "thin a little": [Thin(by_mm=0.03)],
    "thin within": [Thin(by_mm=0.31, within=LASSO)],
    "many": [
        Turn(turn_deg=90),
        Erase(area=Patch(polygon_mm=((3, -3), (8, -3.5), (9, -9.5), (3.5, -9)))),
        Crop(left_mm=1, top_mm=-2, width_mm=20.6, height_mm=26),
        Draw(area=Stroke(line_mm=((2.02, -21.3), (9.4, -15.1)), width_mm=1.3)),
        Mirror(is_left_right=True),
        Thicken(by_mm=0.2),
        Invert(),
    ],
}


@pytest.mark.parametrize("name", STEPS)
def test_picture_and_polygons_agree(name: str) -> None:
    """Outlines are nowhere half a pixel apart, parts as many, areas as large but for a trace of the edge."""
    coverage, artwork = boatyard()
    seen = apply_to_coverage(coverage, STEPS[name], silent)
    drawn = apply_to_artwork(straight_sided(artwork), STEPS[name], silent)
    after = drawn.drawing.artwork
    rows, columns = seen.drawing.pixels.shape
    assert columns * MM_PER_PX == pytest.approx(after.width_mm, abs=MM_PER_PX)
    assert rows * MM_PER_PX == pytest.approx(after.height_mm, abs=MM_PER_PX)
    assert farthest_apart_px(seen.drawing, after) < (1.0 if name == "many" else 0.5)
    ink = after.ink.polygons
    off_px = abs(area_mm2(seen.drawing) - ink.area) / (ink.length * MM_PER_PX)
    assert off_px < (0.1 if name == "crop between pixels" else 0.05)
    parts = [[entry["parts_after"] for entry in record] for record in (seen.record, drawn.record)]
    assert parts[0] == parts[1]


@pytest.mark.parametrize("name", STEPS)
def test_steps_are_repeatable(name: str) -> None:
    """The same list on the same drawing gives the same pixels, polygons and record."""
    coverage, artwork = boatyard()
    first, second = (apply_to_coverage(coverage, STEPS[name], silent) for _ in range(2))
    assert np.array_equal(first.drawing.pixels, second.drawing.pixels)
    assert first.record == second.record
    polygons, again = (apply_to_artwork(straight_sided(artwork), STEPS[name], silent) for _ in range(2))
    assert polygons.drawing.artwork.ink.polygons.wkb == again.drawing.artwork.ink.polygons.wkb
    assert polygons.record == again.record
