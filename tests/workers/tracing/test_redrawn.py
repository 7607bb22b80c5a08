"""Drawings that were touched up keep their curves, and what is new in them is smooth."""

import numpy as np
import pytest
import shapely
from hypothesis import example, given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from tests.workers.geometry.test_curve_sides import disc, drawing
from workers.geometry.flattening import flat_rings, flatten, flatten_keeping_curves
from workers.touch_up.apply import apply_to_artwork
from workers.tracing.crossings import crossing_pieces
from workers.tracing.redrawn import Redrawn, redrawn
from workers.values.outlines import Outlines
from workers.values.progress import silent
from workers.values.touch_up import (
    Crop,
    Draw,
    Erase,
    Invert,
    Mirror,
    Patch,
    SetIn,
    Stroke,
    Thicken,
    Thin,
    TouchUp,
    Turn,
)

TOLERANCE_MM = 0.02
RING = (disc(20, 20, 10), disc(20, 20, 5)[::-1, ::-1])
WEDGE = Patch(polygon_mm=((20, -20), (38, -12), (38, -28)))
Points = NDArray[np.float64]


def touched(*steps: TouchUp, loops: tuple[Points, ...] = RING) -> tuple[Redrawn, dict[str, object]]:
    """The drawing after steps, and the record of the last."""
    done = apply_to_artwork(drawing(*loops), steps, silent)
    return redrawn(done.drawing, TOLERANCE_MM), done.record[-1]


def pieces_of(found: Redrawn) -> set[tuple[float, ...]]:
    """All pieces, run either way, to a millionth of a millimetre."""
    pieces = np.concatenate(found.outlines.loops)
    both = np.concatenate([pieces, pieces[:, ::-1]]).reshape(-1, 8)
    return {tuple(row) for row in np.round(both, 6) + 0.0}


def are_in(pieces: Points, found: Redrawn) -> list[bool]:
    """Which pieces are there, exactly as drawn."""
    return [tuple(row) in pieces_of(found) for row in np.round(pieces.reshape(-1, 8), 6) + 0.0]


def overlap_mm2(found: Redrawn) -> float:
    """How much less the outlines fill than they enclose: nothing where they touch at most."""
    rings = flat_rings(found.outlines.loops, 0.0005)
    enclosed = sum(
        shapely.Polygon(ring).area * (1 if shapely.is_ccw(shapely.LinearRing(ring)) else -1) for ring in rings
    )
    return abs(flatten(found.outlines, 0.0005).ink.polygons.area - enclosed)


def farthest_mm(found: Redrawn, ink: shapely.Geometry) -> float:
    """How far the outlines stray from another's."""
    own = shapely.MultiLineString([[*ring, ring[0]] for ring in flat_rings(found.outlines.loops, 0.0005)])
    return float(shapely.hausdorff_distance(own, ink.boundary, densify=0.05))


@pytest.mark.parametrize(
    ("step", "move"),
    [
        (Turn(turn_deg=90), lambda xy: np.stack([40 - xy[..., 1], xy[..., 0]], axis=-1)),
        (Mirror(is_left_right=True), lambda xy: xy * [-1, 1] + [40, 0]),
        (Mirror(is_left_right=False), lambda xy: xy * [1, -1] + [0, 40]),
        (Crop(left_mm=5, top_mm=-5, width_mm=30, height_mm=30), lambda xy: xy - 5),
        (Invert(), lambda xy: xy),
        (Erase(area=Patch(polygon_mm=((19, -19), (21, -19), (21, -21)))), lambda xy: xy),
    ],
    ids=["turn", "mirror", "mirror top-bottom", "crop outside", "invert", "erase elsewhere"],
)
def test_pieces_that_a_step_leaves_alone_are_kept(step: TouchUp, move: object) -> None:
    """All eight quarter circles, to a nanometre; the record says so."""
    found, record = touched(step)
    assert all(are_in(move(np.concatenate(RING)), found))  # type: ignore[operator]
    assert (record["pieces_kept"], record["pieces_cut"], record["pieces_gone"]) == (8, 0, 0)
    assert found.pieces_fitted == found.loops_straight == 0


