"""Our tracer: follows the ink's edge between pixels, corners sharp, curves smooth."""

from __future__ import annotations

from dataclasses import asdict, dataclass

import numpy as np
from numpy.typing import NDArray

from workers.errors import NoDrawingFoundError
from workers.tracing.corners import SKIPPED_POINTS, sharp_corners
from workers.tracing.crossings import crossing_loops
from workers.tracing.curve_fitting import Pieces, fit_loops
from workers.tracing.edge_points import edge_loops
from workers.tracing.specks import without_specks
from workers.tracing.to_millimetres import to_millimetres
from workers.values.image import InkCoverage
from workers.values.outlines import Outlines
from workers.values.progress import Reporter, silent

BLUR_PX = 0.6
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
    tolerance_mm: float

    def as_json(self) -> dict[str, object]:
        """Return the record's members."""
        return asdict(self)


@dataclass(frozen=True, slots=True)
class EdgeTracer:
    """Follows the edge of the ink, half-way between ink and paper."""

    plugin_api: int = 1
    name: str = "edge"
    summary: str = "Follows the ink's edge between pixels; sharp corners are rebuilt, curves fitted."

    def trace(self, coverage: InkCoverage, tolerance_mm: float, report: Reporter) -> Outlines:
        """Return the outlines of the ink, nowhere farther than the tolerance from its edge."""
        return trace_with_record(coverage, tolerance_mm, report)[0]


EDGE_TRACER = EdgeTracer()


def trace_with_record(
    coverage: InkCoverage, tolerance_mm: float, report: Reporter = silent
) -> tuple[Outlines, TracingRecord]:
    """Return the outlines of the ink, and what was traced and left out.

    Args:
        coverage: The picture, and its scale.
        tolerance_mm: How far the outlines may leave the edge found between pixels. At a
            sharp corner they run to where its sides meet, beyond the rounding by pixels.
        report: Told how far the tracing is.

    Raises:
        NoDrawingFoundError: The picture is blank, or ink all over.
    """
    report(0.0, "following the ink's edge")
    rows, columns = coverage.pixels.shape
    _refuse_one_tone(coverage.pixels)
    points, starts = edge_loops(coverage.pixels)
    sifted = without_specks(points, starts, coverage.mm_per_px)
    if len(sifted.points) == 0:
        raise NoDrawingFoundError(
            f"only specks were found, {sifted.ink_specks} of them, none as large as a dot of a pen",
            field="/inputs/image",
            remedy="Send a picture with a drawing on it, or state its scale.",
        )
    report(0.4, "fitting curves")
    tolerance_px = tolerance_mm / coverage.mm_per_px
    corners, places = sharp_corners(sifted.points, sifted.starts, BLUR_PX)
    pieces, refitted = _fit_without_crossings(sifted.points, sifted.starts, corners, places, tolerance_px)
    report(0.9, "scaling to millimetres")
    outlines = to_millimetres(pieces, rows, columns, coverage.mm_per_px)
    return outlines, TracingRecord(
        loops_count=len(outlines.loops),
        pieces_count=len(pieces.controls),
        corners_count=len(corners),
        ink_specks_count=sifted.ink_specks,
        paper_specks_count=sifted.paper_specks,
        refitted_loops_count=refitted,
        tolerance_mm=tolerance_mm,
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
    points: NDArray[np.float64],
    starts: NDArray[np.int32],
    corners: NDArray[np.int32],
    places: NDArray[np.float64],
    tolerance_px: float,
) -> tuple[Pieces, int]:
    """Fit curves; loops that come to cross are fitted more closely, at last left as their points."""
    pieces = fit_loops(points, starts, corners, places, SKIPPED_POINTS, tolerance_px)
    crossed = crossing_loops(pieces)
    refitted = crossed.copy()
    for attempt in range(1, REFITS + 1):
        if not crossed.any():
            break
        tolerance_px /= 2
        if attempt == REFITS:  # the points themselves never cross
            is_kept = ~_in_loops(corners, starts, refitted)
            corners, places = corners[is_kept], places[is_kept]
            tolerance_px = 0.0
        closer = fit_loops(points, starts, corners, places, SKIPPED_POINTS, tolerance_px)
        pieces = _exchanged(pieces, closer, refitted)
        crossed = crossing_loops(pieces)
        refitted |= crossed
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
