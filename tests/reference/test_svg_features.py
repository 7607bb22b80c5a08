"""Masks, markers, selectors, lengths and text of SVG against the standards' own words.

Sources: SVG 2 (chapters 5, 7, 11, 13), CSS Masking 1, CSS Values 3, Selectors 3, CSS Fonts 3,
from memory unless an X-id of the project's collection of outside facts is named; letters are
checked against fontTools, a general font library.
"""

import io
import math

import pytest
from fontTools.pens.areaPen import AreaPen
from fontTools.pens.boundsPen import BoundsPen
from fontTools.ttLib import TTFont

from workers.cutting_data.rows import read_font
from workers.geometry.flattening import flatten
from workers.intake.svg_document import SvgDocument, read_svg

HEAD = 'width="100mm" height="100mm" viewBox="0 0 100 100"'
SQUARE = '<rect x="10" y="10" width="20" height="20" {}/>'


def document(body: str, head: str = HEAD) -> SvgDocument:
    return read_svg(f'<svg xmlns="http://www.w3.org/2000/svg" {head}>{body}</svg>'.encode(), "/svg")


def area(body: str) -> float:
    return flatten(document(body).outlines, 0.0005).ink.polygons.area


def bounds(body: str) -> tuple[float, ...]:
    """Left, top, right and bottom with y down, as the file counts."""
    left, bottom, right, top = flatten(document(body).outlines, 0.0005).ink.polygons.bounds
    return left, 100 - top, right, 100 - bottom


@pytest.mark.parametrize(
    ("paint", "is_open"),
    [
        ('fill="white"', True),
        ('fill="black"', False),
        ('fill="#808080"', True),  # 128/255 = 0.502: values as they stand, not their light (0.216)
        ('fill="#7f7f7f"', False),  # 0.498
        ('fill="#f00"', False),  # 0.2126
        ('fill="#0f0"', True),  # 0.7152
        ('fill="white" opacity="0.6"', True),
        ('fill="#999" opacity="0.6"', False),  # 0.6 x 0.6
        ('fill="none" stroke="white" stroke-width="60"', True),
    ],
)
def test_a_mask_lets_through_where_it_is_light(paint: str, is_open: bool) -> None:
    """CSS Masking 1, 7.10: 0.2126 R + 0.7152 G + 0.0722 B under color-interpolation sRGB, times alpha."""
    mask = f'<mask id="m"><rect x="10" y="10" width="20" height="20" {paint}/></mask>'
    dot = '<rect x="60" y="60" width="2" height="2"/>'
    assert area(mask + SQUARE.format('mask="url(#m)"') + dot) == pytest.approx(404 if is_open else 4)


def test_a_mask_of_kind_alpha_lets_through_where_it_is_painted() -> None:
    """CSS Masking 1, mask-type: black counts as well as white."""
    mask = '<mask id="m" mask-type="alpha"><rect x="10" y="10" width="5" height="20"/></mask>'
    assert area(mask + SQUARE.format('mask="url(#m)"')) == pytest.approx(100)


def test_dark_paint_closes_a_mask_again() -> None:
    """Painter's order within the mask: a black disc on white."""
    mask = (
        '<mask id="m"><rect x="0" y="0" width="99" height="99" fill="white"/>'
        '<circle cx="20" cy="20" r="5"/></mask>'
    )
    assert area(mask + SQUARE.format('mask="url(#m)"')) == pytest.approx(400 - 25 * math.pi, rel=1e-4)