def test_a_turn_by_any_angle_turns_the_curves() -> None:
    """As many pieces, and a ring whose circles are as round as before."""
    found, _ = touched(Turn(turn_deg=37))
    side = 40 * (np.cos(np.radians(37)) + np.sin(np.radians(37)))
    assert found.outlines.width_mm == pytest.approx(side)
    assert found.pieces_as_drawn == 8
    ends = np.concatenate(found.outlines.loops)[:, 0] - side / 2
    assert np.sort(np.hypot(*ends.T)) == pytest.approx([5.0] * 4 + [10.0] * 4, abs=1e-9)


def test_a_cut_piece_is_cut_where_the_curve_meets_the_cut() -> None:
    """The ends of the cut lie on the circles, not on chords, and on the wedge; other quarters stay."""
    found, record = touched(Erase(area=WEDGE))
    assert sum(are_in(np.concatenate(RING), found)) == 4
    assert (record["pieces_kept"], record["pieces_cut"], record["pieces_added"]) == (4, 4, 2)
    slope = 8 / 18  # of the wedge's sides
    for radius in (5, 10):
        x = radius / np.hypot(1, slope)
        wanted = np.array([[20 + x, 20 + slope * x], [20 + x, 20 - slope * x]])
        places = np.concatenate(found.outlines.loops)[:, 0]
        gaps = np.hypot(*(wanted[:, None] - places[None]).transpose(2, 0, 1)).min(axis=1)
        assert gaps.max() < 2.8e-4 * radius  # by which cubic quarters leave their circle
    assert farthest_mm(found, shapely.Point(20, 20).buffer(10, 256).difference(
        shapely.Point(20, 20).buffer(5, 256)
    ) - shapely.Polygon([(20, 20), (38, 28), (38, 12)])) < 0.006  # fmt: skip


def test_the_same_cut_twice_cuts_nothing_more() -> None:
    """What was cut by the first step is kept by the second."""
    _, record = touched(Erase(area=WEDGE), Erase(area=WEDGE))
    assert (record["pieces_kept"], record["pieces_cut"], record["pieces_gone"]) == (10, 0, 0)


def test_what_is_set_in_brings_its_curves() -> None:
    """A disc in the ring's hole, half as large as it was drawn."""
    step = SetIn(drawing=drawing(disc(20, 20, 6)), x_mm=20, y_mm=-20, width_mm=6)
    found, record = touched(step)
    assert all(are_in(disc(20, 20, 3), found))
    assert record["pieces_added"] == 4


def test_a_markers_line_is_smooth_and_few_pieces() -> None:
    """Its round ends are curves within the tolerance, its sides are straight."""
    found, record = touched(
        Erase(area=WEDGE),
        Draw(area=Stroke(line_mm=((3, -35), (37, -36)), width_mm=3)),
    )
    bar = min(found.outlines.loops, key=lambda loop: loop[..., 1].max())
    assert len(bar) <= 10
    line = shapely.LineString([(3, 5), (37, 4)]).buffer(1.5, 256)
    own = flatten(Outlines(loops=(bar,), width_mm=40, height_mm=40), 0.0005).ink.polygons
    assert shapely.hausdorff_distance(own.boundary, line.boundary, densify=0.05) < TOLERANCE_MM
    assert record["to_be_fitted_mm"] == pytest.approx(line.length, abs=0.05)


@pytest.mark.parametrize(("step", "by"), [(Thicken(by_mm=0.8), 0.8), (Thin(by_mm=0.7), -0.7)])
def test_moved_edges_are_curves_again(step: TouchUp, by: float) -> None:
    """A ring thickened or thinned is a ring, of few pieces, within the tolerance, smooth all round."""
    found, _ = touched(step)
    centre = shapely.Point(20, 20)
    wanted = centre.buffer(10 + by, 256).difference(centre.buffer(5 - by, 256))
    assert farthest_mm(found, wanted) < TOLERANCE_MM + 0.006
    assert found.pieces_as_drawn == found.loops_straight == 0
    assert found.pieces_fitted <= 40
    for loop in found.outlines.loops:
        leave, arrive = loop[:, 1] - loop[:, 0], np.roll(loop[:, 3] - loop[:, 2], 1, axis=0)
        cross = leave[:, 0] * arrive[:, 1] - leave[:, 1] * arrive[:, 0]
        turn = np.arctan2(cross, (leave * arrive).sum(axis=1))
        assert np.abs(np.degrees(turn)).max() < 0.5


