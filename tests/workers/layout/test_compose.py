"""What does not fit is refused with what would; what fits is where it was asked for."""

import math

import pytest
from shapely.geometry import Point, Polygon, box

from tests.support.specimens import board, lettering, region
from workers.errors import NoDrawingFoundError, ParameterOutOfRangeError
from workers.layout.compose import compose
from workers.values.design import Hole
from workers.values.placement import BorderLine, LetteringLine, PlacedArt
from workers.values.region import Artwork

BOARD = board(400, 180, 19.05, corner_radius_mm=20)
WALL_MM = 0.8  # thinnest wall of basswood in materials.toml


def art(*shapes: Polygon, **place: float) -> PlacedArt:
    """Art with this ink, at the size it was drawn in unless told otherwise."""
    return PlacedArt(
        title="the tern", artwork=Artwork(ink=region(*shapes), width_mm=210, height_mm=297), **place
    )


def text(words: str = "QUAY", cap_height_mm: float = 30, **place: float) -> LetteringLine:
    """Letters about the middle of the board, or of another place."""
    return lettering(
        words, **{"cap_height_mm": cap_height_mm, "x_mm": 200, "y_mm": 80, "align": "centre"} | place
    )


def refused(*arguments: object) -> ParameterOutOfRangeError:
    """The refusal of a design, which must come with a remedy."""
    with pytest.raises(ParameterOutOfRangeError) as caught:
        compose(BOARD, *arguments)  # type: ignore[arg-type]
    assert caught.value.remedy
    return caught.value


def test_art_is_sized_by_its_inks_box_and_centred() -> None:
    """Ink 20 x 10 anywhere on its sheet, asked to be 100 wide at 150, 90."""
    design = compose(BOARD, [art(box(30, 40, 50, 50), x_mm=150, y_mm=90, width_mm=100)], [], None, [])
    assert design.ink.polygons.bounds == pytest.approx((100, 65, 200, 115), abs=1e-9)


def test_the_width_is_that_after_turning() -> None:
    """A quarter turn makes the ink 10 x 20; 60 mm wide means 120 mm high."""
    design = compose(
        BOARD, [art(box(0, 0, 20, 10), x_mm=200, y_mm=90, width_mm=60, turn_deg=90)], [], None, []
    )
    assert design.ink.polygons.bounds == pytest.approx((170, 30, 230, 150), abs=1e-9)


def test_a_turn_is_anticlockwise() -> None:
    """An L whose foot points right points up after a quarter turn."""
    foot = Polygon([(0, 0), (30, 0), (30, 2), (2, 2), (2, 10), (0, 10)])
    design = compose(BOARD, [art(foot, turn_deg=90)], [], None, [])
    left, bottom, right, top = design.ink.polygons.bounds
    assert (right - left, top - bottom) == pytest.approx((10, 30), abs=1e-9)
    assert design.ink.polygons.contains(Point(right - 1, top - 1))  # the long arm stands on the right


def test_without_a_place_art_is_in_the_middle_at_true_size() -> None:
    """Ink 20 x 10 stays 20 x 10."""
    design = compose(BOARD, [art(box(3, 3, 23, 13))], [], None, [])
    assert design.ink.polygons.bounds == pytest.approx((190, 85, 210, 95), abs=1e-9)


def test_overlapping_elements_are_one() -> None:
    """Two squares sharing a quarter: the union's area, and one polygon."""
    design = compose(
        BOARD,
        [art(box(0, 0, 20, 20), x_mm=100, y_mm=90), art(box(0, 0, 20, 20), x_mm=110, y_mm=100)],
        [],
        None,
        [],
    )
    assert len(design.ink.polygons.geoms) == 1
    assert design.ink.polygons.area == pytest.approx(700, abs=1e-9)


def test_elements_tell_what_stands_where() -> None:
    """Kind, title and box of each, in the order art, lettering, border."""
    design = compose(
        BOARD, [art(box(0, 0, 20, 20), x_mm=60, y_mm=90)], [text()], BorderLine(inset_mm=8, width_mm=3), []
    )
    assert [(e.kind, e.title) for e in design.elements] == [
        ("art", "the tern"),
        ("lettering", "QUAY"),
        ("border", "border"),
    ]
    first = design.elements[0]
    assert (first.left_mm, first.bottom_mm, first.right_mm, first.top_mm) == (50, 80, 70, 100)


