"""Where the medial axis of a straight-sided shape lies, and how wide it is there, to the micrometre.

Source: elementary geometry, as the trade's facts 3.3 sum it up: the bisector of two sides is straight, that
of a side and a reflex corner a parabola with the corner as its focus, that of two reflex corners straight
with a radius that is a hyperbola; a polygon with an incircle has nothing but spurs to its centre, radius
2 area / perimeter. Each shape's pieces are written down here whole, so none may be missing or too many.
"""

import math
from dataclasses import dataclass

import numpy as np
import pytest
import shapely
from numpy.typing import NDArray
from shapely import affinity
from shapely.geometry import MultiPolygon, Polygon

from tests.support.closed_forms import FORMS, polygon_about
from workers.geometry.medial_axis import medial_axis
from workers.values.medial_axis import MedialAxis
from workers.values.region import Region

MICROMETRE = 1e-3
Rows = NDArray[np.float64]  # (n, 3) x, y, radius


@dataclass(frozen=True)
class Known:
    """A shape and the whole of its axis, piece by piece."""

    shape: Polygon
    pieces: tuple[Rows, ...]

    def moved(self, turn_deg: float, x_mm: float, y_mm: float) -> "Known":
        """Return the same turned about the origin, then shifted."""
        cos, sin = math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg))
        matrix = [cos, -sin, sin, cos, x_mm, y_mm]
        turn = np.array([[cos, sin, 0], [-sin, cos, 0], [0, 0, 1]])
        pieces = tuple(piece @ turn + (x_mm, y_mm, 0) for piece in self.pieces)
        return Known(affinity.affine_transform(self.shape, matrix), pieces)


def straight(*nodes: tuple[float, float, float]) -> list[Rows]:
    """Return the pieces between nodes in a row, straight in place and radius."""
    rows = np.array(nodes, dtype=float)
    return [rows[number : number + 2] for number in range(len(rows) - 1)]


def equally_far(focus: tuple[float, float], start: tuple[float, float], end: tuple[float, float]) -> Rows:
    """Return a straight piece whose radius is the distance to a corner: midway between two of them."""
    share = np.linspace(0, 1, 1001)[:, None]
    places = np.array(start) * (1 - share) + np.array(end) * share
    return np.column_stack([places, np.hypot(*(places - focus).T)])


def parabola(focus: tuple[float, float], level: float, start_x: float, end_x: float) -> Rows:
    """Return a piece of the parabola between a corner and the side at y = level."""
    x = np.linspace(start_x, end_x, 1001)
    span = focus[1] - level
    radius = ((x - focus[0]) ** 2 + span**2) / (2 * abs(span))
    return np.column_stack([x, level + math.copysign(1, span) * radius, radius])


def swapped(piece: Rows) -> Rows:
    """Return a piece mirrored in the diagonal x = y."""
    return piece[:, [1, 0, 2]]


def turned(piece: Rows, quarters: int, middle: tuple[float, float] = (0, 0)) -> Rows:
    """Return a piece turned anticlockwise by quarters about a middle."""
    x, y = (piece[:, :2] - middle).T
    for _ in range(quarters):
        x, y = -y, x
    return np.column_stack([x + middle[0], y + middle[1], piece[:, 2]])


