"""Our tracer: follows the ink's edge between pixels, corners sharp, curves smooth."""

from __future__ import annotations

import math
from dataclasses import asdict, dataclass

import numpy as np
from numpy.typing import NDArray

from workers.errors import NoDrawingFoundError
from workers.tracing.corners import sharp_corners, skipped_points
from workers.tracing.edge_points import EdgeLoops, edge_loops
from workers.tracing.specks import least_drawn_px2
from workers.tracing.stations import noise_px
from workers.tracing.thin_lines import MIDDLE
from workers.tracing.to_millimetres import to_millimetres
from workers.tracing.uncrossed import fit_without_crossings
from workers.values.image import InkCoverage
from workers.values.outlines import Outlines, Traced
from workers.values.progress import Reporter, silent

HARD_NOISE_PX = 0.1  # what its steps leave of the edge's shape, once evened out
HARD_TOLERANCE_PX = 0.31  # a picture without greys knows its edge no better
LEFT_OF_NOISE = 2.0  # times the noise: how far evening out leaves the edge astray, nearly everywhere


@dataclass(frozen=True, slots=True, kw_only=True)
class TracingRecord:
    """What was traced and what was left out; the body of tracing.json."""

    loops_count: int
    pieces_count: int
    corners_count: int
    ink_specks_count: int
    paper_specks_count: int
    refitted_loops_count: int
    blur_px: float
    noise_px: float
    is_two_tone: bool
    tolerance_mm: float


@dataclass(frozen=True, slots=True)
class EdgeTracer:
    """Follows the edge of the ink, half-way between ink and paper."""

    plugin_api: int = 1
    name: str = "edge"
    summary: str = "Follows the ink's edge between pixels; sharp corners are rebuilt, curves fitted."

    def trace(self, coverage: InkCoverage, tolerance_mm: float, report: Reporter) -> Traced:
        """Return the outlines of the ink, nowhere farther than the tolerance from its edge."""
        outlines, record = trace_with_record(coverage, tolerance_mm, report)
        return Traced(outlines, asdict(record))


EDGE_TRACER = EdgeTracer()


def trace_with_record(
    coverage: InkCoverage, tolerance_mm: float, report: Reporter = silent
) -> tuple[Outlines, TracingRecord]:
    """Return the outlines of the ink, and what was traced and left out.

    Args:
        coverage: The picture, and its scale.
        tolerance_mm: How far the outlines may leave the edge found between pixels. At a
            sharp corner they run to where its sides meet, beyond the rounding by pixels.
            A picture without greys knows its edge to about half a pixel; there the
            curves may leave its steps by a third of one, if that is more. In a noisy
            picture the edge is evened out first, and the curves may leave it by what
            noise is left, too; the record says how much that came to.
        report: Told how far the tracing is.

    Raises:
        NoDrawingFoundError: The picture is blank, or ink all over.
    """
    report(0.0, "following the ink's edge")
    rows, columns = coverage.pixels.shape
    edge = edge_loops(coverage.pixels, least_drawn_px2(coverage.mm_per_px))
    if len(edge.starts) <= 2:  # one loop may run along the frame, round ink all over
        _refuse_no_drawing(coverage.pixels, edge)
    report(0.4, "fitting curves")
    tolerance_px = tolerance_mm / coverage.mm_per_px
    noise = HARD_NOISE_PX if edge.is_hard else noise_px(edge.points, edge.starts)
    if edge.is_hard:
        tolerance_px = max(tolerance_px, HARD_TOLERANCE_PX)
    elif noise > 0.0:
        tolerance_px = math.hypot(tolerance_px, LEFT_OF_NOISE * noise)
    corners, places = sharp_corners(edge.points, edge.starts, edge.blur_px)
    places = np.clip(
        places, 0.0, (columns, rows)
    )  # carried on, the sides may meet a hair outside of the sheet
    loops = (edge.points, edge.starts)
    skipped = skipped_points(edge.blur_px)
    pieces, refitted = fit_without_crossings(loops, (corners, places), skipped, tolerance_px, noise)
    report(0.9, "scaling to millimetres")
    outlines = to_millimetres(pieces, rows, columns, coverage.mm_per_px)
    return outlines, TracingRecord(
        loops_count=len(outlines.loops),
        pieces_count=len(pieces.controls),
        corners_count=len(corners),
        ink_specks_count=edge.ink_specks,
        paper_specks_count=edge.paper_specks,
        refitted_loops_count=refitted,
        blur_px=round(edge.blur_px, 2),
        noise_px=round(noise, 3),
        is_two_tone=edge.is_hard,
        tolerance_mm=round(tolerance_px * coverage.mm_per_px, 6),
    )


def _refuse_no_drawing(pixels: NDArray[np.uint8], edge: EdgeLoops) -> None:
    """Raise NoDrawingFoundError where there is no edge to follow, or only that of specks."""
    if len(edge.points) and pixels.max() >= MIDDLE:
        return
    if edge.ink_specks + edge.paper_specks and pixels.max() >= MIDDLE:
        raise NoDrawingFoundError(
            f"only specks were found, {edge.ink_specks} of them, none as large as a dot of a pen",
            field="/inputs/image",
            remedy="Send a picture with a drawing on it, or state its scale.",
        )
    found = "ink all over" if pixels.size and pixels.max() < MIDDLE else "blank"
    raise NoDrawingFoundError(
        f"the picture is {found}: there is no edge between ink and paper to follow",
        field="/inputs/image",
        remedy="Send a picture with dark ink on light paper.",
    )
