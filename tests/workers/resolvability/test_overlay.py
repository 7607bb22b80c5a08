"""The overlay is a picture of the verdicts."""

import io
from dataclasses import replace

import numpy as np
import pytest
from PIL import Image
from shapely.geometry import MultiPolygon, Point, box

from tests.support.specimens import BASSWOOD, incise, region
from workers.resolvability.examine import examine
from workers.resolvability.overlay import draw_overlay
from workers.resolvability.overlay_callouts import MOST_CALLOUTS, callouts
from workers.resolvability.overlay_canvas import Canvas
from workers.resolvability.overlay_legend import headline, legend_px
from workers.resolvability.overlay_style import HATCHES, INK, PAPER, STROKES, WALLS, Colour
from workers.values.examination import Verdict
from workers.values.region import Region

WOOD = replace(BASSWOOD, shows_depth_mm=0.5)
CUT = incise(90, 3, 0.2)
FRAME = (0.0, 0.0, 80.0, 40.0)


def pixels(drawing: MultiPolygon) -> np.ndarray:
    """Return the picture of a drawing, without its legend."""
    region = Region(drawing)
    data = draw_overlay(region, examine(region, CUT, WOOD), FRAME)
    image = Image.open(io.BytesIO(data))
    assert image.format == "PNG"
    return np.asarray(image)[:800]


def has(picture: np.ndarray, colour: Colour) -> bool:
    """Tell whether some pixel is just this colour."""
    return bool((picture == colour).all(axis=2).any())


def test_the_longer_side_has_1600_pixels() -> None:
    """A frame of 80 x 40 mm is drawn 1600 x 800, the legend beneath it."""
    region = Region(MultiPolygon([box(5, 5, 60, 8)]))
    image = Image.open(io.BytesIO(draw_overlay(region, examine(region, CUT, WOOD), FRAME)))

    assert image.width == 1600
    assert image.height > 800


def test_a_tall_drawing_stands_in_the_middle_above_a_legend_that_fits() -> None:
    """A frame of 20 x 200 mm is 160 pixels wide; the picture is wider, for the words."""
    region = Region(MultiPolygon([box(0, 0, 20, 200)]))
    data = draw_overlay(region, examine(region, CUT, WOOD), (0.0, 0.0, 20.0, 200.0))
    picture = np.asarray(Image.open(io.BytesIO(data)))

    assert picture.shape[1] == 1000
    columns = np.flatnonzero((picture[400] == INK).all(axis=1))
    assert (columns.min() + columns.max()) / 2 == pytest.approx(499.5, abs=1.5)


@pytest.mark.parametrize(
    ("width_mm", "verdict"), [(0.15, Verdict.LOST), (0.8, Verdict.FAINT), (3, Verdict.SHOWS)]
)
def test_a_stroke_is_drawn_in_the_colour_of_its_verdict(width_mm: float, verdict: Verdict) -> None:
    """Only that colour is there."""
    picture = pixels(MultiPolygon([box(5, 5, 60, 5 + width_mm)]))

    assert {name for name, style in STROKES.items() if has(picture, style.colour)} == {verdict}


def test_the_ink_lies_where_it_is_and_y_goes_up() -> None:
    """A block in the lower left of the frame is in the lower left of the picture; its hole is paper."""
    picture = pixels(MultiPolygon([box(0, 0, 20, 20) - Point(5, 5).buffer(3)]))

    assert tuple(picture[500, 50]) == INK
    assert tuple(picture[100, 50]) != INK
    assert tuple(picture[700, 100]) != INK


def test_fragile_walls_are_marked() -> None:
    """The wall between two near strokes has its own colour."""
    picture = pixels(MultiPolygon([box(5, 5, 60, 8), box(5, 8.4, 60, 12)]))

    assert has(picture, WALLS[Verdict.FRAGILE].colour)


