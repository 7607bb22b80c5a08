"""Our tracer: follows the ink's edge between pixels, corners sharp, curves smooth."""

from __future__ import annotations

from dataclasses import asdict, dataclass

import numpy as np
from numpy.typing import NDArray

from workers.errors import NoDrawingFoundError
from workers.tracing.corners import sharp_corners, skipped_points
from workers.tracing.crossings import crossing_loops
from workers.tracing.curve_fitting import Pieces, fit_loops
from workers.tracing.edge_points import edge_loops
from workers.tracing.specks import without_specks
from workers.tracing.to_millimetres import to_millimetres
from workers.values.image import InkCoverage
from workers.values.outlines import Outlines, Traced
from workers.values.progress import Reporter, silent

Points = NDArray[np.float64]
Indices = NDArray[np.int32]

HARD_TOLERANCE_PX = 0.35  # a picture without greys knows its edge no better
REFITS = 3  # each with half the tolerance; what still crosses keeps its points


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
            curves may leave its steps by a third of one, if that is more.
        report: Told how far the tracing is.

    Raises:
        NoDrawingFoundError: The picture is blank, or ink all over.
    """
    report(0.0, "following the ink's edge")
    rows, columns = coverage.pixels.shape
    _refuse_one_tone(coverage.pixels)
    edge = edge_loops(coverage.pixels)
    sifted = without_specks(edge.points, edge.starts, coverage.mm_per_px)
    if len(sifted.points) == 0:
        raise NoDrawingFoundError(
            f"only specks were found, {sifted.ink_specks} of them, none as large as a dot of a pen",
            field="/inputs/image",
            remedy="Send a picture with a drawing on it, or state its scale.",
        )
    report(0.4, "fitting curves")
    tolerance_px = tolerance_mm / coverage.mm_per_px
    if edge.is_hard:
        tolerance_px = max(tolerance_px, HARD_TOLERANCE_PX)
    corners, places = sharp_corners(sifted.points, sifted.starts, edge.blur_px)
    places = np.clip(
        places, 0.0, (columns, rows)
    )  # carried on, the sides may meet a hair outside of the sheet
    loops = (sifted.points, sifted.starts)
    skipped = skipped_points(edge.blur_px)
    pieces, refitted = _fit_without_crossings(loops, (corners, places), skipped, tolerance_px)
    report(0.9, "scaling to millimetres")
    outlines = to_millimetres(pieces, rows, columns, coverage.mm_per_px)
    return outlines, TracingRecord(
        loops_count=len(outlines.loops),
        pieces_count=len(pieces.controls),
        corners_count=len(corners),
        ink_specks_count=sifted.ink_specks,
        paper_specks_count=sifted.paper_specks,
        refitted_loops_count=refitted,
        blur_px=round(edge.blur_px, 2),
        is_two_tone=edge.is_hard,
        tolerance_mm=round(tolerance_px * coverage.mm_per_px, 6),
    )


def _refuse_one_tone(pixels: NDArray[np.uint8]) -> None:
    """Raise NoDrawingFoundError where there is no edge to follow."""
    if pixels.size and pixels.min() < 128:
        if pixels.max() >= 128:
            return
        found = "ink all over"
    else:
        found = "blank"
    raise NoDrawingFoundError(
        f"the picture is {found}: there is no edge between ink and paper to follow",
        field="/inputs/image",
        remedy="Send a picture with dark ink on light paper.",
    )


def _fit_without_crossings(
    loops: tuple[Points, Indices], corners: tuple[Indices, Points], skipped: int, tolerance_px: float
) -> tuple[Pieces, int]:
    """Fit curves; loops that come to cross are fitted more closely, at last left as their points."""
    pieces = fit_loops(*loops, *corners, skipped, tolerance_px)
    crossed = crossing_loops(pieces)
    refitted = np.zeros_like(crossed)
    attempt = 0
    while (crossed & ~refitted).any() or (crossed.any() and attempt < REFITS):
        attempt += 1
        refitted |= crossed
        tolerance_px /= 2
        if attempt >= REFITS:  # the points themselves never cross
            is_kept = ~_in_loops(corners[0], loops[1], refitted)
            corners = (corners[0][is_kept], corners[1][is_kept])
            tolerance_px = 0.0
        closer = fit_loops(*loops, *corners, skipped, tolerance_px)
        pieces = _exchanged(pieces, closer, refitted)
        crossed = crossing_loops(pieces)
    return pieces, int(refitted.sum())


def _in_loops(
    indices: NDArray[np.int32], starts: NDArray[np.int32], chosen: NDArray[np.bool_]
) -> NDArray[np.bool_]:
    """Return for each point index whether it belongs to a chosen loop."""
    found: NDArray[np.bool_] = chosen[np.searchsorted(starts, indices, side="right") - 1]
    return found


def _exchanged(pieces: Pieces, others: Pieces, chosen: NDArray[np.bool_]) -> Pieces:
    """Return the pieces with the chosen loops taken from the others."""
    loops = []
    for loop, is_chosen in enumerate(chosen):
        source = others if is_chosen else pieces
        loops.append(source.controls[source.starts[loop] : source.starts[loop + 1]])
    starts = np.cumsum([0, *(len(loop) for loop in loops)]).astype(np.int32)
    return Pieces(np.concatenate(loops), starts)
