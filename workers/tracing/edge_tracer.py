"""Our tracer: follows the ink's edge between pixels, corners sharp, curves smooth."""

from __future__ import annotations

import math
from dataclasses import asdict, dataclass

import numpy as np
from numpy.typing import NDArray

from workers.errors import NoDrawingFoundError
from workers.tracing.corners import sharp_corners, skipped_points
from workers.tracing.crossings import crossing_pieces
from workers.tracing.curve_fitting import Pieces, fit_loops
from workers.tracing.edge_points import EdgeLoops, edge_loops
from workers.tracing.specks import least_drawn_px2
from workers.tracing.stations import noise_px
from workers.tracing.to_millimetres import to_millimetres
from workers.values.image import InkCoverage
from workers.values.outlines import Outlines, Traced
from workers.values.progress import Reporter, silent

Points = NDArray[np.float64]
Indices = NDArray[np.int32]

HARD_NOISE_PX = 0.1  # what its steps leave of the edge's shape, once evened out
HARD_TOLERANCE_PX = 0.31  # a picture without greys knows its edge no better
LEFT_OF_NOISE = 2.0  # times the noise: how far evening out leaves the edge astray, nearly everywhere
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
    pieces, refitted = _fit_without_crossings(loops, (corners, places), skipped, tolerance_px, noise)
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
    if pixels.size and pixels.min() < 128 <= pixels.max():
        if len(edge.points):
            return
        raise NoDrawingFoundError(
            f"only specks were found, {edge.ink_specks} of them, none as large as a dot of a pen",
            field="/inputs/image",
            remedy="Send a picture with a drawing on it, or state its scale.",
        )
    found = "ink all over" if pixels.size and pixels.max() < 128 else "blank"
    raise NoDrawingFoundError(
        f"the picture is {found}: there is no edge between ink and paper to follow",
        field="/inputs/image",
        remedy="Send a picture with dark ink on light paper.",
    )


def _fit_without_crossings(
    loops: tuple[Points, Indices],
    corners: tuple[Indices, Points],
    skipped: int,
    tolerance_px: float,
    noise: float,
) -> tuple[Pieces, int]:
    """Fit curves; loops that come to cross are fitted more closely to their points, at last left as them."""
    pieces = fit_loops(*loops, *corners, skipped, tolerance_px, noise)
    crossed = crossing_pieces(pieces.controls, pieces.starts)
    refitted = np.zeros(len(pieces.starts) - 1, np.bool_)
    attempt = 0
    while crossed.any():
        crossed_loops = _loops_with(crossed, pieces.starts)
        if attempt >= REFITS and not (crossed_loops & ~refitted).any():
            break
        attempt += 1
        refitted |= crossed_loops
        tolerance_px = tolerance_px / 2 if attempt < REFITS else 0.0  # the points themselves never cross
        is_kept = ~_at_ends(corners[1], pieces.controls[crossed])
        if attempt >= REFITS:
            is_kept &= ~refitted[np.searchsorted(loops[1], corners[0], side="right") - 1]
        corners = (corners[0][is_kept], corners[1][is_kept])
        pieces = _exchanged(pieces, fit_loops(*loops, *corners, skipped, tolerance_px), refitted)
        crossed = crossing_pieces(pieces.controls, pieces.starts)
    return pieces, int(refitted.sum())


def _loops_with(crossed: NDArray[np.bool_], starts: Indices) -> NDArray[np.bool_]:
    """Return for each loop whether one of its pieces is crossed."""
    found: NDArray[np.bool_] = np.logical_or.reduceat(crossed, starts[:-1])
    return found


def _at_ends(places: Points, controls: Points) -> NDArray[np.bool_]:
    """Return for each corner whether one of some pieces ends there."""
    ends = controls[:, [0, 3]].reshape(-1, 1, 2)
    found: NDArray[np.bool_] = (ends == places).all(axis=2).any(axis=0)
    return found


def _exchanged(pieces: Pieces, others: Pieces, chosen: NDArray[np.bool_]) -> Pieces:
    """Return the pieces with the chosen loops taken from the others."""
    loops = []
    for loop, is_chosen in enumerate(chosen):
        source = others if is_chosen else pieces
        loops.append(source.controls[source.starts[loop] : source.starts[loop + 1]])
    starts = np.cumsum([0, *(len(loop) for loop in loops)]).astype(np.int32)
    return Pieces(np.concatenate(loops), starts)
