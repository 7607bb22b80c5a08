"""Reading SVG against the standard itself.

Source: SVG 2 (W3C working-group text), CSS Values (units); ids X-01 to X-12 of the
project's collection of outside facts, which restates what was read there.
"""

import math

import numpy as np
import pytest

from workers.geometry.flattening import flatten
from workers.intake.svg_document import SvgDocument, read_svg
from workers.intake.svg_path_data import arc_pieces, read_path_data

FIELD = "/inputs/art/0/svg"


def document(body: str, head: str = 'width="100mm" height="100mm" viewBox="0 0 100 100"') -> SvgDocument:
    return read_svg(f'<svg xmlns="http://www.w3.org/2000/svg" {head}>{body}</svg>'.encode(), FIELD)


def bounds(body: str, head: str = 'width="100mm" height="100mm" viewBox="0 0 100 100"') -> tuple[float, ...]:
    return flatten(document(body, head).outlines).ink.polygons.bounds


def area(body: str, head: str = 'width="100mm" height="100mm" viewBox="0 0 100 100"') -> float:
    return flatten(document(body, head).outlines, 0.0005).ink.polygons.area


def ends(data: str) -> list[tuple[float, float]]:
    """Where each segment of a path ends."""
    subpaths, _ = read_path_data(data)
    return [tuple(piece[3]) for part in subpaths for piece in part.pieces]


@pytest.mark.parametrize(
    ("size", "side_mm"),
    [
        ("96", 25.4),
        ("96px", 25.4),
        ("1in", 25.4),
        ("72pt", 25.4),
        ("6pc", 25.4),
        ("25.4mm", 25.4),
        ("2.54cm", 25.4),
        ("101.6Q", 25.4),
    ],
)
def test_units_are_those_of_css(size: str, side_mm: float) -> None:
    """X-01: a user unit is 1/96 in; 1 pt = 1/72 in, 1 pc = 12 pt, 1 Q = 0.25 mm."""
    outlines = document('<rect width="1" height="1"/>', f'width="{size}" height="{size}"').outlines
    assert (outlines.width_mm, outlines.height_mm) == pytest.approx((side_mm, side_mm), abs=1e-12)


def test_the_view_box_gives_the_scale() -> None:
    """X-02: 300 mm over 1500 units is 0.2 mm a unit, whatever the resolution."""
    head = 'width="300mm" height="300mm" viewBox="0 0 1500 1500"'
    assert bounds('<rect x="500" y="1000" width="250" height="250"/>', head) == pytest.approx(
        (100, 50, 150, 100)
    )


@pytest.mark.parametrize(
    ("keep_aspect", "expected"),
    [
        ("", (0, 75, 300, 225)),  # scale 3, shift y 75
        ("xMidYMid meet", (0, 75, 300, 225)),
        ("none", (0, 0, 300, 300)),
        ("xMinYMin", (0, 150, 300, 300)),  # at the top of the page, so high up with y up
        ("xMaxYMax", (0, 0, 300, 150)),
        ("xMinYMid slice", (0, 0, 300, 300)),  # scale 6: the page shows only half of it
    ],
)
def test_the_view_box_keeps_its_aspect(keep_aspect: str, expected: tuple[float, ...]) -> None:
    """X-03: 300 x 300 mm over a view box of 100 x 50."""
    head = f'width="300mm" height="300mm" viewBox="0 0 100 50" preserveAspectRatio="{keep_aspect}"'
    assert bounds('<rect width="100" height="50"/>', head) == pytest.approx(expected, abs=1e-6)


def test_y_points_down_on_the_page() -> None:
    """X-04: what is near the top of the page has a large y in the sheet's frame."""
    assert bounds('<rect x="10" y="5" width="20" height="10"/>') == pytest.approx((10, 85, 30, 95))


