"""Shapes whose V-carving is known in closed form, with the figures.

Source: the integral of the distance to the outline over elementary shapes (trade.md 3.3 and 3.4, V-20 to
V-45), worked there by hand and checked by 2-D quadrature and by the areas of polygon insets:
volume = 1/k times the integral of Area(inset by r) for r up to k D; floor = Area(inset by k D), with
k = tan(angle / 2) and D the depth limit. The bit is sharp.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import shapely
from shapely import affinity
from shapely.geometry import Point, Polygon, box
from shapely.geometry.base import BaseGeometry


@dataclass(frozen=True, slots=True)
class ClosedForm:
    """A shape, a bit's angle and what the V-carving comes to; no figures at a limit where none are known."""

    row: str  # of the table
    title: str
    shape: BaseGeometry
    angle_deg: float
    inscribed_mm: float  # radius of the largest circle inside
    deepest_mm: float
    volume_mm3: float  # without a depth limit
    limit_mm: float = math.nan
    limited_mm3: float = math.nan
    floor_mm2: float = math.nan

    @property
    def slope(self) -> float:
        """How much wider the bit is on one side for each unit of depth."""
        return math.tan(math.radians(self.angle_deg / 2))

    @property
    def on_board(self) -> BaseGeometry:
        """The shape with the lower left corner of its box at (10, 10)."""
        left_mm, bottom_mm, _, _ = self.shape.bounds
        return affinity.translate(self.shape, 10 - left_mm, 10 - bottom_mm)

    def __str__(self) -> str:
        return f"{self.row} {self.title}"


def polygon_about(apothem_mm: float, sides: int) -> Polygon:
    """A regular polygon round an inscribed circle."""
    radius_mm = apothem_mm / math.cos(math.pi / sides)
    angles = [2 * math.pi * (corner + 0.5) / sides for corner in range(sides)]
    return Polygon([(radius_mm * math.cos(angle), radius_mm * math.sin(angle)) for angle in angles])


def _disc(radius_mm: float) -> Polygon:
    """A circle as 1440 chords that hold its true area."""
    share = math.pi / 720
    return Point(0, 0).buffer(radius_mm * math.sqrt(share / math.sin(share)), quad_segs=360)


RECTANGLE = box(0, 0, 60, 20)
SQUARE = box(0, 0, 40, 40)
ANNULUS = _disc(30).difference(_disc(20))
L_SHAPE = Polygon([(0, 0), (60, 0), (60, 12), (12, 12), (12, 40), (0, 40)])
RIGHT_TRIANGLE = Polygon([(0, 0), (40, 0), (0, 30)])
WEDGE = Polygon([(0, 0), (60, 0), (30, 12)])
SLOT = box(-37, -3, 37, 3).union(Point(-37, 0).buffer(3, 360)).union(Point(37, 0).buffer(3, 360))
CROSS = shapely.union(box(-30, -6, 30, 6), box(-6, -30, 6, 30))
T_SHAPE = shapely.union(box(-30, 0, 30, 12), box(-6, -30, 6, 0))
HALF_DISC = _disc(20).intersection(box(-30, 0, 30, 30))
STROKE = box(0, 0, 100, 3)
FRAME = box(0, 0, 60, 60).difference(box(10, 10, 50, 50))
ELLIPSE = affinity.scale(_disc(1), 30, 12)
_L_INCHES = Polygon([(0, 0), (3, 0), (3, 0.5), (0.5, 0.5), (0.5, 2), (0, 2)])