@pytest.mark.parametrize(
    ("attributes", "expected"),
    [
        ("", (8, 8, 32, 32)),  # the default region: the box and a tenth more on every side
        ('x="0" y="0" width="1" height="1"', (10, 10, 30, 30)),
        ('x="0" y="0" width="50%" height="100%"', (10, 10, 20, 30)),
        ('maskUnits="userSpaceOnUse" x="12" y="9" width="5" height="40"', (12, 9, 17, 31)),
    ],
)
def test_a_mask_ends_at_its_region(attributes: str, expected: tuple[float, ...]) -> None:
    """CSS Masking 1, mask element: x, y -10 %, width, height 120 % of the box, which leaves out strokes."""
    mask = f'<mask id="m" {attributes}><rect width="100" height="100" fill="white"/></mask>'
    drawn = SQUARE.format('stroke="black" stroke-width="2" mask="url(#m)"')
    left, top, right, bottom = expected
    seen = max(left, 9), max(top, 9), min(right, 31), min(bottom, 31)  # the stroke reaches one beyond the box
    assert bounds(mask + drawn) == pytest.approx(seen, abs=1e-3)


@pytest.mark.parametrize("kind", ["mask", "clipPath"])
def test_content_in_units_of_the_box(kind: str) -> None:
    """CSS Masking 1: objectBoundingBox makes the box of the element, here of a group, the unit square."""
    units = "maskContentUnits" if kind == "mask" else "clipPathUnits"
    use = "mask" if kind == "mask" else "clip-path"
    body = (
        f'<{kind} id="k" {units}="objectBoundingBox"><rect width="0.5" height="1" fill="white"/></{kind}>'
        f'<g {use}="url(#k)" transform="translate(20 0)"><rect width="10" height="10"/>'
        '<rect x="30" width="10" height="10"/></g>'
    )
    assert bounds(body) == pytest.approx((20, 0, 30, 10))


def test_a_clip_path_has_its_own_rule_and_can_be_clipped() -> None:
    """CSS Masking 1: clip-rule instead of fill-rule, no strokes, and clip-path on the clip path itself."""
    ring = "M10 10h20v20h-20zM15 15h10v10h-10z"
    clip = (
        '<clipPath id="left"><rect width="20" height="100"/></clipPath>'
        f'<clipPath id="c" clip-path="url(#left)"><path d="{ring}" clip-rule="evenodd" fill="none"'
        ' stroke="black" stroke-width="9"/></clipPath>'
    )
    drawn = '<rect width="50" height="50" clip-path="url(#c)"/>'
    assert area(clip + drawn) == pytest.approx((400 - 100) / 2)


def arrow(attributes: str) -> str:
    return (
        f'<marker id="k" {attributes}><path d="M0 0L2 1L0 2z"/></marker>'
        '<path d="M20 50H60V80" fill="none" stroke="#fff" stroke-width="2" marker-end="url(#k)"/>'
    )


@pytest.mark.parametrize(
    ("attributes", "expected"),
    [
        ("", (60, 80, 64, 84)),  # in stroke widths, unturned, its origin on the vertex
        ('orient="auto"', (56, 80, 60, 84)),  # the path goes down there: x turns into down
        ('orient="90"', (56, 80, 60, 84)),
        ('orient="0.25turn"', (56, 80, 60, 84)),
        ('markerUnits="userSpaceOnUse"', (60, 80, 62, 82)),
        ('refX="1" refY="1"', (58, 78, 62, 82)),
        ('markerUnits="userSpaceOnUse" markerWidth="1"', (60, 80, 61, 82)),  # cut at its viewport
        ('markerUnits="userSpaceOnUse" markerWidth="1" overflow="visible"', (60, 80, 62, 82)),
        ('viewBox="0 0 2 2" markerWidth="5" markerHeight="5" refX="2" refY="1"', (50, 75, 60, 85)),
    ],
)
def test_a_marker_at_the_end(attributes: str, expected: tuple[float, ...]) -> None:
    """SVG 2, 13.7: markerUnits strokeWidth, markerWidth 3, orient 0, overflow hidden by default."""
    assert bounds(arrow(attributes)) == pytest.approx(expected, abs=1e-3)


