"""Gradients, patterns, see-through paint and groups of SVG: what counts as ink, by closed forms.

Sources: SVG 2, chapters 13 and 14, Compositing and Blending 1, CSS Color 3, from memory; relative
luminance is that of IEC 61966-2-1 and ITU-R BT.709 (WCAG 2 has the same formula).
"""

import math

import pytest

from workers.geometry.flattening import flatten
from workers.intake.svg_document import SvgDocument, read_svg

HEAD = (
    'xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'
    ' width="100mm" height="100mm" viewBox="0 0 100 100"'
)
DOT = '<rect x="90" y="90" width="2" height="2"/>'  # 4 mm2: a drawing must have some ink
PAINTED = '<rect width="10" height="10" fill="url(#it)"/>'


def read(body: str) -> SvgDocument:
    return read_svg(f"<svg {HEAD}>{body}</svg>".encode(), "/svg")


def area(body: str) -> float:
    return flatten(read(body).outlines, 0.0005).ink.polygons.area


def bounds(body: str) -> tuple[float, ...]:
    """Left, top, right and bottom with y down, as the file counts."""
    left, bottom, right, top = flatten(read(body).outlines, 0.0005).ink.polygons.bounds
    return left, 100 - top, right, 100 - bottom


def codes(body: str) -> list[str]:
    return [note.code for note in read(body).notes]


def stops(*pairs: tuple[float, str]) -> str:
    return "".join(f'<stop offset="{offset}" stop-color="{colour}"/>' for offset, colour in pairs)


HARD = stops((0, "black"), (0.6, "black"), (0.6, "white"), (1, "white"))


@pytest.mark.parametrize(
    ("gradient", "is_ink"),
    [
        # a ramp from black to white: the mean of ((v + 0.055) / 1.055)^2.4 over v is 0.31
        (f'<linearGradient id="it">{stops((0, "black"), (1, "white"))}</linearGradient>', True),
        # from #aaa (0.40) to white (1): more than half
        (f'<linearGradient id="it">{stops((0, "#aaa"), (1, "white"))}</linearGradient>', False),
        (f'<linearGradient id="it">{HARD}</linearGradient>', True),  # 0.4 of its length is white
        (f'<radialGradient id="it">{HARD}</radialGradient>', False),  # 1 - 0.6^2 of its disc is white
        (f'<linearGradient id="it">{stops((0, "black"))}</linearGradient>', True),  # one stop: its colour
        (f'<linearGradient id="it">{stops((0.5, "yellow"))}</linearGradient>', False),
        ('<linearGradient id="it"/>', False),  # no stops: no paint
        (f'<linearGradient id="it" href="#of"/><radialGradient id="of">{HARD}</radialGradient>', True),
        (f'<linearGradient id="it" xlink:href="#of"/><linearGradient id="of">{HARD}</linearGradient>', True),
        ('<linearGradient id="it" href="#of"/><linearGradient id="of" href="#it"/>', False),  # for ever
        ('<linearGradient id="it"><stop/><stop offset="1" stop-opacity="0"/></linearGradient>', True),
        ('<linearGradient id="it"><stop stop-opacity=".2"/></linearGradient>', False),
        ('<linearGradient id="it" color="white"><stop stop-color="currentColor"/></linearGradient>', False),
        ('<linearGradient id="it"><stop style="stop-color:#fff"/></linearGradient>', False),
        # offsets never go back: the second counts as 0.8, and 0.8 is black
        (
            f'<linearGradient id="it">{stops((0, "black"), (0.8, "black"), (0.1, "white"))}</linearGradient>',
            True,
        ),
    ],
)
def test_a_gradient_is_ink_by_its_mean_luminance(gradient: str, is_ink: bool) -> None:
    """SVG 2, 14.2: stops, templates, offsets; the whole shape has one tone."""
    assert area(gradient + PAINTED + DOT) == pytest.approx(104 if is_ink else 4)


def test_it_is_told_that_gradients_are_averaged() -> None:
    """By name and number, with what to do."""
    gradient = f'<linearGradient id="it">{HARD}</linearGradient>'
    note = next(note for note in read(gradient + PAINTED * 2).notes if "gradient" in note.code)
    assert note.code == "svg-gradient-averaged"
    assert "linearGradient x2" in note.message
    assert note.remedy


@pytest.mark.parametrize(
    ("fill", "is_ink"),
    [("url(#no)", False), ("url(#no) black", True), ("url(#no) white", False), ("url(#no) none", False)],
)
def test_a_paint_that_leads_nowhere_is_its_fallback_or_none(fill: str, is_ink: bool) -> None:
    """SVG 2, 13.2; and it is told."""
    body = f'<rect width="10" height="10" fill="{fill}"/>' + DOT
    assert area(body) == pytest.approx(104 if is_ink else 4)
    assert "svg-effect-ignored" in codes(body)


