"""The picture of what was found: marks where the camera put things, words that fit."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from tests.support.drawn_sheets import DrawnSheet, as_srgb, bar, disc
from tests.support.exact_coverage import box
from tests.support.workshop_photos import Fold, Scene, corners_px, photographed
from workers.rectification.found_marks import COVERED, EDGE, FOLD, GLARE
from workers.rectification.found_picture import WIDTH_PX, draw_found, verdict
from workers.rectification.rectify import Rectified, Wanted, rectify
from workers.values.finding import Finding, Severity
from workers.values.image import ColourImage
from workers.values.progress import silent
from workers.values.sheet import SheetSize

A5 = SheetSize(width_mm=148.0, height_mm=210.0)
CORNERS = np.array([(101.3, 60.7), (640.2, 92.4), (690.9, 828.6), (52.8, 860.1)])
INK = (disc(60.0, 80.0, 25.0), bar(30.0, 150.0, 120.0, 156.0))
COLUMNS, ROWS = 750, 940


def read(pixels: np.ndarray) -> tuple[ColourImage, Rectified]:
    photo = ColourImage(pixels)
    return photo, rectify([photo], A5, silent, Wanted())


def drawn(pixels: np.ndarray) -> np.ndarray:
    """Return the picture's pixels, red first."""
    data = draw_found(*read(pixels))
    decoded = cv2.imdecode(np.frombuffer(data, np.uint8), cv2.IMREAD_COLOR_RGB)
    assert decoded is not None
    return np.asarray(decoded, np.uint8)


def marked(picture: np.ndarray, colour: tuple[int, int, int]) -> np.ndarray:
    """Return (n, 2) places (x, y) of the pixels of a colour in the photo's half, above the legend."""
    photo = picture[62 : 62 + 700, : WIDTH_PX // 2].astype(int)
    y, x = np.nonzero(np.abs(photo - np.array(colour)).max(axis=2) < 12)
    return np.column_stack([x, y + 62])


def in_page(points: np.ndarray) -> np.ndarray:
    """Return where points of the photo are on the page: the photo is fitted into 560 x 760 px at (28, 62)."""
    return np.asarray(points, np.float64) * min(560 / COLUMNS, 760 / ROWS) + np.array([28, 62])


@pytest.fixture(scope="module")
def plain() -> np.ndarray:
    return DrawnSheet(148.0, 210.0, CORNERS, COLUMNS, ROWS, INK).photograph()


def test_the_sheets_edge_is_drawn_where_it_lies(plain: np.ndarray) -> None:
    """All pixels of the edge's colour lie within 16 px, a corner's disc, of the outline the camera gave."""
    edge = marked(drawn(plain), EDGE)
    outline = in_page(CORNERS).astype(np.float32)
    away = [abs(cv2.pointPolygonTest(outline, (float(x), float(y)), True)) for x, y in edge]
    assert len(away) > 1500
    assert max(away) < 16
    assert np.median(away) < 3


def test_only_what_is_there_is_marked(plain: np.ndarray) -> None:
    """A plain photo shows no glare and nothing covered."""
    picture = drawn(plain)
    assert len(marked(picture, GLARE)) == 0
    assert len(marked(picture, COVERED)) == 0


def test_glare_is_marked_in_its_place(plain: np.ndarray) -> None:
    """A lamp mirrored at (400, 600) of the photo: the hatching's middle lies within 12 px of it."""
    y, x = np.mgrid[0:ROWS, 0:COLUMNS] + 0.5
    light = (plain[:, :, 0] / 255.0) ** 2.2 + 4.0 * np.exp(-((x - 400) ** 2 + (y - 600) ** 2) / (2 * 40.0**2))
    glare = marked(drawn(as_srgb(light)), GLARE)
    assert np.linalg.norm(glare.mean(axis=0) - in_page(np.array([400.0, 600.0]))) < 12


def test_a_covered_stretch_of_an_edge_is_marked() -> None:
    """A disc over the right side, 120 mm down: marked there, and nowhere else."""
    covered = DrawnSheet(148.0, 210.0, CORNERS, COLUMNS, ROWS, INK, covers=((148.0, 120.0, 12.0),))
    stretch = marked(drawn(covered.photograph()), COVERED)
    right = CORNERS[1] + (CORNERS[2] - CORNERS[1]) * 120 / 210
    assert len(stretch) > 100
    assert np.linalg.norm(stretch - in_page(right), axis=1).max() < 60


def test_a_fold_is_marked_in_its_place() -> None:
    """A fold down the middle of the sheet, which the camera keeps straight: all marks lie on it."""
    scene = Scene(folds=(Fold(angle_deg=90),), long_side_px=940)
    photo = photographed([box(50, 60, 40, 12), box(110, 150, 12, 40)], (148.0, 210.0), scene)
    marks = marked(drawn(photo), FOLD)
    rows, columns = photo.shape[:2]
    scale = min(560 / columns, 760 / rows)
    corners = corners_px(148 / 210, scene, columns, rows) * scale + np.array(
        [28 + (560 - columns * scale) / 2, 62]
    )
    top, foot = corners[:2].mean(axis=0), corners[2:].mean(axis=0)
    along = (foot - top) / np.linalg.norm(foot - top)
    away = np.abs((marks - top) @ np.array([-along[1], along[0]]))
    assert len(marks) > 200
    assert away.max() < 12


@pytest.mark.parametrize(
    ("codes", "words"),
    [((), "Good"), (("crease",), "Look at the drawing"), (("crease", "glare"), "take the photo again")],
)
def test_a_kiosk_is_told_in_a_few_words_what_to_do(codes: tuple[str, ...], words: str) -> None:
    """Go on, look, or take it again: the weightiest warning decides; notes do not count."""
    warned = [Finding(code=code, severity=Severity.WARNING, message="", remedy="") for code in codes]
    noted = Finding(code="blurred", severity=Severity.NOTE, message="", remedy="")
    assert words in verdict((noted, *warned))


def test_the_picture_is_no_wider_than_it_says_and_always_the_same(plain: np.ndarray) -> None:
    """1200 pixels across; the same photo gives the same bytes."""
    assert drawn(plain).shape[1] == WIDTH_PX
    assert draw_found(*read(plain)) == draw_found(*read(plain))