@pytest.mark.parametrize(
    ("data", "end"),
    [
        ("M0 0L100-200", (100, -200)),
        ("M0 0L0.6.5", (0.6, 0.5)),
        ("M0 0L1e1-2E-1", (10, -0.2)),
        ("M0 0L23.,4", (23, 4)),
        ("M0,0\n\tL\r7 , 8", (7, 8)),
        ("M0 0L+5+6", (5, 6)),
    ],
)
def test_numbers_need_no_separator(data: str, end: tuple[float, float]) -> None:
    """X-05: the grammar of numbers in path data."""
    assert ends(data) == [pytest.approx(end)]


@pytest.mark.parametrize(
    ("data", "end"),
    [
        ("M0 0a1 1 0 0125 2", (25, 2)),
        ("M0 0a32 32 0 00.03-45.22", (0.03, -45.22)),
        ("M0 0a48 48 0 1148-48", (48, -48)),
        ("M0 0a2.51 2.51 0 01.25.32", (0.25, 0.32)),
        ("M0 0A1.2 1.2 0 0122 6.2", (22, 6.2)),
    ],
)
def test_arc_flags_are_single_characters(data: str, end: tuple[float, float]) -> None:
    """X-06: cases of public test lists."""
    assert ends(data)[-1] == pytest.approx(end)
    assert read_path_data(data)[1] is None


def test_further_pairs_after_a_move_are_lines() -> None:
    """X-07: M 0 0 10 0 10 10 is a move and two lines; after m they are relative."""
    assert ends("M0 0 10 0 10 10") == [(10, 0), (10, 10)]
    assert ends("m1 1 10 0 0 10") == [(11, 1), (11, 11)]


def test_after_a_close_a_path_goes_on_from_its_start() -> None:
    """X-07: a line after Z begins a new subpath at the old one's start."""
    subpaths, fault = read_path_data("M5 5L10 5L10 10ZL1 1")
    assert fault is None
    assert [part.is_closed for part in subpaths] == [True, False]
    assert subpaths[1].pieces[0, 0].tolist() == [5, 5]


def test_bad_data_are_drawn_up_to_the_last_good_segment_and_told() -> None:
    """X-08: M 10,10 L 20,20,30 draws to 20,20 and is an error."""
    subpaths, fault = read_path_data("M 10,10 L 20,20,30")
    assert [tuple(piece[3]) for piece in subpaths[0].pieces] == [(20, 20)]
    assert fault is not None
    note = document('<path d="M10,10L20,20L10,20L30"/>').notes[0]
    assert note.code == "svg-path-broken"


def test_an_arc_that_ends_where_it_starts_draws_nothing() -> None:
    """X-09."""
    assert arc_pieces((3, 4), 5, 5, 0, True, True, (3, 4)) == []


def test_an_arc_without_radius_is_a_line() -> None:
    """X-09."""
    pieces = arc_pieces((0, 0), 0, 5, 0, True, True, (9, 0))
    assert pieces == [((3, 0), (6, 0), (9, 0))]


def distances(start: tuple[float, float], pieces: list, centre: tuple[float, float]) -> np.ndarray:
    """Sampled points of an arc, relative to a centre."""
    found = []
    at = np.array(start)
    t = np.linspace(0, 1, 33)[:, None]
    for first, second, end in (map(np.array, piece) for piece in pieces):
        found.append(
            (1 - t) ** 3 * at + 3 * t * (1 - t) ** 2 * first + 3 * t * t * (1 - t) * second + t**3 * end
        )
        at = end
    return np.concatenate(found) - centre


@pytest.mark.parametrize("sign", [1, -1])
def test_too_small_radii_grow_and_negative_ones_are_made_positive(sign: int) -> None:
    """X-09: (0,0) to (50,0) with r 10 becomes r 25 round (25,0)."""
    pieces = arc_pieces((0, 0), 10 * sign, 10, 0, False, True, (50, 0))
    assert np.hypot(*distances((0, 0), pieces, (25, 0)).T) == pytest.approx(25, abs=25 * 4.3e-6)


