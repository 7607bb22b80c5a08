"""Glare of white and of coloured lamps is told as glare, and grain and darkness by figures."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Sequence

import numpy as np
import pytest

from tests.support.exact_coverage import box, circle
from tests.support.workshop_photos import Fold, Glare, Scene, photographed, true_ink
from workers.rectification.coloured_ink import coloured_inks
from workers.rectification.rectify import Rectified, Wanted, rectify
from workers.values.image import ColourImage
from workers.values.progress import silent
from workers.values.sheet import SheetSize

A5 = SheetSize(width_mm=148.0, height_mm=210.0)
RINGS = [
    circle(74, 70, 30, 400),
    circle(74, 70, 27, 400),
    box(74, 150, 60, 1.2, math.radians(35)),
    box(40, 105, 1.2, 30),
    box(110, 105, 22, 16),
]
ON_RING = (0.32, 0.28)  # a place of the sheet, where the ring runs
TINTED = {
    "red and green full": (3.0, 1.0, 0.2),
    "red full": (2.0, 0.3, 0.1),
    "red and blue full": (3.0, 0.3, 3.0),
    "blue full": (0.3, 0.3, 3.0),
    "green full": (0.2, 3.0, 0.6),
}


def photo(scene: Scene) -> np.ndarray:
    return photographed(RINGS, (148.0, 210.0), scene)


def read(photos: Sequence[np.ndarray], merge: bool = False) -> Rectified:
    return rectify([ColourImage(one) for one in photos], A5, silent, Wanted(merge=merge))


def overlap(result: Rectified) -> float:
    ink = result.coverage.pixels < 128
    truth = true_ink(RINGS, Scene(), ink.shape, result.coverage.mm_per_px)
    return float((ink & truth).sum() / (ink | truth).sum())


def codes(result: Rectified) -> set[str]:
    return {finding.code for finding in result.findings}


@pytest.mark.parametrize("light", TINTED.values(), ids=TINTED)
def test_the_glare_of_a_coloured_lamp_is_glare_and_ink_in_it_is_read(
    light: tuple[float, float, float],
) -> None:
    """One or two colours past what the photo holds: told as glare in its place; all ink is read."""
    result = read([photo(Scene(glare=(Glare(at=ON_RING, light=light),), long_side_px=1100))])
    assert "glare" in codes(result)
    assert not codes(result) & {"coloured-ink", "pale-ink"}
    (glare,) = [finding for finding in result.findings if finding.code == "glare"]
    assert glare.at_mm == pytest.approx((0.32 * 148, 0.72 * 210), abs=8.0)
    assert overlap(result) > 0.975


def test_white_glare_is_not_pale_ink_as_well() -> None:
    """The ring is pale in the skirts of the lamp: glare says so; the marker is not to blame."""
    result = read([photo(Scene(glare=(Glare(at=ON_RING),), long_side_px=1100))])
    assert "glare" in codes(result)
    assert "pale-ink" not in codes(result)


def test_ink_burnt_out_by_glare_is_taken_from_another_photo() -> None:
    """Two photos, a lamp on the ring in one and on the bar in the other: merged, all of the ink is there."""
    one = photo(Scene(glare=(Glare(at=ON_RING),), long_side_px=1100))
    other = photo(Scene(glare=(Glare(at=(0.5, 0.71)),), long_side_px=1100, tilt_deg=14, from_deg=110, seed=2))
    assert overlap(read([one])) < 0.97
    assert overlap(read([one, other], merge=True)) > 0.975


def test_a_bright_flank_of_a_fold_is_no_glare() -> None:
    """Paper that leans to the lamp is bright and holds its ink; glare is past the photo's white."""
    folds = (Fold(angle_deg=3, lost=0.5, slope=0.15), Fold(angle_deg=88, lost=0.5, slope=0.15))
    assert "glare" not in codes(read([photo(Scene(folds=folds, long_side_px=1100))]))


def test_what_lies_beyond_the_picture_has_no_colour() -> None:
    """Red on the part of the sheet that the picture does not show is no coloured ink; elsewhere it is."""
    colours = np.full((420, 296, 3), (214, 212, 206), np.uint8)
    colours[200:300, 255:275] = (190, 60, 50)
    in_picture = np.zeros((420, 296), np.bool_)
    in_picture[:, :250] = True
    assert coloured_inks(colours, in_picture) == ()
    assert coloured_inks(colours)


@pytest.mark.parametrize(
    ("scene", "code"),
    [
        (Scene(exposure=0.08, noise=0.02), "too-dark"),
        (Scene(exposure=0.2, noise=0.1, blur_px=1.3), "grainy"),
        (Scene(), None),
    ],
    ids=["dark", "grainy", "good"],
)
def test_the_dark_is_told_by_figures(scene: Scene, code: str | None) -> None:
    """Paper under half of the scale, or grain that moves edges by over 0.02 mm; a good photo has neither."""
    result = read([photo(dataclasses.replace(scene, long_side_px=1100))])
    assert codes(result) & {"too-dark", "grainy"} == ({code} if code else set())
    assert "coloured-ink" not in codes(result)
    grain_mm = result.record["quality"]["grain_mm"]  # type: ignore[index]
    assert (grain_mm > 0.02) == (code == "grainy")
