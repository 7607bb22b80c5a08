"""The tracer as a whole: what it finds, refuses and reports."""

import cv2
import numpy as np
import pytest
import shapely

from tests.support.exact_coverage import circle, covered
from workers.errors import NoDrawingFoundError
from workers.geometry.flattening import flatten
from workers.tracing.edge_points import edge_loops
from workers.tracing.edge_tracer import EDGE_TRACER, trace_with_record
from workers.values.image import InkCoverage
from workers.values.outlines import Outlines
from workers.values.progress import Reporter, silent


def picture(
    rows: int, columns: int, *boxes: tuple[int, int, int, int], mm_per_px: float = 0.1
) -> InkCoverage:
    """A white picture with boxes (top, left, bottom, right) over each other, in turn black and white."""
    pixels = np.full((rows, columns), 255, np.uint8)
    for number, (top, left, bottom, right) in enumerate(boxes):
        pixels[top:bottom, left:right] = 0 if number % 2 == 0 else 255
    return InkCoverage(pixels=pixels, mm_per_px=mm_per_px)


def outlines_of(coverage: InkCoverage, tolerance_mm: float, report: Reporter) -> Outlines:
    return EDGE_TRACER.trace(coverage, tolerance_mm, report).outlines


@pytest.mark.parametrize("level", [0, 127, 128, 255])
def test_a_picture_of_one_tone_is_no_drawing(level: int) -> None:
    """All paper and all ink are refused, on either side of the half-way level."""
    coverage = InkCoverage(pixels=np.full((40, 60), level, np.uint8), mm_per_px=0.1)
    with pytest.raises(NoDrawingFoundError) as caught:
        outlines_of(coverage, 0.02, silent)
    assert caught.value.field == "/inputs/image"
    assert caught.value.remedy


def test_the_sheet_keeps_its_size() -> None:
    """Width and height are those of the picture at its scale."""
    outlines = outlines_of(picture(200, 300, (50, 60, 90, 140)), 0.02, silent)
    assert (outlines.width_mm, outlines.height_mm) == (30.0, 20.0)


def test_y_points_up() -> None:
    """Ink near the top of the picture has a large y."""
    artwork = flatten(outlines_of(picture(200, 300, (10, 60, 30, 140)), 0.02, silent))
    assert artwork.ink.polygons.bounds == pytest.approx((6.0, 17.0, 14.0, 19.0), abs=0.01)


def test_ink_at_the_frame_is_closed_along_it() -> None:
    """A band from side to side is a rectangle as wide as the sheet."""
    artwork = flatten(outlines_of(picture(200, 300, (0, 0, 200, 100)), 0.02, silent))
    assert artwork.ink.polygons.bounds == pytest.approx((0.0, 0.0, 10.0, 20.0), abs=0.003)


def test_nesting_is_kept() -> None:
    """A ring with a dot in it is two parts, one of them with a hole."""
    artwork = flatten(
        outlines_of(
            picture(200, 200, (20, 20, 180, 180), (40, 40, 160, 160), (80, 80, 120, 120)), 0.02, silent
        )
    )
    assert sorted(len(part.interiors) for part in artwork.ink.polygons.geoms) == [0, 1]


def test_specks_are_left_out_and_counted() -> None:
    """A single dark pixel and a single light one are specks; the box they lie on and beside is not."""
    pixels = np.full((100, 100), 255, np.uint8)
    pixels[20:80, 20:60] = 0
    pixels[40, 40] = 255
    pixels[50, 90] = 0
    outlines, record = trace_with_record(InkCoverage(pixels=pixels, mm_per_px=0.1), 0.02)
    assert len(outlines.loops) == 1
    assert (record.ink_specks_count, record.paper_specks_count) == (1, 1)


@pytest.mark.parametrize("x", [30.0, 30.3, 30.5, 30.8])
def test_a_speck_is_one_however_the_picture_lies(x: float) -> None:
    """A blurred dot's loop has the area of its ring (shapely's sum), wherever following it begins."""
    dot = np.asarray(cv2.GaussianBlur(covered([circle(x, 30.4, 6.0)], 60, 60), (0, 0), 2.0), np.uint8)
    for turned in map(np.ascontiguousarray, (dot, np.rot90(dot), dot[:, ::-1], dot[::-1])):
        ring_px2 = shapely.Polygon(edge_loops(turned).points).area

        assert edge_loops(turned, ring_px2 - 0.001).ink_specks == 0
        assert edge_loops(turned, ring_px2 + 0.001).ink_specks == 1


def test_nothing_but_specks_is_no_drawing() -> None:
    """Dust alone is refused, and the message counts it."""
    pixels = np.full((100, 100), 255, np.uint8)
    pixels[50, 50] = pixels[20, 70] = 0
    with pytest.raises(NoDrawingFoundError, match="2 of them"):
        trace_with_record(InkCoverage(pixels=pixels, mm_per_px=0.1), 0.02)


def test_a_fine_scan_keeps_what_a_coarse_one_calls_a_speck() -> None:
    """A dot seen by many pixels was drawn, however small on the paper."""
    dot = (40, 40, 44, 44)
    outlines, record = trace_with_record(picture(100, 100, dot, mm_per_px=0.01), 0.002)
    assert len(outlines.loops) == 1
    assert record.ink_specks_count == 0


def test_progress_is_told() -> None:
    """The reporter hears rising fractions."""
    heard: list[float] = []
    outlines_of(picture(50, 50, (10, 10, 40, 40)), 0.02, lambda fraction, _: heard.append(fraction))
    assert heard == sorted(heard)
    assert heard[0] == 0.0


def test_the_same_picture_gives_the_same_outlines() -> None:
    """Twice the same bytes."""
    first, second = (outlines_of(picture(90, 90, (10, 10, 40, 40)), 0.02, silent) for _ in range(2))
    assert [loop.tobytes() for loop in first.loops] == [loop.tobytes() for loop in second.loops]