def test_a_turned_arc_grows_as_the_standard_says() -> None:
    """X-09: (100,100) to (150,75), rx 25 ry 50 rot -30: 27.913197 x 55.826394 round (125, 87.5)."""
    pieces = arc_pieces((100, 100), 25, 50, -30, False, True, (150, 75))
    x, y = distances((100, 100), pieces, (125, 87.5)).T
    turn = math.radians(30)
    u, v = math.cos(turn) * x - math.sin(turn) * y, math.sin(turn) * x + math.cos(turn) * y
    assert np.hypot(u / 27.913197, v / 55.826394) == pytest.approx(1, abs=5e-6)
    start = math.degrees(math.atan2(v[0] / 55.826394, u[0] / 27.913197))
    assert start == pytest.approx(-178.280981, abs=1e-3)


def test_a_large_arc_backwards() -> None:
    """X-09: (0,0) A 30 20 0 1 0 (30,20) goes round (0,20) from -90 by -270 degrees."""
    pieces = arc_pieces((0, 0), 30, 20, 0, True, False, (30, 20))
    x, y = distances((0, 0), pieces, (0, 20)).T
    assert np.hypot(x / 30, y / 20) == pytest.approx(1, abs=5e-6)
    swept = np.unwrap(np.arctan2(y / 20, x / 30))
    assert math.degrees(swept[0]) == pytest.approx(-90, abs=1e-6)
    assert math.degrees(swept[-1] - swept[0]) == pytest.approx(-270, abs=1e-6)


def test_one_cubic_for_45_degrees_misses_by_four_millionths() -> None:
    """I-21: with k = 4/3 tan(angle/4) the worst radial error of 45 degrees is 4.245529e-6 of R."""
    pieces = arc_pieces((1, 0), 1, 1, 0, False, True, (math.sqrt(0.5), math.sqrt(0.5)))
    assert len(pieces) == 1
    radii = np.hypot(*distances((1, 0), pieces, (0, 0)).T)
    assert radii.max() - 1 == pytest.approx(4.245529e-6, rel=0.02)
    assert radii.min() >= 1 - 1e-12


def test_shapes_are_black_unless_told_otherwise() -> None:
    """X-10: fill black, stroke none."""
    assert area('<rect x="10" y="10" width="20" height="30"/>') == pytest.approx(600)


@pytest.mark.parametrize(
    ("attributes", "expected"),
    [
        ("", 100 * 1.0),  # width 1, butt
        ('stroke-width="4"', 400.0),
        ('stroke-width="4" stroke-linecap="square"', 416.0),
        ('stroke-width="4" stroke-linecap="round"', 400 + math.pi * 4),
        ('stroke-width="4" stroke-dasharray="10"', 200.0),  # an odd list repeats; 5 dashes of 10
        (
            'stroke-width="4" stroke-dasharray="30 10" stroke-dashoffset="20"',
            280.0,
        ),  # dashes of 10, 30 and 30
    ],
)
def test_a_line_is_its_stroke(attributes: str, expected: float) -> None:
    """X-13: width, caps and dashes; a line of 100 units in closed form."""
    head = 'width="200mm" height="200mm" viewBox="0 0 200 200"'
    line = f'<line x1="50" y1="50" x2="150" y2="50" stroke="black" {attributes}/>'
    assert area(line, head) == pytest.approx(expected, rel=1e-4)


@pytest.mark.parametrize(
    ("join", "expected"),
    [
        ("miter", 4.0),  # the whole square of 2 x 2 beyond the corner
        ("bevel", 2.0),  # half of it
        ("round", math.pi),  # a quarter disc of radius 2
    ],
)
def test_joins_of_a_right_angle(join: str, expected: float) -> None:
    """X-13: two legs of 40, width 4, share a 2 x 2 square inside; the join adds its own outside."""
    path = f'<path d="M10 50H50V10" fill="none" stroke="black" stroke-width="4" stroke-linejoin="{join}"/>'
    assert area(path) == pytest.approx(2 * 40 * 4 - 4 + expected, rel=1e-4)


