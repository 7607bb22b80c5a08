"""SVG in, outlines and findings out; hostile files refused."""

import pytest

from workers.errors import (
    ImageTooLargeError,
    InputRejectedError,
    NoDrawingFoundError,
    ParameterOutOfRangeError,
    UnreadableImageError,
    UnsafeSvgError,
)
from workers.geometry.flattening import flatten
from workers.intake.svg_document import SvgDocument, read_svg
from workers.intake.svg_walk import Walk

FIELD = "/inputs/art/0/svg"
HEAD = 'xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'
SIZE = 'width="100mm" height="100mm" viewBox="0 0 100 100"'
BOX = '<rect x="10" y="10" width="20" height="20"/>'


def read(body: str, size: str = SIZE, before: str = "") -> SvgDocument:
    return read_svg(f"{before}<svg {HEAD} {size}>{body}</svg>".encode(), FIELD)


def area(body: str) -> float:
    return flatten(read(body).outlines).ink.polygons.area


def codes(body: str, size: str = SIZE) -> list[str]:
    return [note.code for note in read(body, size).notes]


def test_a_plain_drawing_has_no_notes() -> None:
    """Size in mm, shapes only: nothing to tell."""
    assert codes(BOX) == []


def test_curves_stay_curves() -> None:
    """A circle is read as few cubic pieces, not as a polygon."""
    document = read('<circle cx="50" cy="50" r="20"/>')
    assert [len(loop) for loop in document.outlines.loops] == [8]


def test_overlapping_shapes_become_one_outline() -> None:
    """Two squares that overlap in a quarter: one loop round both."""
    body = BOX + '<rect x="20" y="20" width="20" height="20"/>'
    assert len(read(body).outlines.loops) == 1
    assert area(body) == pytest.approx(700)


def test_touching_shapes_become_one_outline() -> None:
    """Squares side by side leave no seam between them."""
    body = BOX + '<rect x="30" y="10" width="20" height="20"/>'
    assert len(read(body).outlines.loops) == 1
    assert area(body) == pytest.approx(800)


def test_overlapping_curves_stay_curves() -> None:
    """Two circles that overlap: a lens counted once, by the closed form, and still few pieces."""
    document = read('<circle cx="40" cy="50" r="20"/><circle cx="60" cy="50" r="20"/>')
    lens = 2 * 400 * 1.0471975512 - 20 / 2 * (4 * 400 - 400) ** 0.5
    ink = flatten(document.outlines, 0.0005).ink.polygons
    assert ink.area == pytest.approx(2 * 3.14159265359 * 400 - lens, rel=1e-4)
    assert sum(len(loop) for loop in document.outlines.loops) < 40
    assert [note.code for note in document.notes] == ["svg-shapes-overlapping"]


def test_light_paint_covers_what_lies_beneath() -> None:
    """A white square on a black one is a hole; black on it again is ink."""
    white = '<rect x="12" y="12" width="16" height="16" fill="white"/>'
    dot = '<rect x="18" y="18" width="4" height="4" fill="#102030"/>'
    assert area(BOX + white) == pytest.approx(400 - 256)
    assert area(BOX + white + dot) == pytest.approx(400 - 256 + 16)
    assert area(white + BOX) == pytest.approx(400)


@pytest.mark.parametrize(
    ("colour", "is_ink"),
    [
        ("black", True),
        ("#f00", True),
        ("rgb(0, 0, 255)", True),
        ("#777777", True),
        ("yellow", False),
        ("lime", False),
        ("#c0c0c0", False),
        ("hsl(0, 0%, 95%)", False),
    ],
)
def test_ink_is_what_is_darker_than_half_the_luminance(colour: str, is_ink: bool) -> None:
    """Relative luminance below 0.5: sRGB's own weights, red 0.2126, green 0.7152, blue 0.0722."""
    other = '<rect x="60" y="60" width="10" height="10"/>'
    assert area(f'<rect width="20" height="20" fill="{colour}"/>{other}') == pytest.approx(
        500 if is_ink else 100
    )


@pytest.mark.parametrize(
    "hidden",
    [
        '<g display="none"><rect width="9" height="9"/></g>',
        '<rect width="9" height="9" visibility="hidden"/>',
        '<rect width="9" height="9" style="display:none"/>',
        '<rect width="9" height="9" fill="none"/>',
        '<rect width="9" height="9" fill-opacity="0"/>',
        '<rect width="0" height="9"/>',
        '<defs><rect id="unused" width="9" height="9"/></defs>',
        '<symbol id="s"><rect width="9" height="9"/></symbol>',
        "<title>Tern Quay</title><desc>berth 7</desc>",
        '<metadata><x xmlns="urn:other"/></metadata>',
    ],
)
def test_what_is_not_shown_is_not_read_and_needs_no_note(hidden: str) -> None:
    """Hidden and undrawn elements change nothing."""
    assert area(hidden + BOX) == pytest.approx(400)
    assert codes(hidden + BOX) == []


