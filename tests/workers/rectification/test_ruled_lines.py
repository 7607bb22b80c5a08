"""The paper's own lines go, dark ones too; ink that crosses them stays whole."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from PIL import Image, ImageDraw

from tests.support.drawn_sheets import DrawnSheet, bar, disc
from workers.rectification.rectify import Rectified, rectify
from workers.values.image import ColourImage
from workers.values.progress import silent
from workers.values.sheet import SheetSize

FRAME = np.array([(0.0, 0.0), (740.0, 0.0), (740.0, 1050.0), (0.0, 1050.0)])  # 5 px/mm: no sheet to be found
DISC, SLANT = (60.0, 80.0, 25.0), (20.0, 140.0, 130.0, 190.0, 1.2)  # x, y, radius; a line and its width
RULES_ACROSS = tuple(bar(0, y, 148, y + 0.4) for y in np.arange(4.0, 208, 5.0))
RULES_DOWN = tuple(bar(x, 0, x + 0.4, 210) for x in np.arange(3.0, 147, 5.0))


def slanted(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """Return where the slanted line is inked."""
    x0, y0, x1, y1, width = SLANT
    along = np.array([x1 - x0, y1 - y0]) / np.hypot(x1 - x0, y1 - y0)
    forth = (x - x0) * along[0] + (y - y0) * along[1]
    aside = np.abs((x - x0) * along[1] - (y - y0) * along[0])
    return (aside < width / 2) & (forth > 0) & (forth < np.hypot(x1 - x0, y1 - y0))


def read(rules: tuple, shapes: tuple = (disc(*DISC), slanted)) -> Rectified:  # type: ignore[type-arg]
    photo = DrawnSheet(148.0, 210.0, FRAME, 740, 1050, (*shapes, *rules)).photograph()
    blurred = cv2.GaussianBlur(photo, (0, 0), 0.8)
    return rectify([ColourImage(np.asarray(blurred, np.uint8), 1 / 5)], None, silent)


def wrong_mm2(result: Rectified) -> tuple[float, float]:
    """Return the area that is ink and should not be, and the other way round, mm2."""
    scale = result.coverage.mm_per_px
    rows, columns = result.coverage.pixels.shape
    y, x = (np.mgrid[0:rows, 0:columns] + 0.5) * scale
    truth = disc(*DISC)(x, y) | slanted(x, y)
    ink = result.coverage.pixels < 128
    return float((ink & ~truth).sum() * scale**2), float((truth & ~ink).sum() * scale**2)


@pytest.mark.parametrize("rules", [RULES_ACROSS, RULES_ACROSS + RULES_DOWN], ids=["ruled", "squared"])
def test_black_rules_are_taken_out_and_ink_across_them_stays(rules: tuple) -> None:  # type: ignore[type-arg]
    """Lines of 0.4 mm as dark as the ink, 5 mm apart: two parts are left, each within 2 % of its area."""
    result = read(rules)
    extra, missing = wrong_mm2(result)
    area = np.pi * DISC[2] ** 2 + SLANT[4] * np.hypot(110, 50)
    assert extra < 0.01 * area
    assert missing < 0.02 * area
    count = cv2.connectedComponents((result.coverage.pixels < 128).astype(np.uint8))[0] - 1
    assert count == 2
    found = [entry["spacing_mm"] for entry in result.record["ruled_lines"]]  # type: ignore[attr-defined]
    assert found == pytest.approx([5.0] * (1 + (rules != RULES_ACROSS)), abs=0.02)
    assert "ruled-paper" in {finding.code for finding in result.findings}


def test_lines_that_are_drawn_are_kept() -> None:
    """A ladder of twelve rungs 5 mm apart, a third of the sheet, is a drawing."""
    rungs = tuple(bar(50, y, 90, y + 0.6) for y in np.arange(60.0, 120, 5.0))
    result = read((), (*rungs, bar(49, 55, 50, 125), bar(90, 55, 91, 125)))
    assert result.record["ruled_lines"] == []
    inked_mm2 = (result.coverage.pixels < 128).sum() * result.coverage.mm_per_px**2
    assert inked_mm2 == pytest.approx(12 * 40 * 0.6 + 2 * 70, rel=0.05)


def test_rules_that_are_stepped_and_not_smooth_leave_no_dashes() -> None:
    """Grey rules two pixels thick that step down a row now and then, as in coarse pictures: all gone."""
    photo = Image.new("RGB", (1600, 1200), (90, 70, 50))
    draw = ImageDraw.Draw(photo)
    draw.polygon([(240, 160), (1380, 200), (1360, 1010), (220, 980)], fill=(235, 233, 228))
    for share in np.arange(1, 36) / 36:
        ends = [(240 - 20 * share, 160 + 820 * share), (1380 - 20 * share, 200 + 810 * share)]
        draw.line(ends, fill=(120, 122, 126), width=2)
    draw.ellipse((430, 350, 850, 760), outline=(20, 20, 22), width=34)
    draw.ellipse((560, 480, 720, 640), fill=(20, 20, 22))
    draw.line([(900, 760), (1010, 380), (1180, 730)], fill=(20, 20, 22), width=26, joint="curve")
    size = SheetSize(width_mm=297.0, height_mm=210.0)
    result = rectify([ColourImage(np.asarray(photo))], size, silent)
    assert result.record["ruled_lines"]
    count = cv2.connectedComponents((result.coverage.pixels < 128).astype(np.uint8))[0] - 1
    assert count == 3  # a ring, a spot and an angle
