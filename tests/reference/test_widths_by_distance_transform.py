"""Widths along strokes and walls, against the exact distance transform of a general library.

Source: OpenCV's distanceTransform (Felzenszwalb and Huttenlocher's), on pictures drawn by
tests.support.exact_coverage. The same over 50 drawings of an open collection, at finer cells:
``python -m tests.benchmarks.width_witness``.
"""

import json
from pathlib import Path

import numpy as np
import pytest
from shapely import affinity
from shapely.geometry import MultiPolygon, Polygon

from tests.support.distance_witness import pictured
from workers.geometry.outline_diagram import ink_axis, paper_axis
from workers.geometry.polygon_repair import on_grid
from workers.values.region import Region

DRAWINGS = Path(__file__).parents[1] / "support" / "drawings"
CELL_MM = 0.2


def drawing(name: str) -> Region:
    """Return a drawing's ink 80 mm wide, y up."""
    known = json.loads((DRAWINGS / f"{name}.truth.json").read_text())["polygons"]
    ink = MultiPolygon([Polygon(rings[0], rings[1:]) for rings in known])
    scale = 80 / (ink.bounds[2] - ink.bounds[0])
    return on_grid(affinity.scale(ink, scale, -scale, origin=(0, 0)))


@pytest.mark.parametrize("name", ["anchor", "rope_locker", "teacup"])
def test_widths_agree_with_a_distance_transform(name: str) -> None:
    """At every cell along the ink's axis and the paper's the two widths are within one cell of each other."""
    ink = drawing(name)

    picture = pictured(ink, CELL_MM)

    strokes = picture.widths_off_cells(ink_axis(ink), in_ink=True)
    walls = picture.widths_off_cells(paper_axis(ink), in_ink=False)

    assert min(len(strokes), len(walls)) > 1000
    assert np.abs(np.concatenate([strokes, walls])).max() < 1