def test_markers_stand_at_every_vertex_and_half_way_in_corners() -> None:
    """SVG 2, 13.7.3: start, mid and end; at a right angle a bar stands at 45 degrees."""
    marker = '<marker id="k" orient="auto" overflow="visible"><path d="M-2 -.1h4v.2h-4z"/></marker>'
    corner = '<path d="M20 50H60V80" fill="none" stroke-width="1" marker-mid="url(#k)"/>'
    reach = 2 * math.cos(math.pi / 4) + 0.1 * math.cos(math.pi / 4)
    expected = (60 - reach, 50 - reach, 60 + reach, 50 + reach)
    assert bounds(marker + corner) == pytest.approx(expected, abs=1e-3)
    lines = '<polyline points="10,10 30,10 50,10 70,10" fill="none" stroke-width="1" marker="none" {}/>'
    every = " ".join(f'marker-{where}="url(#k)"' for where in ("start", "mid", "end"))
    assert area(marker + lines.format(every)) == pytest.approx(4 * 0.8)
    assert area(marker + lines.format('style="marker:url(#k)"')) == pytest.approx(4 * 0.8)


def test_an_arc_has_no_vertex_within() -> None:
    """A circle's half in one arc command: two vertices, whatever curves stand for it here."""
    marker = '<marker id="k" markerUnits="userSpaceOnUse"><rect width="1" height="1"/></marker>'
    arc = '<path d="M20 50A20 20 0 0 1 60 50" fill="none" marker-{}="url(#k)"/>'
    assert area(marker + arc.format("start")) == pytest.approx(1)
    dot = '<rect x="90" y="90" width="1" height="1"/>'
    assert area(marker + arc.format("mid") + dot) == pytest.approx(1)


@pytest.mark.parametrize(
    ("selector", "is_hit"),
    [
        ("g>rect", True),
        ("svg > rect", False),
        ("svg g > rect", True),
        ("svg > g rect", True),
        ("svg rect", True),
        ("g g rect", False),
        ("[data-berth]", True),
        ('[data-berth="7"]', False),
        ("rect[data-berth='7 8']", True),
        ('[data-berth~="8"]', True),
        ("[data-berth^='7']", True),
        ("[data-berth$='7']", False),
        ("[data-berth*=' ']", True),
        ("[lang|=en]", True),
        ("g.quay > rect.a.b", True),
        ("g.quay > rect.a.c", False),
        ("#one#two", False),
    ],
)
def test_selectors(selector: str, is_hit: bool) -> None:
    """Selectors 3, chapters 6 and 8: attributes, classes, descendants and children."""
    body = (
        f"<style>{selector}{{fill:none}}</style>".replace("'", "&apos;")
        + '<g class="quay"><rect id="one" class="a b" lang="en-GB" data-berth="7 8"'
        ' width="10" height="10"/></g>'
        '<path d="M50 50h5v5h-5z" style="fill:black!important"/>'
    )
    assert area(body) == pytest.approx(25 if is_hit else 125)


@pytest.mark.parametrize(
    "selector", ["rect:first-child", "a + rect", "a ~ rect", "rect::before", "rect:hover"]
)
def test_selectors_that_are_not_known_are_told(selector: str) -> None:
    """What is not applied has a note that quotes it."""
    note = document(f"<style>{selector}{{fill:none}}</style>" + SQUARE.format("")).notes[0]
    assert note.code == "svg-style-ignored"
    assert selector in note.message


@pytest.mark.parametrize(
    ("media", "is_applied"),
    [
        ("print", True),
        ("all", True),
        ("screen, print", True),
        ("screen", False),
        ("not print", False),
        ("print and (min-width: 5cm)", False),
    ],
)
def test_rules_for_paper_count_and_others_are_told(media: str, is_applied: bool) -> None:
    """Media Queries 3: a board is final as paper is; a feature of the medium is not looked at."""
    body = f"<style>@media {media} {{ rect {{ fill: none }} }}</style>" + SQUARE.format("")
    drawn = document(body + '<circle cx="80" cy="80" r="5"/>')
    assert flatten(drawn.outlines).ink.polygons.area == pytest.approx(
        25 * math.pi + (0 if is_applied else 400), abs=0.1
    )
    assert [note.code for note in drawn.notes] == ([] if is_applied else ["svg-style-ignored"])


