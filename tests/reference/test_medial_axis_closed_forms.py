"""The medial axis of shapes whose axis is known in closed form.

Source: elementary geometry, worked out in the trade's facts 3.3 (largest inscribed circles and axes)
and V-20 to V-36, V-50, V-51 (sizes and lengths); each case names its row. See tests/support/closed_forms.py.
"""

import math

import numpy as np
import pytest
import shapely
from shapely.geometry import MultiPolygon, Point, Polygon

from tests.support.closed_forms import L_SHAPE, RECTANGLE, SQUARE, ClosedForm, forms, polygon_about
from workers.geometry.medial_axis import medial_axis
from workers.values.medial_axis import MedialAxis
from workers.values.region import Region


def axis_of(shape: Polygon, chord_mm: float = 0.005, tolerance_mm: float = 0.02) -> MedialAxis:
    """Return the axis of one polygon."""
    return medial_axis(Region(MultiPolygon([shape])), tolerance_mm, chord_mm)


def length_mm(axis: MedialAxis, slope: float = 0.0) -> float:
    """Return the axis's length; with a slope, the length of the path that is ``slope * radius`` deep."""
    steps = np.diff(axis.nodes_mm[axis.edges], axis=1)[:, 0] * (1, 1, slope)
    return float(np.sqrt((steps**2).sum(axis=1)).sum())


HALF_DISC = Polygon(
    np.column_stack([np.cos(t := np.linspace(0, math.pi, 2001)), np.sin(t)]) * 20  # chords of 6 um sagitta
)

POLYGONS = forms(
    "V-20", "V-21", "V-23", "V-24", "V-26", "V-27", "V-28", "V-30", "V-31", "V-33", "V-35"
)  # fmt: skip


@pytest.mark.parametrize("form", POLYGONS, ids=str)
def test_the_largest_inscribed_circle_is_the_closed_form(form: ClosedForm) -> None:
    """The greatest radius on the axis is that of the largest circle inside."""
    assert axis_of(form.shape).nodes_mm[:, 2].max() == pytest.approx(form.inscribed_mm, abs=1.5e-6)


def test_the_half_disc_holds_a_circle_half_its_radius() -> None:
    """V-32: a half disc of 20 mm holds a circle of 10 mm, but for the chords it is drawn with."""
    assert axis_of(HALF_DISC).nodes_mm[:, 2].max() == pytest.approx(10.0, abs=1e-4)


@pytest.mark.parametrize(
    ("shape", "slope", "plan_mm", "space_mm"),
    [
        (RECTANGLE, 1 / math.tan(math.radians(30)), 96.568542, 129.442719),  # V-50, 60 degrees
        (SQUARE, 1.0, 113.137085, 138.564065),  # V-51, 90 degrees
    ],
)
def test_the_path_of_the_bit_is_as_long_as_worked_out(
    shape: Polygon, slope: float, plan_mm: float, space_mm: float
) -> None:
    """V-50 and V-51: spine and spurs of a rectangle, in plan and with depth."""
    axis = axis_of(shape)

    assert length_mm(axis) == pytest.approx(plan_mm, abs=1e-5)
    assert length_mm(axis, slope) == pytest.approx(space_mm, abs=1e-5)


@pytest.mark.parametrize("sides", [3, 5, 6, 8])
def test_a_regular_polygon_has_a_spur_to_each_corner(sides: int) -> None:
    """3.3: n spurs of a / cos(pi / n)."""
    axis = axis_of(polygon_about(10, sides))

    assert np.count_nonzero(np.bincount(axis.edges.ravel()) == 1) == sides
    assert length_mm(axis) == pytest.approx(sides * 10 / math.cos(math.pi / sides), abs=1e-5)


def test_a_slot_has_a_segment() -> None:
    """3.3: a slot of width w and length L with round ends has a segment of L - w; V-29 sizes."""
    slot = Polygon(shapely.LineString([(0, 0), (74, 0)]).buffer(3, quad_segs=64))

    axis = axis_of(slot)

    assert length_mm(axis) == pytest.approx(74.0, abs=0.2)  # the ends' chords draw a spur of hardly more
    assert axis.nodes_mm[:, 2] == pytest.approx(np.full(len(axis.nodes_mm), 3.0), abs=2e-3)


def test_an_annulus_has_a_circle() -> None:
    """3.3: a circle midway; V-25 sizes."""
    ring = Point(0, 0).buffer(30, quad_segs=512) - Point(0, 0).buffer(20, quad_segs=512)

    axis = axis_of(ring)

    assert np.hypot(*axis.nodes_mm[:, :2].T) == pytest.approx(np.full(len(axis.nodes_mm), 25.0), abs=1e-3)
    assert length_mm(axis) == pytest.approx(2 * math.pi * 25, abs=0.01)


def test_an_ellipse_has_a_segment_between_its_centres_of_curvature() -> None:
    """3.3: |x| <= a - b^2 / a, r(x) = b sqrt(1 - x^2 / (a^2 - b^2)); V-36 sizes.

    The ends lie where chords are told from curvature, so they are true to a few hundredths.
    """
    a, b = 30.0, 12.0
    angle = np.linspace(0, 2 * math.pi, 4001)[:-1]
    axis = axis_of(Polygon(np.column_stack([a * np.cos(angle), b * np.sin(angle)])), tolerance_mm=0.002)

    x, y, radius = axis.nodes_mm.T

    assert np.abs(y).max() < 0.01
    assert x.max() == pytest.approx(a - b * b / a, abs=0.25)
    assert radius == pytest.approx(b * np.sqrt(1 - x**2 / (a * a - b * b)), abs=1e-3)
    assert radius.max() == pytest.approx(b, abs=1e-4)


def test_the_elbow_of_an_l_is_a_parabola() -> None:
    """Between the reflex corner and an outer side the axis is the parabola with that focus and directrix."""
    axis = axis_of(L_SHAPE, chord_mm=1e-4)
    x, y, radius = axis.nodes_mm.T
    near = (np.hypot(x - 12, y - 12) - radius < 1e-6) & (y < x)  # touches the corner, and the lower side

    assert near.sum() > 10
    assert np.hypot(x[near] - 12, y[near] - 12) == pytest.approx(y[near], abs=1.5e-6)


def test_between_two_reflex_corners_the_radius_is_a_hyperbola() -> None:
    """Midway through a neck between two points, r^2 = s^2 + h^2."""
    hourglass = Polygon([(0, 0), (10, 9), (20, 0), (20, 20), (10, 11), (0, 20)])

    axis = axis_of(hourglass, chord_mm=1e-4)
    x, y, radius = axis.nodes_mm.T
    on_neck = (np.abs(y - 10) < 1e-6) & (np.abs(x - 10) < 1)

    assert on_neck.sum() > 3
    assert radius[on_neck] == pytest.approx(np.hypot(x[on_neck] - 10, 1), abs=1.5e-6)