def luminance(value: float) -> float:
    """Of a grey, by the standard's formula."""
    return value / 12.92 if value <= 0.04045 else ((value + 0.055) / 1.055) ** 2.4


@pytest.mark.parametrize("opacity", [0.1, 0.25, 0.26, 0.27, 0.5, 0.9])
@pytest.mark.parametrize("how", ["opacity", "fill-opacity"])
def test_black_that_lets_through_counts_as_the_grey_it_makes(opacity: float, how: str) -> None:
    """Black of opacity a on white paper is the grey 1 - a: ink if that grey's luminance is below a half."""
    seen = area(f'<rect width="10" height="10" {how}="{opacity}"/>' + DOT)
    assert seen == pytest.approx(104 if luminance(1 - opacity) < 0.5 else 4)
    solid = "#" + f"{round((1 - opacity) * 255):02x}" * 3
    assert area(f'<rect width="10" height="10" fill="{solid}"/>' + DOT) == pytest.approx(seen)


@pytest.mark.parametrize("opacity", [0.3, 0.6, 0.73, 0.74, 0.9])
def test_white_that_lets_through_hides_ink_where_it_looks_light(opacity: float) -> None:
    """White of opacity a on black is the grey a: it hides the ink if that grey is light."""
    body = '<rect width="20" height="20"/><rect width="10" height="10" fill="white" opacity="{}"/>'
    hides = luminance(opacity) >= 0.5
    assert area(body.format(opacity)) == pytest.approx(300 if hides else 400)
    assert ("svg-pale-paint" in codes(body.format(opacity))) != hides


@pytest.mark.parametrize(
    ("opacity", "expected"),
    [
        (1, 900 + 1600 - 400 - 400),  # the white cuts both
        (0.9, 900 + 1600 - 400 - 400),
        (0.5, 900 + 1600 - 400 - (400 - 100)),  # only the group's own: 10 x 10 of it is black beneath
        (0.2, 900),  # too pale to be ink, and to hide any
    ],
)
@pytest.mark.parametrize("how", ["g", "use", "nested", "svg"])
def test_white_cuts_ink_within_a_group_that_is_seen_through(
    how: str, opacity: float, expected: float
) -> None:
    """A group is painted by itself, then faded: its white cuts its own black whatever its opacity.

    30 x 30 of black beneath; in the group 40 x 40 of black from (10, 10) and 20 x 20 of white from (20, 20).
    """
    inner = (
        '<rect x="10" y="10" width="40" height="40"/>'
        '<rect x="20" y="20" width="20" height="20" fill="white"/>'
    )
    group = {
        "g": f'<g opacity="{opacity}">{inner}</g>',
        "use": f'<symbol id="s">{inner}</symbol><use href="#s" opacity="{opacity}"/>',
        "nested": f'<g opacity="{math.sqrt(opacity)}"><g opacity="{math.sqrt(opacity)}">{inner}</g></g>',
        "svg": f'<svg opacity="{opacity}" width="100" height="100">{inner}</svg>',
    }[how]
    assert area('<rect width="30" height="30"/>' + group) == pytest.approx(expected)


def test_a_shape_that_is_seen_through_is_a_group_of_its_fill_and_stroke() -> None:
    """SVG 2, 3.5: a white fill over half of its black stroke, both at 0.6, leaves the outer half alone."""
    shape = (
        '<rect x="20" y="20" width="50" height="50" fill="white" stroke="black" stroke-width="10"'
        ' paint-order="stroke" opacity="0.6"/>'
    )
    ring = 60**2 - 50**2  # 15 to 75, without 20 to 70
    beneath = '<rect x="5" y="5" width="45" height="45"/>'
    shared = 35**2 - 30**2  # of 15 to 50, without 20 to 50
    assert area(shape + DOT) == pytest.approx(ring + 4)
    assert area(beneath + shape) == pytest.approx(45**2 + ring - shared)


def test_light_paint_is_told() -> None:
    """Yellow is taken as paper, which its maker may not expect; white is paper to everybody."""
    assert codes('<rect width="9" height="9" fill="yellow"/>' + DOT) == ["svg-light-paint"]
    assert codes('<rect width="9" height="9" fill="white"/>' + DOT) == []


@pytest.mark.parametrize(
    ("paint", "is_told"),
    [
        ('fill="white"', False),
        ('fill="black"', False),
        ('fill="#888"', True),
        ('fill="white" opacity="0.7"', True),
        ('fill="black" opacity="0.7"', True),
    ],
)
def test_a_mask_that_lets_through_in_part_is_told(paint: str, is_told: bool) -> None:
    """It is open or closed here, with nothing between."""
    mask = f'<mask id="m"><rect width="50" height="50" {paint}/></mask>'
    noted = codes(mask + '<rect width="20" height="20" mask="url(#m)"/>' + DOT)
    assert noted == (["svg-mask-halved"] if is_told else [])