def test_the_same_verdicts_give_the_same_bytes() -> None:
    """Nothing in the picture depends on chance or on the clock."""
    region = Region(MultiPolygon([box(5, 5, 60, 5.8)]))
    examination = examine(region, CUT, WOOD)

    assert draw_overlay(region, examination, FRAME) == draw_overlay(region, examination, FRAME)


def test_colours_of_verdicts_differ_in_lightness() -> None:
    """Whoever sees no hue still tells strokes apart: by lightness (CIE 1976 L*), weight and dashes."""
    styles = sorted(STROKES.values(), key=lambda style: lightness(style.colour))

    steps = np.diff([lightness(style.colour) for style in styles])
    assert steps.min() > 10
    assert len({style.width_px for style in styles}) == len({style.dash_px for style in styles}) == 3


def lightness(colour: Colour) -> float:
    """Return L* of an sRGB colour (IEC 61966-2-1 and CIE 1976)."""
    encoded = np.array(colour) / 255
    linear = np.where(encoded <= 0.04045, encoded / 12.92, ((encoded + 0.055) / 1.055) ** 2.4)
    return float(116 * np.cbrt(linear @ (0.2126, 0.7152, 0.0722)) - 16)


@pytest.mark.parametrize(("width_mm", "verdict"), [(0.15, Verdict.LOST), (0.8, Verdict.FAINT)])
def test_a_stroke_that_does_not_show_is_hatched_so_that_no_colour_is_needed(
    width_mm: float, verdict: Verdict
) -> None:
    """In grey alone there are light and dark along it in turn; a stroke that shows is the same all along."""
    thin = pixels(MultiPolygon([box(5, 20, 60, 20 + width_mm)]))
    solid = pixels(MultiPolygon([box(5, 20, 60, 23)]))

    def changes(picture: np.ndarray, y_mm: float) -> int:
        grey = picture[round((40 - y_mm) * 20), 200:1100].mean(axis=1)
        return int((np.abs(np.diff(grey)) > 30).sum())

    assert changes(thin, 20 + width_mm / 2) > 20
    assert changes(solid, 20.5) == 0
    assert has(thin, HATCHES[verdict].colour)


def test_a_hole_in_a_faint_ring_stays_paper() -> None:
    """Only the ink is hatched, not what it goes round."""
    ring = pixels(MultiPolygon([box(10, 5, 40, 35) - box(10.8, 5.8, 39.2, 34.2)]))

    assert tuple(ring[400, 500]) == PAPER


def test_the_key_says_in_one_sentence_what_it_comes_to() -> None:
    """All shows; or so many percent do not."""
    half = region(box(5, 5, 60, 8), box(5, 15, 60, 15.8))

    assert headline(examine(half, CUT, WOOD)) == "51 % of the ink will not show: it is hatched."
    assert headline(examine(region(box(5, 5, 60, 8)), CUT, WOOD)) == "All the ink will show."
    assert headline(examine(region(), CUT, WOOD)) == "There is no ink."


def test_the_worst_places_are_pointed_at_first_and_those_far_apart() -> None:
    """A lost stroke comes before a longer faint one; two stretches close together get one number."""
    drawing = region(box(5, 5, 75, 5.8), box(5, 20, 15, 20.15), box(5, 21, 12, 21.15))
    canvas = Canvas(FRAME, 1600, 0, PAPER)

    marked = callouts(canvas, examine(drawing, CUT, WOOD))

    assert [run.verdict for run in marked] == [Verdict.LOST, Verdict.FAINT]


def test_there_are_never_more_numbers_than_can_be_read() -> None:
    """Twenty faint strokes, six numbers, and a key with a row for each."""
    many = region(*(box(4 * row, 5, 4 * row + 0.8, 35) for row in range(1, 19)))
    examination = examine(many, CUT, WOOD)

    assert len(callouts(Canvas(FRAME, 1600, 0, PAPER), examination)) == MOST_CALLOUTS
    assert legend_px(examination) > legend_px(examine(region(box(5, 5, 60, 8)), CUT, WOOD))
