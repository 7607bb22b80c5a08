"""Largest circles inside shapes, and the length of the V-bit's path along their axis, in closed form.

Source: elementary geometry, worked out in the trade's facts 3.3 (largest inscribed circles and axes)
and V-20 to V-35, V-50, V-51 (sizes and lengths); each case names its row. See tests/support/closed_forms.py.
Where the axis lies: test_medial_axis_positions.py, and test_medial_axis_of_curves.py.
"""

import math

import numpy as np
import pytest
from shapely.geometry import MultiPolygon, Polygon

from tests.support.closed_forms import RECTANGLE, SQUARE, ClosedForm, forms
from workers.geometry.medial_axis import medial_axis
from workers.values.medial_axis import MedialAxis
from workers.values.region import Region


def axis_of(shape: Polygon) -> MedialAxis:
    """Return the axis of one polygon."""
    return medial_axis(Region(MultiPolygon([shape])))


def length_mm(axis: MedialAxis, slope: float = 0.0) -> float:
    """Return the axis's length; with a slope, the length of the path that is ``slope * radius`` deep."""
    steps = np.diff(axis.nodes_mm[axis.edges], axis=1)[:, 0] * (1, 1, slope)
    return float(np.sqrt((steps**2).sum(axis=1)).sum())


POLYGONS = forms(
    "V-20", "V-21", "V-23", "V-24", "V-26", "V-27", "V-28", "V-30", "V-31", "V-33", "V-34", "V-35"
)  # fmt: skip


@pytest.mark.parametrize("form", POLYGONS, ids=str)
def test_the_largest_inscribed_circle_is_the_closed_form(form: ClosedForm) -> None:
    """The greatest radius on the axis is that of the largest circle inside."""
    assert axis_of(form.shape).nodes_mm[:, 2].max() == pytest.approx(form.inscribed_mm, abs=1.5e-6)


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