def test_use_draws_again_elsewhere() -> None:
    """A use with x and y shifts; with a symbol it scales to the size asked for."""
    named = '<defs><rect id="r" width="10" height="10"/></defs>'
    assert area(f'{named}<use xlink:href="#r" x="5"/><use href="#r" y="50"/>') == pytest.approx(200)
    symbol = (
        '<symbol id="s" viewBox="0 0 1 1"><rect width="1" height="1"/></symbol>'
        '<use href="#s" x="10" y="10" width="30" height="30"/>'
    )
    assert flatten(read(symbol).outlines).ink.polygons.bounds == pytest.approx((10, 60, 40, 90))


def test_a_nested_page_has_a_view_box_of_its_own() -> None:
    """An svg element within another places and scales what it holds."""
    inner = '<svg x="20" y="20" width="40" height="40" viewBox="0 0 4 4"><rect width="2" height="1"/></svg>'
    assert flatten(read(inner).outlines).ink.polygons.bounds == pytest.approx((20, 70, 40, 80))


def test_a_clip_path_leaves_only_what_is_inside() -> None:
    """A circle cut down to a square's quarter."""
    body = (
        '<clipPath id="c"><rect x="50" y="50" width="50" height="50"/></clipPath>'
        '<circle cx="50" cy="50" r="20" clip-path="url(#c)"/>'
    )
    assert area(body) == pytest.approx(3.14159265 * 400 / 4, rel=1e-3)


def test_the_first_fitting_choice_of_a_switch_is_drawn() -> None:
    """What asks for an extension is passed over, as other programs' own data are."""
    body = f'<switch><foreignObject requiredExtensions="urn:x"/><g>{BOX}</g><g>{BOX}{BOX}</g></switch>'
    assert area(body) == pytest.approx(400)


def test_ink_beyond_the_page_is_cut_off_and_told() -> None:
    """The page shows nothing beyond itself."""
    body = '<rect x="-10" y="40" width="30" height="10"/>'
    assert area(body) == pytest.approx(200)
    assert codes(body) == ["svg-beyond-page"]


@pytest.mark.parametrize(
    ("body", "code"),
    [
        ("<text x='5' y='5' font-family='Nobody Owns This'>TERN QUAY</text>", "svg-text-left-out"),
        ('<image href="data:image/png;base64,AAAA" width="5" height="5"/>', "svg-image-left-out"),
        ("<foreignObject/>", "svg-element-left-out"),
        ('<use href="#nowhere"/>', "svg-element-left-out"),
        ('<path d="M0 0L5 0L0 5L0 0L5"/>', "svg-path-broken"),
        ('<polygon points="0,0 5,0 5,5 1"/>', "svg-path-broken"),
        ('<rect width="5" height="5" fill="no-such-colour"/>', "svg-style-ignored"),
        ("<style>g + rect{fill:none}</style>", "svg-style-ignored"),
        ('<rect width="5" height="5" transform="twirl(4)"/>', "svg-transform-ignored"),
        ('<rect width="5" height="5" filter="url(#f)"/>', "svg-effect-ignored"),
        ('<rect width="5" height="5" fill="url(#gradient)"/>', "svg-effect-ignored"),
        ('<rect width="5" height="5" opacity="0.2"/>', "svg-pale-paint"),
        ('<rect width="5" height="5" fill="yellow"/>', "svg-light-paint"),
    ],
)
def test_nothing_is_dropped_in_silence(body: str, code: str) -> None:
    """Each thing that cannot be taken is told, with a remedy, and the rest is read."""
    document = read(body + BOX)
    assert [note.code for note in document.notes] == [code]
    assert all(note.remedy for note in document.notes)
    assert flatten(document.outlines).ink.polygons.area >= 400


