"""What rings fill, by the two rules of SVG.

Source: W3C SVG 2, 'fill-rule' (nonzero, evenodd); areas by elementary geometry.
"""

import math

import numpy as np
import pytest
from shapely.geometry import box

from workers.geometry.filling import areas_of, filled

Points = list[tuple[float, float]]

SQUARE: Points = [(0, 0), (4, 0), (4, 4), (0, 4)]
INNER: Points = [(1, 1), (3, 1), (3, 3), (1, 3)]
BESIDE: Points = [(2, 2), (6, 2), (6, 6), (2, 6)]
PENTAGRAM: Points = [(math.cos(angle), math.sin(angle)) for angle in np.arange(5) * 4 * math.pi / 5]
INNER_RADIUS = math.cos(math.radians(72)) / math.cos(math.radians(36))
STAR = 5 * INNER_RADIUS * math.sin(math.radians(36))
CORE = 2.5 * INNER_RADIUS**2 * math.sin(math.radians(72))


def area(rings: list[Points], is_even_odd: bool) -> float:
    """Return the area that rings fill, which must be valid."""
    found = filled([np.array(ring, dtype=float) for ring in rings], is_even_odd)
    assert found.is_valid
    return float(found.area)


@pytest.mark.parametrize(
    ("rings", "even_odd", "nonzero"),
    [
        ([SQUARE], 16, 16),
        ([SQUARE, INNER], 12, 16),
        ([SQUARE, INNER[::-1]], 12, 12),
        ([SQUARE, SQUARE], 0, 16),
        ([SQUARE, SQUARE[::-1]], 0, 0),
        ([SQUARE, BESIDE], 24, 28),
        ([SQUARE, BESIDE[::-1]], 24, 24),
        ([SQUARE, [(4, 0), (8, 0), (8, 4), (4, 4)]], 32, 32),
        ([PENTAGRAM], STAR - CORE, STAR),
    ],
    ids=[
        "one ring",
        "a ring in a ring",
        "a ring in a ring, the other way round",
        "the same ring twice",
        "the same ring there and back",
        "rings that cross",
        "rings that cross, the other way round",
        "rings with a side in common",
        "a pentagram",
    ],
)
def test_the_two_rules_fill_what_the_standard_says(
    rings: list[Points], even_odd: float, nonzero: float
) -> None:
    """Odd crossings, or more turns one way than the other."""
    assert area(rings, is_even_odd=True) == pytest.approx(even_odd, abs=1e-12)
    assert area(rings, is_even_odd=False) == pytest.approx(nonzero, abs=1e-12)


def test_rings_in_rings_are_holes_and_islands_by_turns() -> None:
    """Ten squares inside each other: 5 parts, all but the innermost with one hole."""
    rings = [np.array(box(step, step, 20 - step, 20 - step).exterior.coords)[:-1] for step in range(10)]

    found = filled(rings, is_even_odd=True)

    assert sorted(len(part.interiors) for part in found.geoms) == [1, 1, 1, 1, 1]
    assert found.area == sum((-1) ** step * (20 - 2 * step) ** 2 for step in range(10))


def test_rings_without_area_fill_nothing() -> None:
    """A point, a line there and back, nothing at all."""
    assert filled([], is_even_odd=True).is_empty
    assert area([[(0, 0), (1, 1)], [(0, 0), (3, 0), (6, 0)]], is_even_odd=False) == 0


def test_only_areas_above_a_size_are_taken() -> None:
    """Lines and specks that an operation leaves are no ink."""
    mixed = box(0, 0, 1, 1).union(box(5, 5, 5.1, 5.1)).union(box(8, 8, 9, 9).exterior)

    assert areas_of(mixed, 0.02).area == 1
