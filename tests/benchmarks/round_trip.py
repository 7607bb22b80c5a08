"""Vector to picture to vector, on an open collection: ``python -m tests.benchmarks.round_trip``.

The drawings are those of tests.support.drawing_collection (Debian's ``openclipart-svg``, public domain). Each
is read by the service's own reader and laid into a square of 120 mm; parts and holes that this project calls
specks at that size (below 12 px2) are left out of the truth first. tests.support.exact_coverage computes how
much of each pixel is ink, 10 px to the mm, and the tracer traces that picture.

A drawing is *resolved* where a disc of 1.5 px across can be led all over its ink and its paper: opening
and closing it with that disc changes no count and takes away nothing longer than the tip of an acute corner.
Others hang on lines or gaps that no picture at this scale shows, and have a row of their own.
"""

from __future__ import annotations

import statistics
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import MultiPolygon, Polygon

from tests.support.drawing_collection import LICENCE, PACKAGE, drawings, fetched
from tests.support.exact_coverage import covered
from tests.support.markdown_tables import command_line, deliver, table, tell
from tests.support.outline_distance import boundary_distances, overlap, parts_and_holes
from workers.errors import ConversionError
from workers.geometry.flattening import flatten
from workers.intake.svg_document import read_svg
from workers.tracing.edge_tracer import trace_with_record
from workers.values.image import InkCoverage

PX_PER_MM = 10.0
LONGEST_PX = 1200.0
MARGIN_PX = 10.0
TOLERANCE_MM = 0.02
SPECK_PX2 = 12.0
MOST_PARTS = 400
FINEST_PX = 1.5
TIP_PX = 6.0  # the disc stays this far off the tip of a corner of 14 degrees
STEP_PX = 0.5
LEAST_IOU, MOST_P99_PX = 0.99, 0.5  # what falls short is listed
CACHE = Path.home() / ".cache" / "triglyph-benchmarks"


@dataclass(frozen=True)
class Trip:
    """How one drawing came back."""

    name: str
    is_resolved: bool
    iou: float
    p99_px: float
    worst_px: float
    truth: tuple[int, int]  # parts, holes
    traced: tuple[int, int]
    pieces_count: int
    trace_s: float

    @property
    def has_same_counts(self) -> bool:
        """Whether no part and no hole was lost, won, split or merged."""
        return self.truth == self.traced

    @property
    def fails(self) -> bool:
        """Whether it is listed."""
        return not self.has_same_counts or self.iou < LEAST_IOU or self.p99_px > MOST_P99_PX


def drawn(path: Path) -> MultiPolygon | None:
    """Return a drawing's ink in px, row down, without specks; None if it is empty, crowded or unreadable."""
    try:
        ink = flatten(read_svg(path.read_bytes(), "/svg").outlines, 0.01).ink.polygons
    except ConversionError:
        return None
    left, bottom, right, top = ink.bounds
    longest = max(right - left, top - bottom)
    if not longest > 0:
        return None
    scale = (LONGEST_PX - 2 * MARGIN_PX) / longest
    placed = shapely.transform(ink, lambda xy: np.array([1, -1]) * (xy - [left, top]) * scale + MARGIN_PX)
    parts = [_without_pinholes(part) for part in placed.geoms if part.area >= SPECK_PX2]
    return MultiPolygon(parts) if 0 < len(parts) <= MOST_PARTS else None


def _without_pinholes(part: Polygon) -> Polygon:
    return Polygon(part.exterior, [hole for hole in part.interiors if Polygon(hole).area >= SPECK_PX2])


def is_resolved(ink: MultiPolygon) -> bool:
    """Return whether nothing hangs on a line or a gap finer than FINEST_PX."""
    opened = _as_parts(ink.buffer(-FINEST_PX / 2).buffer(FINEST_PX / 2))
    closed = _as_parts(ink.buffer(FINEST_PX / 2).buffer(-FINEST_PX / 2))
    if not parts_and_holes(opened) == parts_and_holes(ink) == parts_and_holes(closed):
        return False
    return ink.difference(opened.buffer(TIP_PX)).is_empty and closed.buffer(-TIP_PX).difference(ink).is_empty


def _as_parts(area: shapely.Geometry) -> MultiPolygon:
    return MultiPolygon([part for part in shapely.get_parts(area) if isinstance(part, Polygon)])


def picture(ink: MultiPolygon) -> NDArray[np.uint8]:
    """Return the share of paper in each pixel, 0 to 255."""
    rings = [shapely.get_coordinates(ring)[:-1] for ring in shapely.get_rings(shapely.get_parts(ink))]
    _, _, right, bottom = ink.bounds
    return covered(rings, int(bottom + MARGIN_PX), int(right + MARGIN_PX))