@pytest.mark.parametrize(
    ("size", "code", "width_mm"),
    [
        ('width="96" height="96"', "svg-size-in-pixels", 25.4),
        ('viewBox="0 0 192 96"', "svg-size-assumed", 50.8),
        ('width="100%" height="100%" viewBox="0 0 192 96"', "svg-size-assumed", 50.8),
        ("", "svg-size-assumed", 20 * 25.4 / 96),  # neither: the sheet is as large as its ink
    ],
)
def test_a_size_that_is_not_in_mm_is_told(size: str, code: str, width_mm: float) -> None:
    """Pixels count as 1/96 in; units without a size as pixels."""
    document = read(BOX, size)
    assert [note.code for note in document.notes] == [code]
    assert document.outlines.width_mm == pytest.approx(width_mm)


def test_one_side_gives_the_other_by_the_view_box() -> None:
    """A width alone keeps the view box's aspect, as browsers do."""
    outlines = read(BOX, 'width="200mm" viewBox="0 0 100 50"').outlines
    assert (outlines.width_mm, outlines.height_mm) == pytest.approx((200, 100))


def test_a_doctype_that_only_names_the_standard_is_harmless() -> None:
    """Files of the early 2000s start with it."""
    doctype = (
        '<?xml version="1.0"?>\n<!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 20010904//EN"\n'
        '"http://www.w3.org/TR/2001/REC-SVG-20010904/DTD/svg10.dtd">\n'
    )
    assert read(BOX, before=doctype).notes == ()


BOMB = '<!DOCTYPE svg [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;">]>'
OUTSIDE = '<!DOCTYPE svg [<!ENTITY x SYSTEM "file:///etc/hostname">]>'


LONG = f'<!DOCTYPE svg [<!ENTITY b "{"x" * 513}">]>'
MANY = "<!DOCTYPE svg [" + "".join(f'<!ENTITY b{n} "x">' for n in range(65)) + "]>"
HIDDEN = '<!DOCTYPE svg [<!ENTITY % p "x"><!ENTITY b "y">]>'


@pytest.mark.parametrize("doctype", [BOMB, OUTSIDE, LONG, MANY, HIDDEN])
def test_entities_are_refused(doctype: str) -> None:
    """Neither an entity bomb nor an outside entity is ever expanded."""
    with pytest.raises(UnsafeSvgError) as caught:
        read(f"<desc>&b;</desc>{BOX}", before=doctype)
    assert caught.value.field == FIELD
    assert caught.value.remedy


def test_short_names_for_namespaces_are_written_out() -> None:
    """As some drawing programs declare them, in element, attribute and text, and a comment between."""
    doctype = (
        '<!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" "svg11.dtd" [\n'
        '  <!ENTITY ns_svg "http://www.w3.org/2000/svg">\n  <!-- ours -->\n'
        "  <!ATTLIST svg xmlns:x CDATA #IMPLIED>\n  <!ENTITY dark 'black'>\n]>"
    )
    body = (
        '<g xmlns="&ns_svg;"><rect width="20" height="20" fill="&dark;"/></g><title>&dark; &amp; old</title>'
    )
    document = read(body, before=doctype)
    assert flatten(document.outlines).ink.polygons.area == pytest.approx(400)
    assert document.notes == ()


def test_names_used_too_often_are_not_written_out() -> None:
    """Half a kilobyte ten thousand times would be five megabytes."""
    doctype = f'<!DOCTYPE svg [<!ENTITY b "{"x" * 500}">]>'
    with pytest.raises(UnsafeSvgError):
        read(f"<desc>{'&b;' * 10_000}</desc>{BOX}", before=doctype)


@pytest.mark.parametrize(
    "link", ["/etc/hostname", "file:///etc/hostname", "https://example.org/a.png", "a.png"]
)
@pytest.mark.parametrize("name", ["href", "xlink:href"])
def test_a_picture_kept_elsewhere_is_left_out_and_named(link: str, name: str) -> None:
    """The rest of the drawing is taken."""
    document = read(f'<image {name}="{link}" width="9" height="9"/>{BOX}')
    assert flatten(document.outlines).ink.polygons.area == pytest.approx(400)
    assert [note.code for note in document.notes] == ["svg-image-elsewhere"]
    assert link in document.notes[0].message


@pytest.mark.parametrize(
    "body",
    [
        "<script>alert(1)</script>",
        '<use href="other.svg#x"/>',
        '<use xlink:href="https://example.org/a.svg#x"/>',
        "<style>@import url(https://example.org/a.css);</style>",
        '<rect fill="url(https://example.org/a.svg#g)" width="9" height="9"/>',
        '<rect style="filter:url(\'a.svg#f\')" width="9" height="9"/>',
        "<style>rect{mask:url(a.svg#m)}</style>",
        "<g>" * 70 + "</g>" * 70,
    ],
)
def test_what_reaches_outside_or_runs_is_refused(body: str) -> None:
    """Scripts, references to elsewhere and bottomless nesting."""
    with pytest.raises(UnsafeSvgError) as caught:
        read(body + BOX)
    assert caught.value.field == FIELD
    assert caught.value.remedy