def test_the_border_has_the_area_of_two_rounded_rectangles() -> None:
    """w h - (4 - pi) r^2, outer less inner; radii 12 and 9 by parallel lines inside radius 20."""
    design = compose(BOARD, [], [], BorderLine(inset_mm=8, width_mm=3), [])
    outer = 384 * 164 - (4 - math.pi) * 12**2
    inner = 378 * 158 - (4 - math.pi) * 9**2
    assert design.ink.polygons.area == pytest.approx(outer - inner, abs=0.005 * 2 * math.pi * 21)


def test_a_border_inside_the_corner_radius_has_square_corners() -> None:
    """Inset 25 on a radius of 20: a plain frame."""
    design = compose(BOARD, [], [], BorderLine(inset_mm=25, width_mm=5), [])
    assert design.ink.polygons.area == pytest.approx(350 * 130 - 340 * 120, abs=1e-6)


def test_the_boards_edge_has_rounded_corners() -> None:
    """w h - (4 - pi) r^2 within the chords' 5 um."""
    design = compose(BOARD, [art(box(0, 0, 5, 5))], [], None, [])
    assert design.outline.area == pytest.approx(400 * 180 - (4 - math.pi) * 400, abs=0.005 * 2 * math.pi * 20)
    assert design.outline.exterior.is_ccw


def test_art_over_the_edge_is_refused_with_the_size_that_fits() -> None:
    """Centre 60 mm from the left edge: at most 2 (60 - 0.8) = 118.4 mm wide."""
    error = refused([art(box(0, 0, 40, 10), x_mm=60, y_mm=90, width_mm=150)], [], None, [])
    assert error.field == "/inputs/art/0/place"
    assert "15.8 mm too far, to the left" in error.message
    assert "largest width that fits is 118.4 mm" in str(error.remedy)


def test_the_size_that_is_named_fits_and_a_little_more_does_not() -> None:
    """The remedy can be followed to the letter."""
    error = refused([], [text("TERN QUAY", cap_height_mm=90)], None, [])
    assert error.field == "/inputs/lettering/0/cap_height"
    named_mm = float(str(error.remedy).split("fits is ")[1].split(" mm")[0])
    compose(BOARD, [], [text("TERN QUAY", cap_height_mm=named_mm)], None, [])
    refused([], [text("TERN QUAY", cap_height_mm=named_mm + 0.2)], None, [])


def test_art_into_a_rounded_corner_is_refused() -> None:
    """Inside the box of the board, yet outside its edge."""
    error = refused([art(box(0, 0, 6, 6), x_mm=5, y_mm=5)], [], None, [])
    assert "into a rounded corner" in error.message


def test_art_off_the_board_is_to_be_moved() -> None:
    """No size fits round a centre that is not on the board."""
    error = refused([art(box(0, 0, 6, 6), x_mm=-50, y_mm=90)], [], None, [])
    assert "Move it" in str(error.remedy)


def test_a_hole_in_the_lettering_is_refused() -> None:
    """By the hole's number and the text."""
    error = refused([], [text()], None, [Hole(x_mm=200, y_mm=95, diameter_mm=30)])
    assert error.field == "/inputs/holes/0"
    assert "hole 1 cuts into 'QUAY'" in error.message


def test_a_hole_needs_board_around_it() -> None:
    """To the edge and to the next hole: basswood stands from 0.8 mm."""
    frame = BorderLine(inset_mm=20, width_mm=3)
    assert refused([], [], frame, [Hole(x_mm=200, y_mm=3, diameter_mm=5)]).field == "/inputs/holes/0"
    pair = [Hole(x_mm=200, y_mm=90, diameter_mm=5), Hole(x_mm=205.5, y_mm=90, diameter_mm=5)]
    error = refused([], [], frame, pair)
    assert error.field == "/inputs/holes/1"
    assert "leave 0.5 mm between them" in error.message
    compose(BOARD, [], [], frame, [pair[0], Hole(x_mm=205 + WALL_MM, y_mm=90, diameter_mm=5)])


def test_a_border_too_wide_for_the_board_is_refused() -> None:
    """Inset and width together meet in the middle."""
    assert refused([], [], BorderLine(inset_mm=80, width_mm=10), []).field == "/inputs/border"


def test_a_border_on_the_edge_is_refused() -> None:
    """The wall outside it would not stand."""
    error = refused([], [], BorderLine(inset_mm=0.3, width_mm=3), [])
    assert error.field == "/inputs/border/inset"


def test_art_without_ink_is_refused() -> None:
    """A blank drawing is nothing to carve."""
    with pytest.raises(NoDrawingFoundError) as caught:
        compose(BOARD, [art()], [], None, [])
    assert caught.value.field == "/inputs/art/0"