def trip(name: str, ink: MultiPolygon) -> Trip:
    """Draw, trace and compare."""
    pixels = picture(ink)
    before_s = time.perf_counter()
    try:
        outlines, record = trace_with_record(
            InkCoverage(pixels=pixels, mm_per_px=1 / PX_PER_MM), TOLERANCE_MM
        )
    except ConversionError:  # lines so fine that no pixel is half ink
        far = float("inf")
        return Trip(name, is_resolved(ink), 0.0, far, far, parts_and_holes(ink), (0, 0), 0, 0.0)
    trace_s = time.perf_counter() - before_s
    rows = len(pixels)
    back = shapely.transform(
        flatten(outlines, 0.001).ink.polygons,
        lambda xy: np.stack([xy[:, 0] * PX_PER_MM, rows - xy[:, 1] * PX_PER_MM], axis=1),
    )
    distances = boundary_distances(back, ink, STEP_PX)
    return Trip(
        name,
        is_resolved=is_resolved(ink),
        iou=overlap(back, ink),
        p99_px=float(np.quantile(distances, 0.99)),
        worst_px=float(distances.max()),
        truth=parts_and_holes(ink),
        traced=parts_and_holes(back),
        pieces_count=record.pieces_count,
        trace_s=trace_s,
    )


def trips(tree: Path, resolved: int) -> Iterator[Trip]:
    """Yield trips until so many of them were of resolved drawings."""
    for path in drawings(tree):
        if resolved == 0:
            return
        ink = drawn(path)
        if ink is not None:
            done = trip(path.relative_to(tree).as_posix(), ink)
            resolved -= done.is_resolved
            yield done


def _summary(title: str, found: Sequence[Trip]) -> list[object]:
    if not found:
        return [title, 0]
    overlaps, distances = [one.iou for one in found], [one.p99_px for one in found]
    return [
        title,
        len(found),
        f"{statistics.median(overlaps):.5f}",
        f"{min(overlaps):.4f}",
        f"{statistics.median(distances):.3f}",
        f"{max(distances):.2f}",
        f"{max(one.worst_px for one in found):.2f}",
        f"{sum(one.has_same_counts for one in found)} of {len(found)}",
        statistics.median(one.pieces_count for one in found),
    ]


def report(found: Sequence[Trip]) -> str:
    """Return the tables."""
    groups = [
        ("all", found),
        ("resolved", [t for t in found if t.is_resolved]),
        (f"with lines or gaps finer than {FINEST_PX} px", [t for t in found if not t.is_resolved]),
    ]
    headings = (
        "drawings", "count", "IoU, median", "worst", "99th percentile distance px, median", "worst",
        "largest distance px", "same parts and holes", "pieces, median",
    )  # fmt: skip
    text = table(headings, [_summary(title, group) for title, group in groups if group])
    failures = [
        [
            *(t.name, f"{t.iou:.4f}", f"{t.p99_px:.2f}", f"{t.worst_px:.2f}"),
            *(f"{t.truth[0]} / {t.truth[1]}", f"{t.traced[0]} / {t.traced[1]}"),
        ]
        for t in found
        if t.is_resolved and t.fails
    ]
    listed = ("drawing", "IoU", "p99 px", "worst px", "parts / holes drawn", "traced")
    why = f"\nResolved, yet below an overlap of {LEAST_IOU}, over {MOST_P99_PX} px, or with other counts:\n\n"
    return text + (why + table(listed, failures) if failures else "\nNo resolved drawing fell short.\n")


def main(arguments: Sequence[str] | None = None) -> None:
    """Measure and print."""
    parser = command_line(str(__doc__).splitlines()[0])
    parser.add_argument("--count", type=int, default=200, help="how many resolved drawings (200)")
    parser.add_argument("--cache", type=Path, default=CACHE, help="where the package is kept")
    asked = parser.parse_args(arguments)
    found = []
    for one in trips(fetched(asked.cache), asked.count):
        found.append(one)
        tell(f"{one.name}: {one.iou:.5f} {one.p99_px:.3f} px {one.trace_s:.2f} s")
    head = f"{len(found)} drawings of {PACKAGE} ({LICENCE}), {PX_PER_MM:g} px to the mm, "
    deliver("Round trip", head + f"tolerance {TOLERANCE_MM} mm.\n\n" + report(found), asked.out)


if __name__ == "__main__":
    main()