def test_a_style_sheet_elsewhere_is_refused() -> None:
    """A processing instruction may name one."""
    with pytest.raises(UnsafeSvgError):
        read(BOX, before='<?xml-stylesheet href="https://example.org/a.css"?>')


def test_links_and_data_of_other_vocabularies_do_no_harm() -> None:
    """An anchor to a web page is not followed, and is no reason to refuse."""
    assert area(f'<a href="https://example.org">{BOX}</a>') == pytest.approx(400)


def test_a_use_within_itself_ends() -> None:
    """A circle of uses is cut off and told."""
    assert "svg-element-left-out" in codes(f'<g id="a"><use href="#a"/>{BOX}</g>')


@pytest.mark.parametrize("innermost", [BOX, ""])
def test_a_bomb_of_uses_is_refused_before_anything_is_drawn(
    innermost: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Ten levels of ten uses each would draw 10^10 times, shapes or nothing."""
    monkeypatch.setattr(Walk, "draw_page", lambda *_: pytest.fail("drawing has begun"))
    levels = "".join(
        f'<g id="l{n}">' + f'<use href="#l{n - 1}"/>' * 10 + "</g>" if n else f'<g id="l0">{innermost}</g>'
        for n in range(10)
    )
    with pytest.raises(ImageTooLargeError):
        read(levels)


def test_uses_in_what_is_drawn_where_it_is_used_alone_are_no_bomb() -> None:
    """A symbol of many uses, drawn by none."""
    named = BOX.replace("<rect", '<rect id="d"')
    stars = '<symbol id="s">' + '<use href="#d"/>' * 3 + f"</symbol><defs>{named}</defs>"
    assert area(f'{stars}<use href="#s"/>') == pytest.approx(400)


def test_a_path_of_too_many_segments_is_refused() -> None:
    """A million segments is the most; 3 MB of text can hold more."""
    with pytest.raises(ImageTooLargeError, match="segments"):
        read(f'<path d="M0 0h{"1 " * 1_000_002}"/>')


def test_a_huge_file_is_refused_before_it_is_parsed() -> None:
    """20 MiB is the most."""
    with pytest.raises(ImageTooLargeError, match="MiB"):
        read_svg(b" " * (20 * 1024 * 1024 + 1), FIELD)


@pytest.mark.parametrize(
    "data", [b"", b"\x00\x01", b"<svg", b"<html/>", b"not XML", b"\xff\xfe<\x00s", b"<svg>&x;</svg>"]
)
def test_what_is_no_svg_is_unreadable(data: bytes) -> None:
    """Broken XML and other XML."""
    with pytest.raises(UnreadableImageError) as caught:
        read_svg(data, FIELD)
    assert caught.value.field == FIELD
    assert caught.value.remedy


def test_an_empty_drawing_is_no_drawing() -> None:
    """The message says what was left out, if anything was."""
    with pytest.raises(NoDrawingFoundError, match="text was left out"):
        read("<text font-family='Nobody Owns This'>TERN QUAY</text>")


def test_a_size_in_kilometres_is_refused() -> None:
    """No board is a kilometre long."""
    with pytest.raises(ParameterOutOfRangeError):
        read(BOX, 'width="1000000mm" height="9mm"')


@pytest.mark.parametrize(
    "body",
    [
        '<path d="M0 0L1e999 5z"/>',
        '<path d="M0 0L1e30 5L9 9z"/>',
        '<rect width="nan" height="inf"/>',
        '<rect width="9" height="9" transform="scale(1e300) scale(1e300)"/>',
        '<rect width="9" height="9" transform="scale(0)"/>',
        '<rect width="1e300" height="1e300"/>',
        '<circle r="1e200"/>',
        '<line x2="1e9" stroke="black" stroke-dasharray="1e-9"/>',
        '<line x2="9" stroke="black" stroke-width="1e40"/>',
        '<rect width="9" height="9" stroke="black" stroke-miterlimit="nan"/>',
    ],
)
def test_absurd_numbers_end_in_an_outline_or_a_refusal(body: str) -> None:
    """Whatever the numbers, the answer is finite or a refusal, and comes soon."""
    try:
        document = read(body + BOX)
    except InputRejectedError:
        return
    ink = flatten(document.outlines).ink.polygons
    assert 0 < ink.area <= 10_000 + 1e-6