@pytest.mark.parametrize("join", ["arcs", "miter-clip"])
def test_joins_that_are_not_drawn_are_told(join: str) -> None:
    """SVG 2, 13.5.5: a reader without them takes miter."""
    line = '<path d="M20 80V20H80" fill="none" stroke="black" stroke-width="10" {}/>'
    plain, asked = (
        document(line.format(word)) for word in ('stroke-linejoin="miter"', f'stroke-linejoin="{join}"')
    )
    areas = [flatten(each.outlines).ink.polygons.area for each in (plain, asked)]
    assert areas[0] == pytest.approx(areas[1])
    assert [note.code for note in asked.notes] == ["svg-effect-ignored"]


@pytest.mark.parametrize(
    ("width", "units"),
    [
        ("1in", 96),
        ("25.4mm", 96),
        ("2.54cm", 96),
        ("101.6Q", 96),
        ("72pt", 96),
        ("6pc", 96),
        ("96px", 96),
        ("96", 96),
        ("2em", 40),  # of the font-size on the group, 20
        ("2ex", 20),  # CSS Values 3: half an em where the x is not measured
        ("10%", 30),  # of the view box's 300
    ],
)
def test_lengths_of_every_unit(width: str, units: float) -> None:
    """X-01 and CSS Values 3, chapters 5 and 6."""
    head = 'width="300mm" height="300mm" viewBox="0 0 300 300"'
    drawn = document(f'<g font-size="20"><rect width="{width}" height="10"/></g>', head)
    assert flatten(drawn.outlines).ink.polygons.area == pytest.approx(10 * units)


def test_a_length_that_is_none_is_told() -> None:
    """Units of screens have no meaning on wood."""
    notes = document('<rect width="20" height="10" rx="2vw"/>').notes
    assert [note.code for note in notes] == ["svg-length-ignored"]


@pytest.mark.parametrize(
    ("markup", "is_drawn"),
    [
        ('<g color="white"><rect {} fill="currentColor"/></g>', False),
        ('<g color="white"><rect {} fill="currentColor" color="black"/></g>', True),
        ('<g fill="none"><rect {} fill="inherit"/></g>', False),
        ('<g fill="none"><rect {} style="fill:initial"/></g>', True),
        ('<g opacity="0.5"><rect {} opacity="0.5"/></g>', False),  # 0.25 in all: groups multiply
        ('<g opacity="0.8"><rect {} opacity="0.8"/></g>', True),
        ('<g fill-opacity="0.6"><rect {} fill-opacity="0.6"/></g>', True),  # inherited, not multiplied
        ('<g visibility="hidden"><rect {} visibility="visible"/></g>', True),
        ('<g display="none"><rect {} display="inline"/></g>', False),
    ],
)
def test_what_is_inherited(markup: str, is_drawn: bool) -> None:
    """SVG 2, chapter 6, and CSS Color 3: currentColor, inherit, initial, opacity of groups."""
    dot = '<rect x="60" y="60" width="2" height="2"/>'
    assert area(markup.format('width="10" height="10"') + dot) == pytest.approx(104 if is_drawn else 4)


def test_paint_order_puts_the_fill_on_top() -> None:
    """SVG 2, 13.5: a white fill over a black stroke leaves its outer half."""
    shape = SQUARE.format('fill="white" stroke="black" stroke-width="2" {}')
    assert area(shape.format("")) == pytest.approx(22**2 - 18**2)
    assert area(shape.format('paint-order="stroke"')) == pytest.approx(22**2 - 20**2)


def test_a_nested_page_hides_what_lies_beyond_it() -> None:
    """SVG 2, 8.5: overflow is hidden in nested viewports unless it says visible."""
    inner = '<svg x="10" y="10" width="10" height="10"{}><rect width="40" height="5"/></svg>'
    assert area(inner.format("")) == pytest.approx(50)
    assert area(inner.format(' overflow="visible"')) == pytest.approx(200)


