"""What is over a bit's edges, against the closed forms of discs over steps and slopes.

No outside source: how deep a disc is in a plane or a wall is the difference of their heights.
"""

import numpy as np
import pytest
from numpy.typing import NDArray

from tests.support.specimens import ball, drill, mill, motions, vee
from workers.simulation.stock import Stock
from workers.simulation.sweeps import Collar
from workers.values.cutter import Cutter

Places = tuple[tuple[float, float, float], ...]


def touched(
    *points_mm: tuple[float, float, float],
    collar: Collar,
    cutter: Cutter | None = None,
    before: Places = (),
    wide: float = 0.0,
    bare: NDArray[np.bool_] | None = None,
) -> list[float]:
    """How deep one collar is in the stock of 40 x 40 mm in each motion, after another bit has been there."""
    stock = Stock(0, 0, 40, 40, 0.1)
    if before:
        stock.cut(motions(*before), mill(wide, 40))
    trace = motions(*points_mm)
    told = stock.cut_and_touch(
        trace, cutter or mill(3, 5), None, [collar], None if bare is None else lambda: bare
    )
    return [round(depth_mm, 4) for depth_mm in told[1][0].tolist()]


@pytest.mark.parametrize("cutter", [mill(3, 5), ball(3, 5), drill(3, 5), vee(60, 0.1, 3, 5)])
def test_a_shank_wider_than_its_bit_stands_on_the_rim_of_a_deep_hole(cutter: Cutter) -> None:
    """8 mm deep with edges of 5 mm: 3 mm below the face, whatever the bit's end."""
    assert touched((20, 20, 5), (20, 20, -8), collar=Collar(5, 2.0), cutter=cutter) == [3]


def test_a_thinner_shank_follows_its_bit_down() -> None:
    """The edges have cut the hole before it comes."""
    assert touched((20, 20, 5), (20, 20, -8), collar=Collar(5, 1.4)) == [0]


def test_on_the_way_across_even_a_thin_shank_meets_the_wood_ahead() -> None:
    """The edges take the lower 5 mm of 8 mm, and the upper 3 mm stand in the shank's way."""
    assert touched((10, 20, 5), (10, 20, -8), (30, 20, -8), collar=Collar(5, 1.4)) == [0, 3]


def test_layer_by_layer_a_thin_shank_meets_nothing() -> None:
    """The second layer ends 8 mm deep, and the first has taken the upper 4 mm."""
    way = ((10, 20, 5), (10, 20, -4), (30, 20, -4), (30, 20, -8), (10, 20, -8))
    assert touched(*way, collar=Collar(5, 1.4)) == [0, 0, 0, 0]
    assert touched(*way, collar=Collar(5, 1.7)) == [0, 0, 3, 3]


def test_a_way_wider_than_the_shank_leaves_it_free() -> None:
    """A slot of 8 mm was cut before; a shank of 6 mm stays 1 mm from its walls, one of 9 mm does not."""
    slot = ((10, 20, 0), (10, 20, -8), (30, 20, -8))
    deeper = ((20, 20, 5), (20, 20, -12), (24, 20, -12))
    free, touching = (
        touched(*deeper, collar=Collar(5, radius_mm), before=slot, wide=8) for radius_mm in (3.0, 4.5)
    )
    assert free == [0, 0]
    assert touching == [7, 7]


@pytest.mark.parametrize("deepest_mm", [9.0, 10.0, 10.5, 12.0])
def test_down_a_slope_the_deepest_place_counts(deepest_mm: float) -> None:
    """A disc of radius 8 mm, 10 mm over the tip, that comes down 12 mm on the way: so much below the face."""
    sunk = max(deepest_mm - 10, 0)
    assert touched((10, 20, 0), (30, 20, -deepest_mm), collar=Collar(10, 8)) == [
        pytest.approx(sunk, abs=1e-3)
    ]


def test_where_no_stock_is_nothing_is_touched() -> None:
    """Left of x = 15 mm the map is bare: a wide nut meets the stock only from there on."""
    bare = np.zeros((400, 400), np.bool_)
    bare[:, :150] = True
    left, right = (
        touched((x_mm, 20, 5), (x_mm, 20, -12), collar=Collar(10, 6), bare=bare) for x_mm in (8.0, 10.0)
    )
    assert left == [0]
    assert right == [2]


def test_cells_are_told_apart_only_if_a_collar_gets_so_low() -> None:
    """Usual cuts cost nothing: the question is not even asked."""

    def asked() -> NDArray[np.bool_]:
        raise AssertionError

    stock = Stock(0, 0, 40, 40, 0.1)
    told = stock.cut_and_touch(motions((5, 5, 5), (5, 5, -5)), mill(3, 5), None, [Collar(5, 6)], asked)
    assert told[1].tolist() == [[0]]


def test_collars_cut_nothing() -> None:
    """The map is the same with them and without."""
    way = motions((10, 20, 5), (10, 20, -8), (30, 24, -9))
    plain, watched = Stock(0, 0, 40, 40, 0.1), Stock(0, 0, 40, 40, 0.1)
    plain.cut(way, mill(3, 5))
    watched.cut_and_touch(way, mill(3, 5), None, [Collar(5, 6), Collar(6, 12)])
    assert (plain.depth_mm == watched.depth_mm).all()