def test_curves_that_would_cross_keep_the_polygons_sides() -> None:
    """A square between a circle and its far too coarse chords: the polygons are apart, the circle is not."""
    coarse = flatten_keeping_curves(Outlines(loops=(disc(20, 20, 10),), width_mm=40, height_mm=40), 1.0)
    reach = 10 * np.cos(np.radians(22.5)) + 0.3  # of the chords, from the middle
    x, y = 20 + np.cos(np.radians(22.5)) * reach, -20 - np.sin(np.radians(22.5)) * reach
    square = Patch(polygon_mm=((x, y), (x + 4, y), (x + 4, y - 4)))
    done = apply_to_artwork(coarse, [Draw(area=square)], silent)
    found = redrawn(done.drawing, TOLERANCE_MM)
    assert len(found.outlines.loops) == len(done.drawing.artwork.ink.polygons.geoms) == 2
    assert found.loops_straight >= 1
    loops = found.outlines.loops
    starts = np.cumsum([0, *map(len, loops)]).astype(np.int32)
    assert not crossing_pieces(np.concatenate(loops) * 10, starts).any()


def test_nothing_drawn_is_nothing_redrawn() -> None:
    """A blank sheet has no loops."""
    assert redrawn(drawing(), TOLERANCE_MM).outlines.loops == ()


def wedge(x: float, y: float) -> TouchUp:
    """Erase a triangle."""
    return Erase(area=Patch(polygon_mm=((x, -y), (x + 9, -y - 2), (x + 1, -y - 8))))


STEP = st.sampled_from(
    [
        lambda x, y: Turn(turn_deg=x * 9),
        lambda x, y: Invert(),
        wedge,
        lambda x, y: Draw(area=Stroke(line_mm=((x, -y), (y, -x), (20, -20)), width_mm=1.5)),
        lambda x, y: Erase(area=Stroke(line_mm=((x, -y), (x + 0.1, -y)), width_mm=3)),
        lambda x, y: SetIn(drawing=drawing(disc(20, 20, 6)), x_mm=x, y_mm=-y, width_mm=9),
        lambda x, y: Thicken(by_mm=0.05 + x / 100),
        lambda x, y: Thicken(by_mm=0.4, within=Patch(polygon_mm=((x, -y), (x + 9, -y), (x, -y - 9)))),
    ]
)


@settings(deadline=None, max_examples=25)
@example([(wedge, 9.0625, 18.0), (lambda x, y: Invert(), 1.0, 1.0), (wedge, 9.0625, 18.0)])
@example([(lambda x, y: Invert(), 1.0, 1.0), (wedge, 1.0, 18.0)])
@given(st.lists(st.tuples(STEP, st.floats(1, 30), st.floats(1, 30)), min_size=1, max_size=3))
def test_any_steps_give_what_they_give_on_polygons(steps: list[tuple[object, float, float]]) -> None:
    """Parts, holes and outline agree within the tolerances, nothing overlaps, and it is repeatable.

    An area erased twice can leave needles in the polygons; the outlines have them too.
    """
    chosen = [make(x, y) for make, x, y in steps]  # type: ignore[operator]
    done = apply_to_artwork(drawing(*RING), chosen, silent)
    found = redrawn(done.drawing, TOLERANCE_MM)
    ink = done.drawing.artwork.ink.polygons
    loops = found.outlines.loops
    assert overlap_mm2(found) < 1e-5
    assert len(loops) == len(shapely.get_rings(shapely.get_parts(ink)))
    assert farthest_mm(found, ink) < TOLERANCE_MM + 0.006
    again = redrawn(apply_to_artwork(drawing(*RING), chosen, silent).drawing, TOLERANCE_MM).outlines.loops
    assert all(np.array_equal(one, other) for one, other in zip(loops, again, strict=True))
