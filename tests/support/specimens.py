"""One cupboard for the tests: a machine, a material, bits, boards, cuts, plain shapes and traces.

A test that needs another figure says so: ``replace(BASSWOOD, shows_depth_mm=0.5)``.
"""

from dataclasses import replace
from typing import Any

import numpy as np
from shapely.geometry import MultiPolygon, Polygon, box
from shapely.geometry.base import BaseGeometry

from workers.toolpaths.pace import Pace
from workers.values.cuts import ClearCut, CutoutCut, DrillCut, InciseCut
from workers.values.cutter import BallNose, Drill, EndMill, KeyholeCutter, VeeCutter
from workers.values.cutting_plan import CutPath
from workers.values.design import Board, Design, Hole
from workers.values.machine import Machine
from workers.values.material import Material
from workers.values.placement import LetteringLine
from workers.values.program import Motion, Trace
from workers.values.region import Region

MACHINE = Machine(
    name="test-bench",
    title="A bench router for tests",
    travel_x_mm=600,
    travel_y_mm=400,
    travel_z_mm=90,
    max_feed_mm_per_min=3000,
    max_plunge_mm_per_min=1000,
    traverse_mm_per_min=5000,
    traverse_z_mm_per_min=1500,
    acceleration_mm_per_s2=400,
    junction_deviation_mm=0.02,
    min_spindle_rpm=10000,
    max_spindle_rpm=30000,
    spindle_commanded=True,
    clearance_mm=5,
    spin_up_s=3,
)
BASSWOOD = Material(
    name="basswood",
    title="Basswood",
    family="hardwood",
    shows_depth_mm=0.3,
    thinnest_wall_mm=0.8,
    colour=(220, 200, 160),
    has_grain=True,
    cautions=(),
)
PACE = Pace(
    feed_mm_per_min=1500.0,
    plunge_mm_per_min=500.0,
    max_vertical_mm_per_min=1000.0,
    lift_worth_mm=15.0,
    depth_worth=4.0,
    air_worth=0.3,
)


def vee(
    angle_deg: float, tip_mm: float = 0.0, diameter_mm: float = 60.0, length_mm: float = 60.0
) -> VeeCutter:
    """A V-bit, unless told otherwise sharp and large enough for any shape of the tests."""
    return VeeCutter(
        name=f"vee-{angle_deg:g}",
        diameter_mm=diameter_mm,
        cutting_length_mm=length_mm,
        flutes_count=2,
        included_angle_deg=angle_deg,
        tip_mm=tip_mm,
    )


def mill(diameter_mm: float = 3.175, length_mm: float = 25.0, name: str = "flat-1/8in") -> EndMill:
    """An end mill."""
    return EndMill(name=name, diameter_mm=diameter_mm, cutting_length_mm=length_mm, flutes_count=2)


def ball(diameter_mm: float, length_mm: float = 30.0) -> BallNose:
    """A bit with a round end."""
    return BallNose(name="ball", diameter_mm=diameter_mm, cutting_length_mm=length_mm, flutes_count=2)


def drill(diameter_mm: float = 5.0, length_mm: float = 50.0) -> Drill:
    """A drill."""
    return Drill(name="drill-5mm", diameter_mm=diameter_mm, cutting_length_mm=length_mm, flutes_count=2)


def keyhole(length_mm: float = 12.7) -> KeyholeCutter:
    """A T-shaped bit: head 9.525 x 4.7625 mm, neck 4.7625 mm."""
    return KeyholeCutter(
        name="keyhole-3/8in",
        diameter_mm=9.525,
        cutting_length_mm=length_mm,
        flutes_count=2,
        shank_mm=6.35,
        stick_out_mm=25,
        head_mm=4.7625,
        neck_mm=4.7625,
    )


def region(*shapes: BaseGeometry) -> Region:
    """The ink of shapes that do not touch each other."""
    return Region(MultiPolygon([part for shape in shapes for part in getattr(shape, "geoms", [shape])]))


