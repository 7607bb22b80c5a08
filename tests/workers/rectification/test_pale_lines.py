"""Pencil is left out and told, fine and grey pen lines are kept, and what cannot be told warns."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest

from tests.support.exact_coverage import box, circle
from tests.support.workshop_photos import Pencil, Scene, photographed, true_ink
from workers.rectification.rectify import Rectified, Wanted, rectify
from workers.values.finding import Severity
from workers.values.image import ColourImage
from workers.values.progress import silent
from workers.values.sheet import SheetSize

A5 = SheetSize(width_mm=148.0, height_mm=210.0)
RINGS = [
    circle(74, 70, 30, 400),
    circle(74, 70, 27, 400),
    box(74, 150, 60, 1.2, math.radians(35)),
    box(110, 105, 22, 16),
]
WAYS = (
    ((15.0, 25.0), (70.0, 30.0), (132.0, 22.0)),
    ((15.0, 190.0), (60.0, 182.0), (132.0, 192.0)),
    ((20.0, 60.0), (22.0, 100.0), (16.0, 140.0)),
)


def drawn(darkness: float, width_mm: float) -> tuple[Pencil, ...]:
    return tuple(Pencil(points=way, darkness=darkness, width_mm=width_mm) for way in WAYS)


def read(scene: Scene, tones: int = 2) -> Rectified:
    photo = photographed(RINGS, (148.0, 210.0), scene)
    return rectify([ColourImage(photo)], A5, silent, Wanted(tones_count=tones))


def seen_share(result: Rectified) -> float:
    """Return over how much of the lines' length there is ink within 0.4 mm of their middle."""
    scale = result.coverage.mm_per_px
    reach = max(1, round(0.4 / scale))
    looks = []
    for way in WAYS:
        points = np.concatenate([np.linspace(a, b, 200) for a, b in pairwise(way)])
        for column, row in np.floor(points / scale).astype(int):
            near = result.coverage.pixels[row - reach : row + reach + 1, column - reach : column + reach + 1]
            looks.append(near.min() < 128)
    return float(np.mean(looks))


def overlap(result: Rectified, scene: Scene) -> float:
    ink = result.coverage.pixels < 128
    truth = true_ink(RINGS, scene, ink.shape, result.coverage.mm_per_px)
    return float((ink & truth).sum() / (ink | truth).sum())


def codes(result: Rectified) -> set[str]:
    return {finding.code for finding in result.findings}


@pytest.mark.parametrize("darkness", [0.3, 0.45, 0.6, 0.7])
def test_pencil_of_any_darkness_is_left_out_and_told(darkness: float) -> None:
    """Lines of 0.5 mm, three to seven tenths as dark as ink: none is left, and where they were is said."""
    result = read(Scene(pencil=drawn(darkness, 0.5)))
    assert seen_share(result) < 0.02
    assert overlap(result, Scene()) > 0.98
    (told,) = [finding for finding in result.findings if finding.code == "pencil-left-out"]
    assert told.at_mm is not None
    assert "from the upper left" in told.message


@pytest.mark.parametrize(
    ("darkness", "width_mm"), [(0.5, 0.3), (0.5, 0.5), (0.7, 0.3), (0.7, 0.5), (1.0, 0.3)]
)
def test_fine_and_grey_pen_lines_are_kept(darkness: float, width_mm: float) -> None:
    """Lines of 0.3 to 0.5 mm, half to fully as dark as a marker: whole to 97 %, told if pale."""
    scene = Scene(fine_lines=drawn(darkness, width_mm))
    result = read(scene)
    assert seen_share(result) > 0.97
    assert "pencil-left-out" not in codes(result)
    assert ("fine-lines-kept" in codes(result)) == (darkness < 1.0 or width_mm < 0.4)


def test_a_grey_pen_line_comes_out_as_wide_as_it_is() -> None:
    """0.5 mm wide and half as dark as the ink: within 0.15 mm of that, by its area."""
    result = read(Scene(fine_lines=drawn(0.5, 0.5)))
    scale = result.coverage.mm_per_px
    rows = slice(round(176 / scale), round(198 / scale))
    columns = slice(round(25 / scale), round(50 / scale))
    inked_mm2 = (result.coverage.pixels[rows, columns] < 128).sum() * scale**2
    assert inked_mm2 / (25 * math.hypot(45, 8) / 45) == pytest.approx(0.5, abs=0.15)


def test_what_blur_hides_is_told_as_doubtful() -> None:
    """Pencil and a grey pen where blur evens out grain: a warning with lengths, share and places."""
    pencil, pen = drawn(0.6, 0.6)[:1], drawn(0.7, 0.6)[1:2]
    result = read(Scene(pencil=pencil, fine_lines=pen, blur_px=3.0, long_side_px=1800))
    (told,) = [finding for finding in result.findings if finding.code == "pencil-or-ink"]
    assert told.severity is Severity.WARNING
    assert "%" in told.message
    assert "mm" in told.message


@pytest.mark.parametrize("tones", [3, 4])
def test_grey_pen_lines_are_tones_where_tones_are_asked_for(tones: int) -> None:
    """Lines 1.2 mm wide, half as dark as the ink: in the image of all ink, not in that of the darkest."""
    result = read(Scene(fine_lines=drawn(0.55, 1.2)), tones)
    assert seen_share(result) > 0.97
    assert len(result.tiers) == 1
    darkest = result.tiers[-1].pixels
    scale = result.coverage.mm_per_px
    assert darkest[round(180 / scale) : round(195 / scale), round(20 / scale) : round(50 / scale)].min() > 128
