"""Whole plans, proven: ``python -m tests.benchmarks.path_scores [--open 100]``.

The drawings are those of the development data beside the checkout, or else the three of tests/support;
``--open N`` takes N of tests.support.drawing_collection instead. Each is laid on a board of its own, its
longer side 240 mm, repaired for a 60 degree bit (tip 0.1 mm, 4 mm deep at most), its floors cleared by an end
mill of 1/8 in, and cut free with four tabs; then planned, written, read back and cut in simulation.

*Feed floor*: the minutes the V-bit needs for every chain of the ink's medial axis and every wall of a floor
once, and for what the end mill cannot reach as area over the V-bit's step, at full feed and for nothing else;
out of the drawing and the bits, whatever was planned (``tests.benchmarks.feed_floor``).
*At feed*: all its minutes over these on a machine that is at any speed at once: what ways run twice, slopes,
lifts and air cost; *in all*: on the machine as it is, corners and all.
*Machine floor*: the least for the same chains, walls and rests on this machine, with its acceleration, its z
axis, the drawing's own bends and a turn at the end of each stroke over a rest; *left*: in all over it.
*Air*: the way over the work between the V-bit's paths, beside what going on to the nearest end comes to.
"""

from __future__ import annotations

import json
import math
import statistics
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import box

from tests.benchmarks.feed_floor import FeedFloor, feed_floor
from tests.support.development_data import DATA
from tests.support.drawing_collection import LICENCE, PACKAGE, drawings, fetched
from tests.support.markdown_tables import command_line, deliver, table, tell
from workers.cutting_data import tables
from workers.dialects.programs import write_programs
from workers.errors import ConversionError
from workers.geometry.flattening import flatten
from workers.geometry.polygon_repair import region_of
from workers.intake.svg_document import read_svg
from workers.interpretation.interpreter import read_program
from workers.registry import offers
from workers.resolvability.repair import repair
from workers.simulation.duration import duration_s
from workers.toolpaths.plan import plan
from workers.values.cuts import ClearCut, CutoutCut, InciseCut
from workers.values.cutter import EndMill, VeeCutter
from workers.values.cutting_plan import CutPath, Operation, OperationKind
from workers.values.design import Board, Design
from workers.values.finding import Severity
from workers.values.machine import Machine
from workers.values.proof import Deviation
from workers.values.region import Region
from workers.verification.verify import verify

Floats = NDArray[np.float64]

OWN = Path(__file__).parents[1] / "support" / "drawings"
CACHE = Path.home() / ".cache" / "triglyph-benchmarks"
LONGEST_MM, MARGIN_MM = 240.0, 15.0
MOST_PARTS = 400
DEPTH_LIMIT_MM = 4.0
DIALECTS = ("metric-lines", "metric-arcs")
COLUMNS = (
    "drawing", "parts", "lifts", "V-bit min", "feed floor", "at feed", "in all", "machine floor", "left",
    "air m", "nearest",
    "all min", "overcut mm", "sideways", "undercut p99.9", "missed mm2", "lines", "kB", "with arcs", "kB",
    "proof",
)  # fmt: skip


@dataclass(frozen=True)
class Score:
    """What came of one drawing."""

    name: str
    parts_count: int
    lifts_count: int
    vee_min: float
    floor: FeedFloor
    at_feed_min: float
    air_mm: float
    nearest_mm: float
    all_min: float
    overcut_mm: float  # in depth
    sideways_mm: float  # the same, off the outline
    undercut_mm: float
    missed_mm2: float
    lines_counts: tuple[int, ...]
    bytes_counts: tuple[int, ...]
    errors: tuple[str, ...]

    def row(self) -> list[object]:
        """Return the cells of the table."""
        sizes = [
            cell
            for lines, size in zip(self.lines_counts, self.bytes_counts, strict=True)
            for cell in (lines, f"{size / 1000:.0f}")
        ]
        return [
            *(self.name, self.parts_count, self.lifts_count, f"{self.vee_min:.2f}"),
            f"{self.floor.at_feed_min:.2f}",
            *(
                f"{self.at_feed_min / self.floor.at_feed_min:.2f}",
                f"{self.vee_min / self.floor.at_feed_min:.2f}",
                f"{self.floor.on_machine_min:.2f}",
                f"{self.vee_min / self.floor.on_machine_min:.2f}",
                f"{self.air_mm / 1000:.2f}",
                f"{self.nearest_mm / 1000:.2f}",
            ),
            *(
                f"{self.all_min:.1f}",
                f"{self.overcut_mm:.4f}",
                f"{self.sideways_mm:.4f}",
                f"{self.undercut_mm:.4f}",
                f"{self.missed_mm2:.3f}",
            ),
            *(*sizes, ", ".join(self.errors) or "passes"),
        ]


