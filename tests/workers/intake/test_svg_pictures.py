"""Pictures embedded in an SVG: decoded, placed, and joined with the rest once traced."""

import base64
import io

import numpy as np
import pytest
from PIL import Image

from workers.errors import NoDrawingFoundError
from workers.geometry.flattening import flatten
from workers.intake.svg_document import SvgDocument, read_svg
from workers.pipeline.drawings import Drawings

HEAD = 'xmlns="http://www.w3.org/2000/svg" width="100mm" height="100mm" viewBox="0 0 100 100"'
BOX = '<rect x="70" y="70" width="20" height="20"/>'


def embedded(kind: str = "PNG") -> str:
    """A page of 40 x 20 pixels, black from column 10 to 20 and row 5 to 15, as a data URL."""
    pixels = np.full((20, 40), 255, np.uint8)
    pixels[5:15, 10:20] = 0
    file = io.BytesIO()
    Image.fromarray(pixels).save(file, kind, **({"quality": 100} if kind == "JPEG" else {}))
    return f"data:image/{kind.lower()};base64,{base64.b64encode(file.getvalue()).decode()}"


def read(body: str) -> SvgDocument:
    return read_svg(f"<svg {HEAD}>{body}</svg>".encode(), "/svg")


def ink(body: str) -> tuple[float, tuple[float, ...]]:
    """Area and bounds (left, top, right, bottom, y down) of all ink, pictures traced."""
    outlines = Drawings(lambda _: f"<svg {HEAD}>{body}</svg>".encode()).svg("it", "/svg")
    polygons = flatten(outlines).ink.polygons
    left, bottom, right, top = polygons.bounds
    return polygons.area, (left, 100 - top, right, 100 - bottom)


@pytest.mark.parametrize(
    ("attributes", "expected"),
    [
        ('x="10" y="20" width="40" height="20"', (20, 25, 30, 35)),
        ('x="10" y="20" width="80" height="40"', (30, 30, 50, 50)),
        ('x="10" y="20" width="80"', (30, 30, 50, 50)),  # the height follows from the picture
        ('x="10" y="20"', (20, 25, 30, 35)),  # one unit a pixel
        ('width="40" height="40"', (10, 15, 20, 25)),  # fitted, and in the middle: 10 left over on each side
        ('width="40" height="40" preserveAspectRatio="none"', (10, 10, 20, 30)),
        ('width="20" height="20" preserveAspectRatio="xMinYMid slice"', (10, 5, 20, 15)),
        ('width="40" height="20" transform="translate(60 0) rotate(90)"', (45, 10, 55, 20)),
        ('width="40" height="20" transform="translate(40 0) scale(-1 1)"', (20, 5, 30, 15)),
    ],
)
def test_a_picture_lies_where_its_element_says(attributes: str, expected: tuple[float, ...]) -> None:
    """SVG 2, 12.3: x, y, width, height and preserveAspectRatio; a black block of 10 x 10 pixels.

    Corners between pixels are known to a fifth of one.
    """
    _, bounds = ink(f'<image href="{embedded()}" {attributes}/>')
    assert bounds == pytest.approx(expected, abs=0.4)


@pytest.mark.parametrize("kind", ["PNG", "JPEG", "BMP", "WEBP", "TIFF"])
def test_pictures_of_every_kind_add_their_ink(kind: str) -> None:
    """The block of 100 mm2 and the drawing's own square of 400, apart from each other."""
    area, _ = ink(f'<image href="{embedded(kind)}" x="10" y="10" width="40" height="20"/>{BOX}')
    assert area == pytest.approx(500, abs=6)


def test_a_clip_path_cuts_a_picture() -> None:
    """Half of the block."""
    clip = '<clipPath id="c"><rect x="10" y="10" width="15" height="50"/></clipPath>'
    area, _ = ink(f'{clip}<image href="{embedded()}" x="10" y="10" clip-path="url(#c)"/>{BOX}')
    assert area == pytest.approx(450, abs=4)


def test_it_is_told_that_pictures_are_traced() -> None:
    """With their size, and that their order of painting is not kept."""
    document = read(f'<image href="{embedded()}" width="40" height="20"/>{BOX}')
    assert [note.code for note in document.notes] == ["svg-image-traced"]
    assert "40 x 20 pixels" in document.notes[0].message
    assert len(document.pictures) == 1


@pytest.mark.parametrize(
    "href",
    [
        "data:image/png;base64,AAAA",
        "data:image/png;base64,%%%",
        "data:image/svg+xml,%3Csvg xmlns='http://www.w3.org/2000/svg'/%3E",
        "data:,",
        "#box",
        "",
    ],
)
def test_what_is_no_picture_is_left_out_and_told(href: str) -> None:
    """Broken base64, broken pictures, other formats."""
    notes = read(f'<image href="{href}" width="9" height="9"/>{BOX}').notes
    assert [note.code for note in notes] == ["svg-image-left-out"]


def test_a_picture_that_would_unpack_to_gigabytes_is_left_out() -> None:
    """30000 x 30000 in a header: refused by the limits of all pictures, before a pixel is unpacked."""
    file = io.BytesIO()
    Image.new("1", (8, 8)).save(file, "PNG")
    raw = bytearray(file.getvalue())
    raw[16:24] = (30000).to_bytes(4, "big") * 2
    link = f"data:image/png;base64,{base64.b64encode(bytes(raw)).decode()}"
    notes = read(f'<image href="{link}" width="9" height="9"/>{BOX}').notes
    assert [note.code for note in notes] == ["svg-image-left-out"]


def test_a_drawing_of_nothing_but_a_picture_elsewhere_is_no_drawing() -> None:
    """Nothing outside of the file is ever fetched, and the refusal says so."""
    with pytest.raises(NoDrawingFoundError, match="nothing outside of the file is opened"):
        read('<image href="https://example.org/quay.png" width="9" height="9"/>')


def test_a_drawing_of_nothing_but_pictures_left_out_is_no_drawing() -> None:
    """The refusal says what was left out."""
    with pytest.raises(NoDrawingFoundError, match="pictures"):
        read('<image href="data:," width="9" height="9"/>')
