"""Widths against a library's distance transform: ``python -m tests.benchmarks.width_witness``.

The drawings are those of tests.support.drawing_collection (Debian's ``openclipart-svg``, public domain), each
80 mm wide. The widths of strokes and of the paper between them are compared at every cell along their axes,
0.1 mm to the cell, as tests.support.distance_witness tells. Lines and gaps of ink finer than half a cell are
taken out of the drawings first, for no picture of pixels a quarter of a cell wide shows them. The axes must
have the parts and loops of the areas as well, counted by a general geometry library.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import shapely
from shapely.geometry import box

from tests.support.axis_topology import parts_and_gaps, parts_and_loops
from tests.support.distance_witness import pictured
from tests.support.drawing_collection import LICENCE, PACKAGE, drawings, fetched
from tests.support.markdown_tables import command_line, deliver, table, tell
from workers.errors import ConversionError
from workers.geometry.flattening import flatten
from workers.geometry.outline_diagram import ink_axis, outline_diagram, paper_axis
from workers.geometry.polygon_repair import on_grid, region_of
from workers.intake.svg_document import read_svg
from workers.values.region import Region

WIDTH_MM = 80.0
CELL_MM = 0.1
FINEST_MM = CELL_MM / 2  # of lines and gaps that are left in
TALLEST_MM = 160.0  # a picture taller than this takes too much memory
CACHE = Path.home() / ".cache" / "triglyph-benchmarks"


@dataclass(frozen=True)
class Agreement:
    """How far two ways to measure one drawing are apart, in cells."""

    name: str
    sides: int
    places: int
    worst: float
    rms: float
    parts_and_loops: tuple[int, int]  # of the ink's axis
    is_whole: bool  # the axes of ink and paper have the parts and loops of the areas

    def row(self) -> list[object]:
        """Return the cells of the table."""
        parts, loops = self.parts_and_loops
        figures = [self.name, self.sides, self.places, f"{self.worst:.2f}", f"{self.rms:.2f}"]
        return [*figures, f"{parts} / {loops}", "yes" if self.is_whole else "no"]


def drawn(path: Path) -> Region | None:
    """Return a drawing's ink at its width; None where there is nothing to measure, or it cannot be read."""
    try:
        ink = flatten(read_svg(path.read_bytes(), "/svg").outlines).ink.polygons
    except ConversionError:
        return None
    left, bottom, right, top = ink.bounds
    if ink.is_empty or (top - bottom) * WIDTH_MM > (right - left) * TALLEST_MM:
        return None
    placed = shapely.transform(ink, lambda xy: (xy - [left, bottom]) * (WIDTH_MM / (right - left)))
    for reach_mm in (-FINEST_MM / 2, FINEST_MM / 2):  # without lines, then without gaps
        placed = placed.buffer(reach_mm, join_style="mitre").buffer(-reach_mm, join_style="mitre")
    region = on_grid(placed)
    return None if region.polygons.is_empty else region


def agreement(name: str, ink: Region) -> Agreement:
    """Return how well the axes of ink and paper agree with the transform."""
    picture = pictured(ink, CELL_MM)
    strokes = picture.widths_off_cells(ink_axis(ink), in_ink=True)
    walls = picture.widths_off_cells(paper_axis(ink), in_ink=False)
    off = np.concatenate([strokes, walls])
    paper = region_of(outline_diagram(ink).voronoi.area_mm)
    inked = region_of(shapely.difference(box(*paper.polygons.bounds), paper.polygons))
    found = [parts_and_loops(axis) for axis in (ink_axis(ink), paper_axis(ink))]
    is_whole = found == [parts_and_gaps(inked), parts_and_gaps(paper)]
    sides = int(shapely.get_num_coordinates(ink.polygons))
    worst, rms = float(np.abs(off).max()), float(np.sqrt((off**2).mean()))
    return Agreement(name, sides, len(off), worst, rms, found[0], is_whole)


def agreements(tree: Path, count: int) -> Iterator[Agreement]:
    """Yield the agreement of the first so many drawings that can be read."""
    for path in drawings(tree):
        if not count:
            return
        ink = drawn(path)
        if ink is not None:
            count -= 1
            yield agreement(path.relative_to(tree).as_posix(), ink)


def main(arguments: Sequence[str] | None = None) -> None:
    """Measure and print."""
    parser = command_line(str(__doc__).splitlines()[0])
    parser.add_argument("--count", type=int, default=50, help="how many drawings (50)")
    parser.add_argument("--cache", type=Path, default=CACHE, help="where the package is kept")
    asked = parser.parse_args(arguments)
    found = []
    for one in agreements(fetched(asked.cache), asked.count):
        found.append(one)
        tell(f"{one.name}: worst {one.worst:.2f}, rms {one.rms:.2f} cells at {one.places} places")
    within, whole = sum(one.worst < 1 for one in found), sum(one.is_whole for one in found)
    head = (
        f"{len(found)} drawings of {PACKAGE} ({LICENCE}), {WIDTH_MM:g} mm wide, cells of {CELL_MM:g} mm: "
        f"in {within} all widths agree within one cell, in {whole} the axes are whole.\n\n"
    )
    headings = (
        *("drawing", "sides", "places compared", "worst, cells", "rms, cells"),
        *("parts / loops of the ink's axis", "whole"),
    )
    deliver("Widths", head + table(headings, [one.row() for one in found]), asked.out)


if __name__ == "__main__":
    main()