def test_sharp_angles_are_bevelled_at_the_miter_limit() -> None:
    """X-10: with the default limit 4, miters end below 28.955 degrees."""
    spike_mm = {}
    for angle_deg in (28.0, 30.0):
        half = math.radians(angle_deg / 2)
        x, y = 60 * math.cos(half), 60 * math.sin(half)
        data = f"M{80 - x} {50 - y}L80 50L{80 - x} {50 + y}"
        spike_mm[angle_deg] = (
            bounds(f'<path d="{data}" fill="none" stroke="black" stroke-width="4"/>')[2] - 80
        )
    assert spike_mm[30.0] == pytest.approx(2 / math.sin(math.radians(15)), rel=1e-3)
    assert spike_mm[28.0] == pytest.approx(2 * math.sin(math.radians(14)), abs=0.01)


@pytest.mark.parametrize(("rule", "expected"), [("nonzero", 1600), ("evenodd", 1600 - 400)])
def test_fill_rules_differ_where_loops_run_the_same_way(rule: str, expected: float) -> None:
    """X-10, X-14: a square within a square, both clockwise."""
    path = f'<path fill-rule="{rule}" d="M10 10h40v40h-40zM20 20h20v20h-20z"/>'
    assert area(path) == pytest.approx(expected)


def test_a_hole_is_a_loop_the_other_way_round() -> None:
    """X-15: opposite directions, and both rules agree."""
    assert area('<path d="M10 10h40v40h-40zM20 20v20h20v-20z"/>') == pytest.approx(1200)


@pytest.mark.parametrize(
    ("style", "element", "is_drawn"),
    [
        ("rect{fill:none}", '<rect {} fill="black"/>', False),  # any rule beats an attribute
        (".a{fill:none}", '<rect {} class="b a" style="fill:black"/>', True),  # style beats any rule
        ("#r{fill:black}.a{fill:none}", '<rect {} id="r" class="a"/>', True),  # an id beats a class
        ("rect{fill:none!important}", '<rect {} style="fill:black"/>', False),
        ("rect{fill:none}rect{fill:black}", "<rect {}/>", True),  # the later of equals
        ("g rect{fill:none}", "<g><rect {}/></g>", False),
        (".x rect{fill:none}", "<g><rect {}/></g>", True),
        ("*{fill:none}", "<rect {}/>", False),
        ("/* rect{fill:none} */", "<rect {}/>", True),
    ],
)
def test_the_cascade(style: str, element: str, is_drawn: bool) -> None:
    """X-11: presentation attributes have specificity 0; style beats rules; important beats all."""
    body = f"<style>{style}</style>" + element.format('width="10" height="10"')
    assert area(f'{body}<rect x="50" y="50" width="5" height="5" style="fill:black!important"/>') == (
        pytest.approx(125 if is_drawn else 25)
    )


@pytest.mark.parametrize(
    ("transform", "expected"),
    [
        ("translate(10 20)", (10, 60, 20, 80)),
        ("translate(10)", (10, 80, 20, 100)),
        ("scale(2)", (0, 60, 20, 100)),
        ("scale(2,1)", (0, 80, 20, 100)),
        ("translate(50,0) rotate(90)", (30, 90, 50, 100)),  # x to the right becomes downwards
        ("rotate(180 50 50)", (90, 0, 100, 20)),
        ("matrix(0 1 1 0 0 0)", (0, 90, 20, 100)),
        ("skewX(45)", (0, 80, 30, 100)),
        ("translate(10,0),scale(2)", (10, 60, 30, 100)),
    ],
)
def test_transforms_apply_from_right_to_left(transform: str, expected: tuple[float, ...]) -> None:
    """X-12: a box of 10 x 20 in the page's upper left corner, moved; bounds with y up."""
    assert bounds(f'<rect width="10" height="20" transform="{transform}"/>') == pytest.approx(
        expected, abs=1e-9
    )


def test_transforms_scale_strokes_unless_told_otherwise() -> None:
    """X-12: scale(1,3) makes a flat stroke three times as wide, and one that does not scale keeps 1 px."""
    line = '<line x1="10" y1="10" x2="60" y2="10" stroke="black" stroke-width="2" transform="scale(1,3)" {}/>'
    assert area(line.format("")) == pytest.approx(50 * 6, rel=1e-4)
    thin = area(line.format('vector-effect="non-scaling-stroke"'))
    assert thin == pytest.approx(50 * 2 * 25.4 / 96, rel=1e-3)