def test_transforms_with_units() -> None:
    """CSS Transforms 1: angles and lengths may have units; 0.25turn is 90 degrees, 1in is 96 px."""
    turned = '<rect width="10" height="5" transform="translate(20px,30px) rotate(0.25turn)"/>'
    assert bounds(turned) == pytest.approx((15, 30, 20, 40))
    head = 'width="300mm" height="300mm" viewBox="0 0 300 300"'
    moved = document('<rect width="10" height="5" style="transform:translateX(1in)"/>', head)
    assert flatten(moved.outlines).ink.polygons.bounds[0] == pytest.approx(96)


BERTH_SIGN = """<svg xmlns="http://www.w3.org/2000/svg" width="6in" height="4in" viewBox="0 0 600 400">
<title>Berth 7, Tern Quay</title>
<style>
  .board { fill: none; stroke: currentColor; stroke-width: 10px }
  g.marks > rect { fill: #14213d }
  [data-part="float"] { fill-rule: evenodd }
</style>
<defs>
  <symbol id="bollard" viewBox="0 0 10 10"><circle cx="5" cy="5" r="5"/></symbol>
  <clipPath id="left-half"><rect width="300" height="400"/></clipPath>
  <mask id="slot" maskUnits="userSpaceOnUse" x="0" y="0" width="600" height="400">
    <rect width="600" height="400" fill="white"/><rect x="440" y="200" width="20" height="200"/></mask>
</defs>
<rect class="board" x="20" y="20" width="560" height="360" color="navy"/>
<g class="marks" transform="translate(100 100) scale(2)"><rect width="20" height="10"/>
  <g><rect x="30" width="20" height="10" fill="none"/></g></g>
<use href="#bollard" x="400" y="60" width="100" height="100"/>
<path data-part="float" d="M60 220h80v80h-80zM80 240h40v40h-40z" clip-path="url(#left-half)"/>
<rect x="400" y="250" width="100" height="50" mask="url(#slot)"/>
</svg>"""


def test_a_whole_sign_by_its_parts() -> None:
    """Style sheet, symbol, clip path, mask and units in one file; every part's area in closed form."""
    drawn = read_svg(BERTH_SIGN.encode(), "/svg")
    board = 570 * 370 - 550 * 350
    marks = 4 * 20 * 10
    bollard = math.pi * 50**2
    floats = 80**2 - 40**2
    slotted = 100 * 50 - 20 * 50
    expected_mm2 = (board + marks + bollard + floats + slotted) * 0.254**2
    ink = flatten(drawn.outlines, 0.0005).ink.polygons
    assert drawn.notes == ()
    assert (drawn.outlines.width_mm, drawn.outlines.height_mm) == pytest.approx((152.4, 101.6))
    assert ink.area == pytest.approx(expected_mm2, rel=1e-4)
    assert len(ink.geoms) == 6  # the slot parts its rectangle
    assert sum(len(part.interiors) for part in ink.geoms) == 2


# Letters, against fontTools.


def letter(file: str, character: str) -> tuple[float, tuple[float, ...], float]:
    """Area, bounds and advance of a letter, in ems."""
    font = TTFont(io.BytesIO(read_font(file)))
    glyphs, name = font.getGlyphSet(), font.getBestCmap()[ord(character)]
    size, box = AreaPen(glyphs), BoundsPen(glyphs)
    glyphs[name].draw(size)
    glyphs[name].draw(box)
    em = font["head"].unitsPerEm
    return abs(size.value) / em**2, tuple(value / em for value in box.bounds), glyphs[name].width / em


SANS = "source-sans-regular.ttf"