# row, title, shape, angle; inscribed circle, deepest, volume without a limit; limit, volume and floor at it
_TABLE = [
    ("V-20", "rectangle", RECTANGLE, 60, 10.0, 17.320508, 9237.604307, 6, 5633.231225, 693.743742),
    ("V-21", "square", SQUARE, 90, 20.0, 20.0, 10666.666667, 8, 8362.666667, 576.0),
    ("V-22", "circle", _disc(10), 60, 10.0, 17.320508, 1813.799364, 5, 1160.979717, 158.959268),
    ("V-23", "triangle", polygon_about(8, 3), 90, 8.0, 8.0, 886.810013, 4, 775.958762, 83.138439),
    ("V-24", "hexagon", polygon_about(10, 6), 60, 10.0, 17.320508, 2000.0, 10, 1849.001795, 61.880215),
    ("V-25", "annulus", ANNULUS, 60, 5.0, 8.660254, 6801.747616, 4, 4832.145816, 845.276581),
    ("V-26", "L", L_SHAPE, 60, 7.029437, 12.175342, 5268.697611, 5, 3895.160464, 513.771413),
    ("V-27", "right triangle", RIGHT_TRIANGLE, 90, 10.0, 10.0, 2000.0, 4, 1568.0, 216.0),
    ("V-28", "wedge", WEDGE, 60, 5.777472, 10.006875, 1200.825027, 3, 788.578099, 176.503897),
    ("V-29", "slot", SLOT, 60, 3.0, 5.196152, 1202.518421, 2, 754.679923, 283.801852),
    ("V-30", "cross", CROSS, 90, 8.485281, 8.485281, 3829.129099, 4, 3367.646023, 413.734518),
    ("V-31", "T", T_SHAPE, 60, 7.5, 12.990381, 5428.085452, 6, 4466.270700, 426.473715),
    ("V-32", "half disc", HALF_DISC, 90, 10.0, 10.0, 2411.012427, 5, 2008.275834, 206.255191),
    ("V-33", "pentagon", polygon_about(12, 5), 120, 12.0, 6.928203, 1208.072229, 3, 987.874473, 168.166775),
    ("V-34", "stroke", STROKE, 30, 1.5, 5.598076, 831.314317, 4, 764.546389, 83.804859),
    ("V-35", "square frame", FRAME, 90, 5.857864, 5.857864, 5041.398111),
    ("V-36", "ellipse", ELLIPSE, 90, 12.0, 12.0, 5540.627782),
]
FORMS = {row[0]: ClosedForm(*row) for row in _TABLE}

MM_PER_INCH = 25.4


def _inches(shape: BaseGeometry) -> BaseGeometry:
    """A shape given in inches, in mm."""
    return affinity.scale(shape, MM_PER_INCH, MM_PER_INCH, origin=(0, 0))


# row, title, shape, angle; inscribed circle in, deepest in, volume in3; limit in, volume in3, floor in2 at it
_INCH_TABLE = [
    ("V-40", "rectangle", box(0, 0, 2, 0.5), 60, 0.25, 0.433013, 0.198464, 0.25, 0.166733, 0.361645),
    ("V-41", "stroke", box(0, 0, 4, 0.125), 90, 0.0625, 0.0625, 0.015462, 0.25, 0.015462, 0.0),
    ("V-42", "circle", _disc(0.5), 90, 0.5, 0.5, 0.130900, 0.25, 0.114537, 0.196350),
    ("V-43", "L", _L_INCHES, 60, 0.292893, 0.507306, 0.471338, 0.25, 0.389395, 0.894429),
    (
        "V-44",
        "annulus",
        _disc(1.25).difference(_disc(1)),
        60,
        0.125,
        0.216506,
        0.191299,
        0.1,
        0.135904,
        0.950936,
    ),
    ("V-45", "triangle", polygon_about(0.25, 3), 60, 0.25, 0.433013, 0.046875, 0.25, 0.043336, 0.058013),
]
INCH_FORMS = {
    row: ClosedForm(
        row,
        title,
        _inches(shape),
        angle_deg,
        inscribed * MM_PER_INCH,
        deepest * MM_PER_INCH,
        volume * MM_PER_INCH**3,
        limit * MM_PER_INCH,
        limited * MM_PER_INCH**3,
        floor * MM_PER_INCH**2,
    )
    for row, title, shape, angle_deg, inscribed, deepest, volume, limit, limited, floor in _INCH_TABLE
}

# The first table again as trade.md prints it in inches: volume in3; volume in3 and floor in2 at the limit
IN_INCHES = {
    "V-20": (0.56371320, 0.34376086, 1.07530495),
    "V-21": (0.65091994, 0.51032123, 0.89280179),
    "V-22": (0.11068483, 0.07084733, 0.24638736),
    "V-23": (0.05411647, 0.04735191, 0.12886484),
    "V-24": (0.12204749, 0.11283301, 0.09591453),
    "V-25": (0.41506811, 0.29487563, 1.31018132),
    "V-26": (0.32151565, 0.23769728, 0.79634728),
    "V-27": (0.12204749, 0.09568523, 0.33480067),
    "V-28": (0.07327884, 0.04812199, 0.27358159),
    "V-29": (0.07338218, 0.04605339, 0.43989375),
    "V-30": (0.23366779, 0.20550637, 0.64128978),
    "V-31": (0.33124210, 0.27254856, 0.66103558),
    "V-32": (0.14712901, 0.12255251, 0.31969619),
    "V-33": (0.07372109, 0.06028380, 0.26065902),
    "V-34": (0.05072991, 0.04665548, 0.12989779),
}


def forms(*rows: str) -> list[ClosedForm]:
    """Rows of the table, for a test's cases."""
    return [FORMS[row] for row in rows]
