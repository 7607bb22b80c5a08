"""Repair of real drawings, carved small: parts and holes stay, nearly all ink comes to show."""

import json
from dataclasses import replace
from pathlib import Path

import pytest
import shapely
from shapely import affinity
from shapely.geometry import MultiPolygon, Polygon

from tests.support.specimens import BASSWOOD, incise
from workers.geometry.polygon_repair import GRID_MM, region_of
from workers.resolvability.repair import repair
from workers.values.examination import Examination, Verdict
from workers.values.region import Region

DRAWINGS = Path(__file__).parents[2] / "support" / "drawings"
WOOD = replace(BASSWOOD, shows_depth_mm=0.5)


def drawing(name: str, scale: float) -> Region:
    """Return the inked area of a drawing, y up, at a scale."""
    truth = json.loads((DRAWINGS / f"{name}.truth.json").read_text())
    polygons = [Polygon(rings[0], rings[1:]) for rings in truth["polygons"]]
    return region_of(affinity.scale(MultiPolygon(polygons), scale, -scale, origin=(0, 0)))


def counts(region: Region) -> tuple[int, int]:
    """Return how many parts and holes a region has."""
    parts = region.polygons.geoms
    return len(parts), sum(len(part.interiors) for part in parts)


def thin_mm(examination: Examination) -> float:
    """Return the length of ink that does not show."""
    return sum(run.length_mm for run in examination.strokes if run.verdict is not Verdict.SHOWS)


@pytest.mark.parametrize("name", ["teacup", "anchor", "rope_locker"])
@pytest.mark.parametrize(("scale", "angle_deg"), [(0.3, 60), (0.5, 90), (0.2, 60)])
def test_a_small_drawing_keeps_its_shape_and_comes_to_show(name: str, scale: float, angle_deg: float) -> None:
    """Parts and holes are as many as before, no ink is taken, and a tenth of the thin ink is left at most."""
    region = drawing(name, scale)

    result = repair(region, incise(angle_deg, 3, 0.1), WOOD)

    assert counts(result.region) == counts(region)
    assert shapely.difference(region.polygons.buffer(-GRID_MM), result.region.polygons).is_empty
    assert thin_mm(result.examination) <= 0.1 * thin_mm(result.examination_before)
    assert result.moved_mm < 0.9 * 2 * 0.5  # nowhere near the width of the widest stroke made


def test_a_finding_tells_what_was_done() -> None:
    """The note gives the length and how far outlines moved."""
    result = repair(drawing("teacup", 0.3), incise(60, 3, 0.1), WOOD)

    note = result.notes[0]
    assert note.code == "strokes-thickened"
    assert f"{result.moved_mm:.2f} mm" in note.message
