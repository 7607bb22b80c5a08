"""What is done to a drawing is done to its outlines: turned, mirrored, scaled; and no line is lost.

Sources: the symmetries themselves; Hausdorff distance (I-23 of the project's collection of outside facts).
The drawings are rasterised by tests.support.exact_coverage, which shares no code with the tracer.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import pytest
import shapely
from hypothesis import Phase, assume, given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from shapely.geometry import MultiPolygon

from tests.support.exact_coverage import box, circle, covered, star
from tests.support.outline_distance import parts_and_holes
from workers.geometry.flattening import flat_rings, flatten
from workers.tracing.edge_tracer import trace_with_record
from workers.values.image import InkCoverage
from workers.values.outlines import Outlines

SIDE_PX = 128
CELL_PX = SIDE_PX / 2
MM_PER_PX = 0.1
TOLERANCE_MM = 0.02
CORNER_PX = 0.3  # what pixels may round a square corner by
NOTICED_MM = 0.001  # of the flattening, and of samples between corners

Rings = list[NDArray[np.float64]]
Drawing = tuple["Figure", ...]
Places = Callable[[NDArray[np.float64]], NDArray[np.float64]]


def quarter_turned(xy: NDArray[np.float64]) -> NDArray[np.float64]:
    """Places in the picture turned by 90 degrees."""
    return np.stack([xy[:, 1], SIDE_PX - xy[:, 0]], axis=1)


def mirrored(xy: NDArray[np.float64]) -> NDArray[np.float64]:
    """Places in the picture with left and right exchanged."""
    return np.stack([SIDE_PX - xy[:, 0], xy[:, 1]], axis=1)


offsets = st.floats(-2, 2)
unshrunk = settings(deadline=None, max_examples=20, phases=(Phase.explicit, Phase.reuse, Phase.generate))


@dataclass(frozen=True)
class Figure:
    """A star, a ring or a turned bar in one of four cells of the picture."""

    kind: str
    cell: tuple[int, int]  # column, row
    offset_px: tuple[float, float]
    slenderness: float  # 0 to 1
    turn_rad: float
    tips: int

    def rings(self) -> Rings:
        """Its outlines in px."""
        x, y = (
            (cell + 0.5) * CELL_PX + offset for cell, offset in zip(self.cell, self.offset_px, strict=True)
        )
        if self.kind == "star":
            return [star(x, y, 28, 16 - 7 * self.slenderness, self.tips, self.turn_rad)]
        if self.kind == "ring":
            radius, width = 28 - 20 * self.slenderness, 3 + self.tips / 2
            return [circle(x, y, radius, 400), circle(x, y, radius - width, 400)]
        return [box(x, y, 50, 20 - 18 * self.slenderness, self.turn_rad)]


def figures(column: int, row: int, kinds: tuple[str, ...], slenderest: float) -> st.SearchStrategy[Figure]:
    """Figures of one cell."""
    offset = st.floats(-2, 2)
    return st.builds(
        Figure,
        kind=st.sampled_from(kinds),
        cell=st.just((column, row)),
        offset_px=st.tuples(offset, offset),
        slenderness=st.floats(0, slenderest),
        turn_rad=st.floats(0, 3),
        tips=st.integers(4, 7),
    )


def drawings_of(kinds: tuple[str, ...], slenderest: float) -> st.SearchStrategy[Drawing]:
    """Four figures, one in each cell."""
    return st.tuples(*(figures(column, row, kinds, slenderest) for column in (0, 1) for row in (0, 1)))


drawings = drawings_of(("star", "ring", "bar"), 1.0)
plain_drawings = drawings_of(("ring", "bar"), 0.8)  # bars of 5.6 px and more: their corners show at any scale


def rings_of(drawing: Drawing) -> Rings:
    """The outlines of all figures."""
    return [ring for figure in drawing for ring in figure.rings()]


def traced(rings: Rings, mm_per_px: float = MM_PER_PX, side_px: int = SIDE_PX) -> Outlines:
    """The outlines of a drawing in px, row down."""
    return trace_with_record(
        InkCoverage(pixels=covered(rings, side_px, side_px), mm_per_px=mm_per_px), TOLERANCE_MM
    )[0]


def on_page_px(outlines: Outlines) -> MultiPolygon:
    """The traced area in px of the picture of 128, row down."""
    ink = flatten(outlines, NOTICED_MM).ink.polygons
    return shapely.transform(
        ink, lambda xy: np.stack([xy[:, 0], outlines.height_mm - xy[:, 1]], axis=1) / MM_PER_PX
    )


def apart_px(one: MultiPolygon, other: MultiPolygon) -> float:
    """I-23: the larger of the two one-sided worst nearest distances."""
    ends = [shapely.segmentize(area.boundary, 0.25) for area in (one, other)]
    return float(shapely.hausdorff_distance(*ends))


@pytest.mark.parametrize("move", [quarter_turned, mirrored], ids=["quarter turn", "mirror"])
@unshrunk
@given(drawing=drawings)
def test_a_moved_drawing_gives_moved_outlines(move: Places, drawing: Drawing) -> None:
    """Drawn anew where it is moved to, they lie within twice the tolerance of the moved ones."""
    before = shapely.transform(on_page_px(traced(rings_of(drawing))), move)
    after = on_page_px(traced([move(ring) for ring in rings_of(drawing)]))
    assert apart_px(before, after) <= 2 * TOLERANCE_MM / MM_PER_PX  # each within it of what was drawn


@unshrunk
@given(drawing=plain_drawings, scale=st.floats(1.5, 3))
def test_a_drawing_seen_larger_has_the_same_outlines(drawing: Drawing, scale: float) -> None:
    """More pixels, each so much smaller: the same parts, within two tolerances and a corner's rounding.

    Acute tips are left out: more pixels rightly show more of them.
    """
    before = on_page_px(traced(rings_of(drawing)))
    side_px = int(np.ceil(SIDE_PX * scale))
    larger = traced([ring * scale for ring in rings_of(drawing)], MM_PER_PX / scale, side_px)
    assert parts_and_holes(on_page_px(larger)) == parts_and_holes(before)
    assert apart_px(before, on_page_px(larger)) <= 2 * TOLERANCE_MM / MM_PER_PX + CORNER_PX


@unshrunk
@given(drawing=drawings, scale=st.sampled_from([0.25, 0.5, 2.0, 8.0]))
def test_a_picture_said_to_be_larger_has_larger_outlines(drawing: Drawing, scale: float) -> None:
    """With scale and tolerance both so many times as large, so are all control points, exactly.

    A picture with specks is left out: what is one depends on how large it is on the paper.
    """
    pixels = covered(rings_of(drawing), SIDE_PX, SIDE_PX)
    (before, record), (after, other) = (
        trace_with_record(InkCoverage(pixels=pixels, mm_per_px=MM_PER_PX * k), TOLERANCE_MM * k)
        for k in (1.0, scale)
    )
    assume(record.ink_specks_count + record.paper_specks_count == 0)
    assume(other.ink_specks_count + other.paper_specks_count == 0)
    assert [(loop * scale).tobytes() for loop in before.loops] == [loop.tobytes() for loop in after.loops]


@unshrunk
@given(drawing=drawings, tolerance_mm=st.floats(0.005, 0.5))
def test_outlines_cross_neither_themselves_nor_each_other(drawing: Drawing, tolerance_mm: float) -> None:
    """However coarse the tolerance."""
    picture = InkCoverage(pixels=covered(rings_of(drawing), SIDE_PX, SIDE_PX), mm_per_px=MM_PER_PX)
    outlines, _ = trace_with_record(picture, tolerance_mm)
    found = [shapely.LinearRing(ring) for ring in flat_rings(outlines.loops, NOTICED_MM)]
    assert all(ring.is_simple for ring in found)
    one, other = shapely.STRtree(found).query(found, predicate="intersects")
    assert (one == other).all()


@unshrunk
@given(
    width_px=st.floats(1.5, 4),
    gap_px=st.floats(1.5, 4),
    count=st.integers(2, 7),
    turn_rad=st.floats(0.02, 1.55),
    shift=st.tuples(offsets, offsets),
)
def test_thin_strokes_stay_as_many(
    width_px: float, gap_px: float, count: int, turn_rad: float, shift: tuple[float, float]
) -> None:
    """Strokes and gaps from a pixel and a half, at any angle: none breaks, none merge."""
    across = np.array([-np.sin(turn_rad), np.cos(turn_rad)])
    middles = (
        SIDE_PX / 2
        + np.array(shift)
        + np.outer(np.arange(count) - (count - 1) / 2, across) * (width_px + gap_px)
    )
    ink = flatten(traced([box(x, y, 80, width_px, turn_rad) for x, y in middles])).ink.polygons
    assert parts_and_holes(ink) == (count, 0)
    assert ink.area == pytest.approx(
        count * 80 * width_px * MM_PER_PX**2, rel=0.08
    )  # measured: to 7 % thinner at 1.5 px, 0.5 % from 2.5 px


@unshrunk
@given(width_px=st.floats(1.5, 4), radius_px=st.floats(8, 50), shift=st.tuples(offsets, offsets))
def test_a_thin_ring_stays_a_ring(width_px: float, radius_px: float, shift: tuple[float, float]) -> None:
    """A round line is neither pinched off nor filled."""
    x, y = SIDE_PX / 2 + np.array(shift)
    ink = flatten(traced([circle(x, y, radius_px), circle(x, y, radius_px - width_px)])).ink.polygons
    assert parts_and_holes(ink) == (1, 1)