def test_a_letter_has_the_area_and_place_of_its_glyph() -> None:
    """The baseline at y, the origin at x, the em as large as font-size."""
    size, (left, low, right, high), _ = letter(SANS, "H")
    body = '<text x="10" y="60" font-size="40" font-family="Source Sans">H</text>'
    assert area(body) == pytest.approx(size * 1600, rel=1e-4)
    expected = (10 + 40 * left, 60 - 40 * high, 10 + 40 * right, 60 - 40 * low)
    assert bounds(body) == pytest.approx(expected, abs=1e-3)


@pytest.mark.parametrize(("anchor", "share"), [("start", 0), ("middle", 0.5), ("end", 1)])
def test_text_is_anchored_by_its_advance(anchor: str, share: float) -> None:
    """SVG 2, 11.10.2: the advance of all letters, not the ink, is aligned."""
    _, (left, *_), advance = letter(SANS, "H")
    body = f'<text x="50" y="60" font-size="20" font-family="Source Sans" text-anchor="{anchor}">HH</text>'
    assert bounds(body)[0] == pytest.approx(50 - share * 2 * 20 * advance + 20 * left, abs=1e-3)


@pytest.mark.parametrize(
    ("markup", "second_x"),
    [
        ("HH", None),
        ('<tspan>H</tspan><tspan dx="5">H</tspan>', 5.0),
        ('<tspan letter-spacing="4">HH</tspan>', 4.0),
        ('H<tspan x="70">H</tspan>', 70.0),
    ],
)
def test_letters_follow_each_other(markup: str, second_x: float | None) -> None:
    """SVG 2, 11.4: dx adds to the advance, x takes its place; CSS Text 3: letter-spacing adds."""
    _, (_, _, right, _), advance = letter(SANS, "H")
    end = {None: 10 + 20 * advance, 70.0: 70.0}.get(second_x, 10 + 20 * advance + (second_x or 0))
    body = f'<text x="10" y="60" font-size="20" font-family="Source Sans">{markup}</text>'
    assert bounds(body)[2] == pytest.approx(end + 20 * right, abs=1e-3)


def test_lists_of_places_go_letter_by_letter() -> None:
    """SVG 2, 11.4: x="10 60" and dy="0 7" for two letters."""
    _, (_, low, right, _), _ = letter(SANS, "H")
    body = '<text x="10 60" y="50" dy="0 7" font-size="20" font-family="Source Sans">HH</text>'
    assert bounds(body)[2:] == pytest.approx((60 + 20 * right, 57 - 20 * low), abs=1e-3)


def test_white_space_is_put_together() -> None:
    """SVG 2, 11.5: line ends and runs of spaces count as one; none at either end."""
    spread = '<text x="10" y="50" font-size="9" font-family="Source Sans">\n  H \n\t H  </text>'
    plain = '<text x="10" y="50" font-size="9" font-family="Source Sans">H H</text>'
    assert bounds(spread) == pytest.approx(bounds(plain))


@pytest.mark.parametrize(
    ("style", "title"),
    [
        ('font-family="Source Serif Pro" font-weight="bold"', None),
        ('font-family="\'Cinzel\', serif" font-weight="700"', None),
        ('style="font:bold 12px/1.2 Zilla Slab, serif"', None),
        ('font-family="Harbour Script, serif"', "Source Serif Regular instead of Harbour Script"),
        ('font-family="sans-serif"', None),
        ('font-family="Cinzel" font-weight="400"', "Cinzel Bold instead of Cinzel in weight 400"),
    ],
)
def test_the_font_is_the_one_asked_for_or_it_is_told(style: str, title: str | None) -> None:
    """CSS Fonts 3: the first family at hand, the nearest weight; a stand-in is named."""
    notes = document(f'<text x="5" y="50" {style}>QUAY</text>').notes
    assert [note.code for note in notes] == ([] if title is None else ["svg-font-replaced"])
    assert title is None or title in notes[0].message


def test_a_font_that_is_not_at_hand_is_named() -> None:
    """Nothing stands in for it: the text is left out."""
    notes = document('<text y="50" font-family="Harbour Script">Q</text>' + SQUARE.format("")).notes
    assert [note.code for note in notes] == ["svg-text-left-out"]
    assert "Harbour Script" in notes[0].message


