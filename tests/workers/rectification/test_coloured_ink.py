"""Coloured markers are ink, pale ones too; grey pencil, blue rules and a cast of light are not."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from tests.support.drawn_sheets import INK, PAPER, DrawnSheet, as_srgb, bar, disc
from workers.rectification.rectify import Rectified, Wanted, rectify
from workers.values.image import ColourImage
from workers.values.progress import silent
from workers.values.sheet import SheetSize

A5 = SheetSize(width_mm=148.0, height_mm=210.0)
CORNERS = np.array([(113.1, 48.9), (628.4, 80.6), (679.1, 840.4), (64.6, 865.6)])
SHAPES = (disc(60.0, 80.0, 25.0), bar(30.0, 150.0, 120.0, 152.0))
AREA_MM2 = np.pi * 25.0**2 + 90.0 * 2.0
COLOURS = {  # linear reflectance of red, green, blue; made up, as a marker's dye takes light away
    "yellow": (0.80, 0.66, 0.05),
    "orange": (0.78, 0.32, 0.03),
    "pink": (0.78, 0.30, 0.55),
    "light green": (0.45, 0.75, 0.25),
    "turquoise": (0.20, 0.58, 0.75),
}
SHEET = DrawnSheet(148.0, 210.0, CORNERS, 750, 940, SHAPES)


def share_of(sheet: DrawnSheet) -> np.ndarray:
    """Return how much of each pixel is inked, from the light that ink takes away."""
    bare = light_of(dataclasses.replace(sheet, ink=()))
    return np.clip((bare - light_of(sheet)) / (PAPER - INK), 0, 1)


def light_of(sheet: DrawnSheet) -> np.ndarray:
    value = sheet.photograph()[:, :, 0] / 255.0
    return np.where(value <= 0.04045, value / 12.92, ((value + 0.055) / 1.055) ** 2.4)


def inked(*layers: tuple[DrawnSheet, tuple[float, ...]], gains: tuple[float, ...] = (1, 1, 1)) -> np.ndarray:
    """Return a photo of a sheet with inks of different colours, under a lamp of a colour."""
    scene = np.repeat(light_of(dataclasses.replace(SHEET, ink=()))[:, :, None], 3, axis=2)
    for sheet, colour in layers:
        share = share_of(sheet)[:, :, None]
        scene = scene * (1 - share) + np.array(colour) * share
    lit = scene * np.array(gains)
    return np.stack([as_srgb(lit[:, :, k])[:, :, 0] for k in range(3)], axis=-1)


def read(photo: np.ndarray, tones: int = 2) -> Rectified:
    return rectify([ColourImage(photo)], A5, silent, Wanted(tones_count=tones))


def area_mm2(result: Rectified) -> float:
    scale = result.coverage.mm_per_px
    return float((result.coverage.pixels < 128).sum() * scale**2)


@pytest.mark.parametrize("name", COLOURS)
@pytest.mark.parametrize("gains", [(1.0, 1.0, 1.0), (1.15, 1.0, 0.8), (0.85, 1.0, 1.15)])
def test_a_marker_of_any_colour_is_ink(name: str, gains: tuple[float, ...]) -> None:
    """Its area comes out within 1.5 % of what was drawn, by day, under a warm lamp and under a cold one."""
    result = read(inked((SHEET, COLOURS[name]), gains=gains))
    assert area_mm2(result) == pytest.approx(AREA_MM2, rel=0.015)
    assert "coloured-ink" in {finding.code for finding in result.findings}


def test_several_colours_and_black_are_read_together() -> None:
    """Yellow and turquoise areas that touch, and a black bar across: all of it, within 1.5 %."""
    yellow = dataclasses.replace(SHEET, ink=(bar(30, 40, 70, 90),))
    turquoise = dataclasses.replace(SHEET, ink=(bar(70, 40, 110, 90),))
    black = dataclasses.replace(SHEET, ink=(bar(20, 60, 120, 64),))
    photo = inked((yellow, COLOURS["yellow"]), (turquoise, COLOURS["turquoise"]), (black, (INK,) * 3))
    assert area_mm2(read(photo)) == pytest.approx(80 * 50 + 20 * 4, rel=0.015)


@pytest.mark.parametrize("gains", [(1.0, 1.0, 1.0), (1.2, 1.0, 0.7)])
def test_black_ink_is_read_as_ever_under_a_coloured_lamp(gains: tuple[float, ...]) -> None:
    """Nothing coloured is told, and the area is as drawn."""
    result = read(inked((SHEET, (INK,) * 3), gains=gains))
    assert area_mm2(result) == pytest.approx(AREA_MM2, rel=0.01)
    assert "coloured-ink" not in {finding.code for finding in result.findings}


def test_pale_blue_rules_and_pencil_beside_ink_are_left_out() -> None:
    """Rules of 0.3 mm every 8 mm and a grey line of 0.5 mm beside yellow and black: only the ink is read."""
    rules = dataclasses.replace(SHEET, ink=tuple(bar(0, y, 148, y + 0.3) for y in range(8, 208, 8)))
    pencil = dataclasses.replace(SHEET, ink=(bar(15.0, 10.0, 15.5, 200.0),))
    black = dataclasses.replace(SHEET, ink=(bar(100, 60, 130, 64),))
    photo = inked(
        (rules, (0.45, 0.6, 0.74)), (pencil, (0.45,) * 3), (SHEET, COLOURS["yellow"]), (black, (INK,) * 3)
    )
    assert area_mm2(read(photo)) == pytest.approx(AREA_MM2 + 120, rel=0.02)