def disc(x_mm: float, y_mm: float, radius_mm: float, sides: int = 720) -> Polygon:
    """A circle of a known number of sides, its corners on the circle."""
    angles_rad = np.linspace(0, 2 * np.pi, sides, endpoint=False)
    return Polygon(
        np.column_stack([x_mm + radius_mm * np.cos(angles_rad), y_mm + radius_mm * np.sin(angles_rad)])
    )


def board(
    width_mm: float = 200.0,
    height_mm: float = 120.0,
    thickness_mm: float = 19.0,
    corner_radius_mm: float = 0.0,
    material: str = "basswood",
) -> Board:
    """A board, its corners square unless told otherwise."""
    return Board(
        width_mm=width_mm,
        height_mm=height_mm,
        thickness_mm=thickness_mm,
        material=material,
        corner_radius_mm=corner_radius_mm,
    )


def design(
    ink: Region,
    width_mm: float = 200.0,
    height_mm: float = 120.0,
    thickness_mm: float = 19.0,
    corner_radius_mm: float = 10.0,
    holes: tuple[Hole, ...] = (),
) -> Design:
    """A sign with this ink on a board with round corners."""
    radius_mm = corner_radius_mm
    outline = box(0, 0, width_mm, height_mm)
    if radius_mm:
        outline = box(radius_mm, radius_mm, width_mm - radius_mm, height_mm - radius_mm).buffer(
            radius_mm, quad_segs=32
        )
    blank = board(width_mm, height_mm, thickness_mm, corner_radius_mm)
    return Design(board=blank, outline=outline, ink=ink, holes=holes)


def lettering(text: str = "QUAY", **changes: Any) -> LetteringLine:
    """A line of letters 20 mm high from the origin on, with some of its members changed."""
    plain = LetteringLine(
        text=text,
        font="source-serif-bold",
        cap_height_mm=20.0,
        x_mm=0.0,
        y_mm=0.0,
        align="left",
        line_spacing_fraction=1.6,
        letter_spacing_mm=0.0,
        turn_deg=0.0,
    )
    return replace(plain, **changes)


def incise(angle_deg: float = 90.0, limit_mm: float = 2.5, tip_mm: float = 0.0) -> InciseCut:
    """An order to carve with a large V-bit."""
    return InciseCut(cutter=vee(angle_deg, tip_mm), depth_limit_mm=limit_mm)


def drilling(diameter_mm: float = 5.0) -> DrillCut:
    """An order to drill the holes."""
    return DrillCut(cutter=drill(diameter_mm))


def clearing(*mills: EndMill) -> ClearCut:
    """An order to clear floors, with an end mill of an eighth of an inch unless told otherwise."""
    return ClearCut(mills=mills or (mill(),))


def cutout(
    tabs_count: int = 4, width_mm: float = 6.0, height_mm: float = 2.0, past_mm: float = 0.3
) -> CutoutCut:
    """An order to cut the board free, bridges left."""
    return CutoutCut(
        cutter=mill(),
        past_mm=past_mm,
        tabs_count=tabs_count,
        tab_width_mm=width_mm,
        tab_height_mm=height_mm,
    )


def motions(
    *points_mm: tuple[float, float, float], feed_mm_per_min: float = 1.0, dwell_s: float = 0.0
) -> Trace:
    """Straight motions through points: feeds, or traverses at feed 0."""
    places_mm = np.array(points_mm, dtype=float)
    count = len(places_mm) - 1
    return Trace(
        starts_mm=places_mm[:-1],
        ends_mm=places_mm[1:],
        motions=np.full(count, Motion.FEED if feed_mm_per_min else Motion.TRAVERSE),
        feeds_mm_per_min=np.full(count, feed_mm_per_min),
        lines=np.arange(1, count + 1),
        spindle_rpm=np.ones(count),
        dwell_s=dwell_s,
    )


def plan_length_mm(paths: list[CutPath] | tuple[CutPath, ...]) -> float:
    """The way the bit cuts along, in space."""
    return sum(float(np.linalg.norm(np.diff(path.points_mm, axis=0), axis=1).sum()) for path in paths)