def drawn_designs(count: int, cache: Path) -> Iterator[tuple[str, Design]]:
    """Yield designs of the development data, or so many of the open collection."""
    if not count:
        for name, ink in _own_drawings():
            yield name, laid_out(ink)
        return
    tree = fetched(cache)
    for path in drawings(tree):
        try:
            ink = flatten(read_svg(path.read_bytes(), "/svg").outlines, 0.01).ink
        except ConversionError:
            continue
        if 0 < len(ink.polygons.geoms) <= MOST_PARTS:
            yield path.relative_to(tree).as_posix(), laid_out(ink)
            count -= 1
        if not count:
            return


def _own_drawings() -> Iterator[tuple[str, Region]]:
    for path in sorted((DATA / "drawings").glob("*.svg")):
        yield path.stem, flatten(read_svg(path.read_bytes(), "/svg").outlines).ink
    if not (DATA / "drawings").exists():
        for path in sorted(OWN.glob("*.truth.json")):
            yield path.name.removesuffix(".truth.json"), drawn(path)


def drawn(path: Path) -> Region:
    """Return the ink of a drawing's record, y up."""
    rings = json.loads(path.read_text())["polygons"]
    ink = shapely.union_all([shapely.Polygon(ring[0], ring[1:]) for ring in rings])
    return region_of(shapely.transform(ink, lambda xy: xy * [1.0, -1.0]))


def laid_out(ink: Region) -> Design:
    left, bottom, right, top = ink.polygons.bounds
    scale = LONGEST_MM / max(right - left, top - bottom)
    placed = shapely.transform(ink.polygons, lambda xy: (xy - [left, bottom]) * scale + MARGIN_MM)
    width_mm, height_mm = (scale * side + 2 * MARGIN_MM for side in (right - left, top - bottom))
    board = Board(
        width_mm=width_mm, height_mm=height_mm, thickness_mm=19.0, material="basswood", corner_radius_mm=0.0
    )
    return Design(board=board, outline=box(0, 0, width_mm, height_mm), ink=region_of(placed), holes=())


def scored(name: str, design: Design) -> Score:
    """Repair, plan, write and prove one design."""
    vee, mill = tables.BITS["vee-60"], tables.BITS["flat-1/8in"]
    assert isinstance(vee, VeeCutter)
    assert isinstance(mill, EndMill)
    machine, material = tables.MACHINES["bench-600"], tables.MATERIALS["basswood"]
    cut = InciseCut(cutter=vee, depth_limit_mm=DEPTH_LIMIT_MM)
    free = CutoutCut(cutter=mill, past_mm=0.3, tabs_count=4, tab_width_mm=6.0, tab_height_mm=2.0)
    ink = repair(design.ink, cut, material).region
    design = Design(board=design.board, outline=design.outline, ink=ink, holes=())
    made = plan(design, cut, ClearCut(mills=(mill,)), free, None, material, machine).plan
    written = [write_programs(made, machine, offers.dialect(dialect, "")) for dialect in _dialects()]
    proofs = [verify(programs, design.board, machine, design, cut, free).proof for programs in written]
    proof = proofs[-1]
    incised = next(work for work in made.operations if work.kind is OperationKind.INCISE)
    number = made.operations.index(incised)
    over, under = proof.overcut, proof.undercut
    assert isinstance(over, Deviation)
    assert isinstance(under, Deviation)
    return Score(
        name=name,
        parts_count=len(ink.polygons.geoms),
        lifts_count=len(incised.paths),
        vee_min=(proof.programs[number].seconds_s - machine.spin_up_s) / 60,
        floor=feed_floor(ink, vee, mill, DEPTH_LIMIT_MM, _feed_mm_per_min(incised), machine),
        at_feed_min=_at_feed_min(written[-1][number].text, machine),
        air_mm=_air_mm(incised.paths),
        nearest_mm=_nearest_air_mm(incised.paths),
        all_min=proof.seconds_s / 60,
        overcut_mm=over.max_mm,
        sideways_mm=over.max_mm * math.tan(math.radians(vee.included_angle_deg) / 2),
        undercut_mm=under.p999_mm,
        missed_mm2=under.area_mm2,
        lines_counts=tuple(sum(one.text.count("\n") for one in programs) for programs in written),
        bytes_counts=tuple(sum(len(one.text) for one in programs) for programs in written),
        errors=tuple(
            sorted(
                {found.code for one in proofs for found in one.findings if found.severity is Severity.ERROR}
            )
        ),
    )