ROUND = '<circle id="line" cx="50" cy="50" r="30"/>'


def along(path: str, attributes: str = "", text: str = "H") -> str:
    return (
        f'<defs>{path}</defs><text font-size="20" font-family="Source Sans">'
        f'<textPath href="#line" {attributes}>{text}</textPath></text>'
    )


@pytest.mark.parametrize(
    ("path", "attributes", "turn_deg", "middle"),
    [
        ('<path id="line" d="M10 60H90"/>', "", 0, None),
        ('<path id="line" d="M10 60H90"/>', 'startOffset="50%" text-anchor="middle"', 0, (50, 60)),
        (
            '<path id="line" d="M10 60H90" pathLength="8"/>',
            'startOffset="4" text-anchor="middle"',
            0,
            (50, 60),
        ),
        ('<path id="line" d="M40 10V90"/>', 'startOffset="30" text-anchor="middle"', 90, (40, 40)),
        (
            '<path id="line" d="M0 0H80" transform="translate(10 60)"/>',
            'startOffset="20" text-anchor="middle"',
            0,
            (30, 60),
        ),
        (
            '<line id="line" x1="90" x2="10" y1="40" y2="40"/>',
            'side="right" startOffset="50%" text-anchor="middle"',
            0,
            (50, 40),
        ),
        # a circle starts at its right and runs clockwise as seen: three quarters on is its top
        (ROUND, 'startOffset="75%" text-anchor="middle"', 0, (50, 20)),
        (ROUND, 'startOffset="25%" text-anchor="middle"', 180, (50, 80)),
    ],
)
def test_a_letter_stands_on_its_path(
    path: str, attributes: str, turn_deg: float, middle: tuple[float, float] | None
) -> None:
    """SVG 2, 11.8.3: the middle of its advance on the line, its baseline along it; area as the glyph's."""
    size, (left, low, right, high), advance = letter(SANS, "H")
    x, y = middle or (10 + 10 * advance, 60)
    cos, sin = math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg))
    corners = [
        (x + cos * dx - sin * dy, y + sin * dx + cos * dy)
        for dx in (20 * (left - advance / 2), 20 * (right - advance / 2))
        for dy in (-20 * low, -20 * high)
    ]
    expected = (
        *(min(corner[axis] for corner in corners) for axis in (0, 1)),
        *(max(corner[axis] for corner in corners) for axis in (0, 1)),
    )
    assert area(along(path, attributes)) == pytest.approx(size * 400, rel=1e-3)
    assert bounds(along(path, attributes)) == pytest.approx(expected, abs=0.01)


def test_letters_follow_each_other_along_a_circle() -> None:
    """Two letters stand as far apart on the circle as their advances say."""
    _, _, advance = letter(SANS, "H")
    drawn = document(along(ROUND, 'startOffset="60%"', "HH"))
    one, other = (part.centroid for part in flatten(drawn.outlines).ink.polygons.geoms)
    angles = [math.atan2(spot.y - 50, spot.x - 50) for spot in (one, other)]
    assert abs(angles[0] - angles[1]) == pytest.approx(20 * advance / 30, abs=1e-3)


@pytest.mark.parametrize(
    ("path", "text"),
    [
        ('<path id="line" d="M10 60H30"/>', "HHHH"),  # SVG 2, 11.8.3: beyond the end nothing is drawn
        ('<path id="other" d="M10 60H30"/>', "H"),
        ('<path id="line" d="M10 60"/>', "H"),
        ('<g id="line"/>', "H"),
    ],
)
def test_letters_without_a_line_are_told(path: str, text: str) -> None:
    """What has no place is named."""
    noted = document(along(path, text=text) + '<rect width="5" height="5"/>').notes
    assert [note.code for note in noted] == ["svg-text-left-out"]