def test_a_gradient_opens_a_mask_where_its_mean_does() -> None:
    """CSS Masking 1, 7.10: values as they stand; 0.4 of the mask's light is white, so it is closed."""
    mask = f'<linearGradient id="it">{HARD}</linearGradient><mask id="m">{PAINTED}</mask>'
    assert area(mask + '<rect width="10" height="10" mask="url(#m)"/>' + DOT) == pytest.approx(4)


BARS = 'patternUnits="userSpaceOnUse" width="10" height="10"><rect width="4" height="10"/>'


@pytest.mark.parametrize(
    ("pattern", "expected", "box"),
    [
        (f'<pattern id="it" {BARS}</pattern>', 0.4, (0, 0, 94, 50)),
        (f'<pattern id="it" x="3" {BARS}</pattern>', 0.4, (3, 0, 97, 50)),
        (
            f'<pattern id="it" patternTransform="translate(0 7) rotate(90)" {BARS}</pattern>',
            0.4,
            (0, 0, 100, 50),
        ),
        (f'<pattern id="it" patternTransform="scale(.5)" {BARS}</pattern>', 0.4, (0, 0, 97, 50)),
        (f'<pattern id="it" href="#of"/><pattern id="of" {BARS}</pattern>', 0.4, (0, 0, 94, 50)),
        # a tenth of the box's width and all of its height
        (
            '<pattern id="it" width=".1" height="1"><rect width="5" height="50"/></pattern>',
            0.5,
            (0, 0, 95, 50),
        ),
        (
            (
                '<pattern id="it" width=".1" height="1" patternContentUnits="objectBoundingBox">'
                '<rect width=".05" height="1"/></pattern>'
            ),
            0.5,
            (0, 0, 95, 50),
        ),
        (
            (
                '<pattern id="it" patternUnits="userSpaceOnUse" width="10" height="10" viewBox="0 0 2 2">'
                '<rect x="1" width="1" height="2"/></pattern>'
            ),
            0.5,
            (5, 0, 100, 50),
        ),
        # what reaches beyond the tile is cut off
        (
            (
                '<pattern id="it" patternUnits="userSpaceOnUse" width="10" height="10">'
                '<rect x="8" width="4" height="10"/></pattern>'
            ),
            0.2,
            (8, 0, 100, 50),
        ),
    ],
)
def test_a_pattern_is_laid_tile_by_tile(pattern: str, expected: float, box: tuple[float, ...]) -> None:
    """SVG 2, 14.3: units, content units, view box, transform, templates; on 100 x 50."""
    body = pattern + '<rect width="100" height="50" fill="url(#it)"/>'
    assert area(body) == pytest.approx(5000 * expected, rel=1e-4)
    assert bounds(body) == pytest.approx(box, abs=1e-3)
    assert codes(body) == []


def test_a_pattern_ends_at_its_shape_and_hides_what_is_beneath() -> None:
    """A disc of bars, 0.4 of it black; a white ground in the tile hides the ink beneath."""
    disc = f'<pattern id="it" {BARS}</pattern><circle cx="50" cy="50" r="40" fill="url(#it)"/>'
    assert area(disc) == pytest.approx(0.4 * math.pi * 1600, rel=0.02)
    left, top, right, bottom = bounds(disc)
    assert min(left, top) >= 10 - 1e-3
    assert max(right, bottom) <= 90 + 1e-3
    white = BARS.replace("<rect", '<rect width="10" height="10" fill="white"/><rect')
    beneath = f'<rect width="100" height="50"/><pattern id="it" {white}</pattern>'
    assert area(beneath + '<rect width="50" height="50" fill="url(#it)"/>') == pytest.approx(
        2500 + 1000, rel=1e-4
    )


def test_tiles_meet_without_slits() -> None:
    """Bars along the tiles' sides join into one bar across all of them, even turned and odd in size."""
    tile = (
        '<pattern id="it" patternUnits="userSpaceOnUse" width="3.7" height="6.1"'
        ' patternTransform="rotate(13)"><rect width="3.7" height="2.3"/></pattern>'
    )
    polygons = flatten(read(tile + '<rect width="90" height="40" fill="url(#it)"/>').outlines).ink.polygons
    assert len(polygons.geoms) < 14  # one for each row of tiles that the rectangle shows
    assert all(not part.interiors for part in polygons.geoms)


@pytest.mark.parametrize(
    "pattern",
    [
        '<pattern id="it" width="0" height="1"><rect width="4" height="4"/></pattern>',
        '<pattern id="it" width=".1" height=".1"><rect width="9" height="9" fill="url(#it)"/></pattern>',
        f'<pattern id="it" patternTransform="scale(1e-4)" {BARS}</pattern>',
    ],
)
def test_a_pattern_that_cannot_be_laid_is_told(pattern: str) -> None:
    """Of no size, of itself, or of millions of tiles: nothing is painted."""
    body = pattern + '<rect width="80" height="80" fill="url(#it)"/>' + DOT
    assert area(body) == pytest.approx(4)
    assert "svg-effect-ignored" in codes(body)