def _dialects() -> list[str]:
    return [name for name in DIALECTS if name in offers.found(offers.DIALECTS).accepted]


def _at_feed_min(text: str, machine: Machine) -> float:
    """Return the minutes of a program on a machine that is at any speed at once."""
    quick = replace(machine, acceleration_mm_per_s2=1e9)
    return (duration_s(read_program(text, "a program"), quick) - machine.spin_up_s) / 60


def _feed_mm_per_min(operation: Operation) -> float:
    return max(float(path.feeds_mm_per_min.max()) for path in operation.paths)


def _air_mm(paths: Sequence[CutPath]) -> float:
    here_mm, way_mm = np.zeros(2), 0.0
    for path in paths:
        way_mm += float(np.linalg.norm(path.points_mm[0, :2] - here_mm))
        here_mm = path.points_mm[-1, :2]
    return way_mm + float(np.linalg.norm(here_mm))


def _nearest_air_mm(paths: Sequence[CutPath]) -> float:
    """Return the way that always goes on to the nearest end of a path not yet cut, and home at last."""
    ends_mm = np.array([[path.points_mm[0, :2], path.points_mm[-1, :2]] for path in paths])
    left = np.ones(len(paths), np.bool_)
    here_mm, way_mm = np.zeros(2), 0.0
    for _ in paths:
        apart_mm = np.where(left[:, None], np.linalg.norm(ends_mm - here_mm, axis=2), np.inf)
        path, end = np.unravel_index(int(np.argmin(apart_mm)), apart_mm.shape)
        way_mm += float(apart_mm[path, end])
        here_mm, left[path] = ends_mm[path, 1 - end], False
    return way_mm + float(np.linalg.norm(here_mm))


def report(scores: Sequence[Score]) -> str:
    """Return the table and its summary."""
    at_feed = [score.at_feed_min / score.floor.at_feed_min for score in scores]
    ratios = [score.vee_min / score.floor.at_feed_min for score in scores]
    left = [score.vee_min / score.floor.on_machine_min for score in scores]
    air = sum(score.air_mm for score in scores) / max(sum(score.nearest_mm for score in scores), 1e-9)
    lines = [
        f"At feed over the feed floor: median {statistics.median(at_feed):.3f}, most {max(at_feed):.3f}.",
        f"In all over the feed floor: median {statistics.median(ratios):.3f}, most {max(ratios):.3f}.",
        f"In all over the machine floor: median {statistics.median(left):.3f}, most {max(left):.3f}.",
        f"Air over nearest neighbour's: {air:.3f}.",
        f"Largest overcut in depth {max(score.overcut_mm for score in scores):.4f} mm.",
        f"Largest overcut sideways {max(score.sideways_mm for score in scores):.4f} mm.",
        f"Largest undercut p99.9 {max(score.undercut_mm for score in scores):.4f} mm.",
        f"Proofs passed: {sum(not score.errors for score in scores)} of {len(scores)}.",
    ]
    if len(scores[0].bytes_counts) > 1:
        sizes, counts = (
            [statistics.median(pair[1] / pair[0] for pair in pairs)]
            for pairs in (
                [score.bytes_counts for score in scores],
                [score.lines_counts for score in scores],
            )
        )
        lines.append(f"With arcs, of the bytes without: {sizes[0]:.2f}; of the lines: {counts[0]:.2f}.")
    return table(COLUMNS, [score.row() for score in scores]) + "\n" + "\n".join(lines) + "\n"


def main(arguments: Sequence[str] | None = None) -> None:
    """Measure and print."""
    parser = command_line(str(__doc__).splitlines()[0])
    parser.add_argument("--open", type=int, default=0, metavar="N", help="N drawings of the open collection")
    parser.add_argument("--cache", type=Path, default=CACHE, help="where that collection is kept")
    asked = parser.parse_args(arguments)
    scores = []
    for name, design in drawn_designs(asked.open, asked.cache):
        try:
            scores.append(scored(name, design))
        except ConversionError as error:
            tell(f"{name}: refused: {error}")
            continue
        tell(" ".join(str(cell) for cell in scores[-1].row()))
    head = f"{len(scores)} drawings" + (f" of {PACKAGE} ({LICENCE})" if asked.open else "") + ".\n\n"
    deliver("Paths", head + report(scores), asked.out)


if __name__ == "__main__":
    main()