def stroke(width: float, height: float) -> list[Rows]:
    """Return spine and spurs of a rectangle from the origin, wider than high."""
    r = height / 2
    ends = [(r, r, r), (width - r, r, r)]
    corners = [(0, 0, 0), (0, height, 0), (width, 0, 0), (width, height, 0)]
    return straight(*ends) + [
        piece for at, corner in enumerate(corners) for piece in straight(corner, ends[at // 2])
    ]


def spurs(shape: Polygon, centre: tuple[float, float]) -> list[Rows]:
    """Return a spur from each corner to the centre of the incircle of a polygon that has one."""
    radius = 2 * shape.area / shape.length
    corners = shapely.get_coordinates(shape.exterior)[:-1]
    return [np.array([(x, y, 0), (*centre, radius)]) for x, y in corners]


def l_axis() -> list[Rows]:
    """Arms 12 wide, 60 along x and 40 along y, inner corner at (12, 12)."""
    elbow = 12 * (2 - math.sqrt(2))
    pieces = straight((12, 6, 6), (54, 6, 6)) + straight((0, 0, 0), (elbow, elbow, elbow))
    pieces += straight((60, 0, 0), (54, 6, 6), (60, 12, 0))
    pieces += [swapped(piece) for piece in straight((12, 6, 6), (34, 6, 6))]
    pieces += [swapped(piece) for piece in straight((40, 0, 0), (34, 6, 6), (40, 12, 0))]
    bend = parabola((12, 12), 0, elbow, 12)
    return [*pieces, bend, swapped(bend)]


def cross_axis() -> list[Rows]:
    """Arms 12 wide, 60 from end to end, middle at the origin: four necks meet between inner corners."""
    arm = straight((6, 0, 6), (24, 0, 6)) + straight((30, -6, 0), (24, 0, 6), (30, 6, 0))
    arm.append(equally_far((6, 6), (0, 0), (6, 0)))
    return [turned(piece, quarters) for quarters in range(4) for piece in arm]


def t_axis() -> list[Rows]:
    """A bar from x -30 to 30, y 0 to 12, on a stem 12 wide and 30 long."""
    right = straight((6, 6, 6), (24, 6, 6)) + straight((30, 0, 0), (24, 6, 6), (30, 12, 0))
    right.append(parabola((6, 0), 12, 0, 6))
    left = [piece * (-1, 1, 1) for piece in right]
    stem = straight((0, 0, 6), (0, -24, 6)) + straight((-6, -30, 0), (0, -24, 6), (6, -30, 0))
    return [*right, *left, *stem, equally_far((6, 0), (0, 0), (0, 4.5))]


def frame_axis() -> list[Rows]:
    """A square of 60 with a square hole of 40: a line midway, bent at the inner corners, with spurs."""
    elbow = 10 * (2 - math.sqrt(2))
    side = straight((10, 5, 5), (50, 5, 5)) + straight((0, 0, 0), (elbow, elbow, elbow))
    side += [parabola((10, 10), 0, elbow, 10), parabola((50, 10), 0, 50, 60 - elbow)]
    return [turned(piece, quarters, (30, 30)) for quarters in range(4) for piece in side]


def kite(left: float, half: float, right: float) -> Known:
    """Return a kite on the x axis; the centre of its incircle is as far from a side as the radius."""
    shape = Polygon([(-left, 0), (0, -half), (right, 0), (0, half)])
    radius = 2 * shape.area / shape.length
    return Known(shape, tuple(spurs(shape, (radius * math.hypot(left, half) / half - left, 0))))


def known(row: str, pieces: list[Rows]) -> Known:
    """Return a shape of the table with its pieces."""
    return Known(FORMS[row].shape, tuple(pieces))


WEDGE_RADIUS = 720 / (60 + 2 * math.hypot(30, 12))
AXES = {
    "V-20 rectangle": known("V-20", stroke(60, 20)),
    "V-21 square": known("V-21", spurs(FORMS["V-21"].shape, (20, 20))),
    "V-23 triangle": known("V-23", spurs(FORMS["V-23"].shape, (0, 0))),
    "V-24 hexagon": known("V-24", spurs(FORMS["V-24"].shape, (0, 0))),
    "V-26 L": known("V-26", l_axis()),
    "V-27 right triangle": known("V-27", spurs(FORMS["V-27"].shape, (10, 10))),
    "V-28 wedge": known("V-28", spurs(FORMS["V-28"].shape, (30, WEDGE_RADIUS))),
    "V-30 cross": known("V-30", cross_axis()),
    "V-31 T": known("V-31", t_axis()),
    "V-33 pentagon": known("V-33", spurs(FORMS["V-33"].shape, (0, 0))),
    "V-34 stroke": known("V-34", stroke(100, 3)),
    "V-35 square frame": known("V-35", frame_axis()),
    "3.3 octagon": Known(polygon_about(10, 8), tuple(spurs(polygon_about(10, 8), (0, 0)))),
    "3.3 rhombus": kite(20, 15, 20),
    "3.3 kite": kite(8, 6, 15),
}
MOVES = {"as it is": (0, 0, 0), "turned": (17.3, 3.3, -7.1), "far off": (-71.9, 812.7, 455.1)}


@pytest.fixture(params=MOVES)
def move(request: pytest.FixtureRequest) -> tuple[float, float, float]:
    """Return a turn and a shift: the axis must not care how a shape lies on the board."""
    return MOVES[request.param]


def axis_of(shape: Polygon, chord_mm: float = 1e-4) -> MedialAxis:
    """Return the axis of one polygon, its curves cut up finely."""
    return medial_axis(Region(MultiPolygon([shape])), 0.02, chord_mm)


def off_mm(places: Rows, lines: list[Rows]) -> Rows:
    """Return for each place and radius how far it is from the nearest line, and how far its radius is off."""
    strings = [shapely.LineString(line[:, :2]) for line in lines]
    best = np.full((len(places), 2), np.inf)
    points = shapely.points(places[:, :2])
    for line, string in zip(lines, strings, strict=True):
        aside = shapely.distance(points, string)
        along = shapely.line_locate_point(string, points)
        lengths = np.concatenate([[0], np.cumsum(np.hypot(*np.diff(line[:, :2], axis=0).T))])
        wrong = np.abs(np.interp(along, lengths, line[:, 2]) - places[:, 2])
        found = np.column_stack([aside, wrong])
        nearer = found.max(axis=1) < best.max(axis=1)
        best[nearer] = found[nearer]
    return best


@pytest.mark.parametrize("name", AXES)
def test_every_node_lies_on_the_known_axis(name: str, move: tuple[float, float, float]) -> None:
    """No node is off the closed form by a hundredth of a micrometre, radius included: none is too many."""
    form = AXES[name].moved(*move)

    nodes = axis_of(form.shape).nodes_mm

    assert off_mm(nodes, list(form.pieces)).max() < MICROMETRE / 100


@pytest.mark.parametrize("name", AXES)
def test_all_of_the_known_axis_is_there(name: str, move: tuple[float, float, float]) -> None:
    """Every place on the closed form has the axis within a micrometre, radius included: none is missing."""
    form = AXES[name].moved(*move)
    places = np.concatenate([piece[np.linspace(0, len(piece) - 1, 41).astype(int)] for piece in form.pieces])
    middles = np.concatenate([piece.mean(axis=0)[None] for piece in form.pieces if len(piece) == 2])

    axis = axis_of(form.shape)

    edges = list(axis.nodes_mm[axis.edges])
    assert off_mm(np.concatenate([places, middles]), edges).max() < MICROMETRE


@pytest.mark.parametrize(
    ("half_angle_deg", "slopes"),
    [
        (45.0, {30: 2.638958, 60: 1.224745, 90: 0.707107, 120: 0.408248}),
        (30.0, {30: 1.866025, 60: 0.866025, 90: 0.5, 120: 0.288675}),
        (22.5, {30: 1.428194, 60: 0.662827, 90: 0.382683, 120: 0.220942}),
    ],
)
def test_the_way_into_a_corner_rises_as_worked_out(half_angle_deg: float, slopes: dict[int, float]) -> None:
    """V-09: along the bisector of a corner of full angle 2 b the tip rises by sin(b) / k, by angle of bit."""
    half_mm = 50 * math.tan(math.radians(half_angle_deg))
    axis = axis_of(Polygon([(0, 0), (50, -half_mm), (50, half_mm)]))
    spur = next(nodes for nodes in axis.nodes_mm[axis.edges] if np.hypot(*nodes[:, :2].T).min() < 1e-6)
    steps = np.diff(spur, axis=0)[0]

    for angle_deg, slope in slopes.items():
        depth_mm = abs(steps[2]) / math.tan(math.radians(angle_deg / 2))
        assert depth_mm / np.hypot(*steps[:2]) == pytest.approx(slope, abs=1e-6)
