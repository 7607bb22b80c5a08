"""Of several photos of one sheet the best is used, and its rank and its figures say why."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from tests.support.drawn_sheets import DrawnSheet, bar, disc
from workers.rectification.rectify import Rectified, rectify
from workers.values.image import ColourImage
from workers.values.progress import silent
from workers.values.sheet import SheetSize

A5 = SheetSize(width_mm=148.0, height_mm=210.0)
CORNERS = np.array([(113.1, 48.9), (628.4, 80.6), (679.1, 840.4), (64.6, 865.6)])
INK = (disc(60.0, 80.0, 25.0), bar(30.0, 150.0, 120.0, 156.0))


def photo(kind: str) -> np.ndarray:
    """Return one sheet photographed well, or with one thing wrong."""
    moved = CORNERS - (160.0, 0.0) if kind == "cut off" else CORNERS
    covers = ((0.0, 60.0, 22.0), (0.0, 120.0, 22.0)) if kind == "covered" else ()
    share = 0.03 if kind == "dark" else 1.0
    sheet = DrawnSheet(148.0, 210.0, moved, 750, 940, INK, covers=covers)
    picture = sheet.photograph(lambda x, y: np.full_like(x, share))
    return np.asarray(cv2.GaussianBlur(picture, (0, 0), 3.0), np.uint8) if kind == "blurred" else picture


def read(*kinds: str) -> Rectified:
    return rectify([ColourImage(photo(kind)) for kind in kinds], A5, silent)


@pytest.mark.parametrize(
    ("poor", "cause", "words"),
    [
        ("blurred", "blur", "its blur"),
        ("dark", "light", "its light"),
        ("covered", "hidden", "hidden edges"),
    ],
)
@pytest.mark.parametrize("is_first", [True, False])
def test_the_sound_photo_is_chosen_and_the_other_one_says_what_is_wrong(
    poor: str, cause: str, words: str, is_first: bool
) -> None:
    """Whichever comes first; the poor one is second, its worst cause is told with millimetres."""
    result = read(*((poor, "sound") if is_first else ("sound", poor)))

    records = result.record["photos"]
    assert isinstance(records, list)
    sound, other = records[1 if is_first else 0], records[0 if is_first else 1]
    assert result.chosen == (1 if is_first else 0)
    assert (sound["rank"], other["rank"]) == (1, 2)
    assert other["expected_error_mm"] > sound["expected_error_mm"]
    assert other["expected_errors_mm"][cause] > sound["expected_errors_mm"][cause]
    assert words in other["reason"]
    assert " mm" in other["reason"]


def test_a_sheet_that_runs_out_of_the_picture_comes_last() -> None:
    """A whole sheet is used, though the one that is cut off is as sharp and as bright, and that is told."""
    result = read("cut off", "sound")
    records = result.record["photos"]
    assert isinstance(records, list)
    assert result.chosen == 1
    assert "outside of the picture" in records[0]["reason"]
