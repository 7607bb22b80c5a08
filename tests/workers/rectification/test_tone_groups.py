"""Greys told apart, and tiers whose edges are where they were drawn."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from tests.support.drawn_sheets import PAPER, as_srgb
from workers.rectification.rectify import Rectified, Wanted, rectify
from workers.rectification.tone_groups import split_levels
from workers.values.image import ColourImage, InkCoverage
from workers.values.progress import silent
from workers.values.sheet import SheetSize

A5 = SheetSize(width_mm=148.0, height_mm=210.0)


def between_variance(counts: np.ndarray, first: int) -> float:
    """Return w0 w1 (m0 - m1)^2 of a histogram split before a level (Otsu 1979, his equation 14)."""
    share = counts / counts.sum()
    levels = np.arange(len(counts))
    low, high = share[:first].sum(), share[first:].sum()
    means = (share[:first] @ levels[:first]) / low, (share[first:] @ levels[first:]) / high
    return float(low * high * (means[0] - means[1]) ** 2)


def test_the_worked_example_of_otsu() -> None:
    """Levels 0 to 5 with counts 8, 7, 2, 6, 9, 4: {0,1,2} | {3,4,5}, variance between 2.628715 (I-01)."""
    counts = np.array([8, 7, 2, 6, 9, 4])
    variances = [between_variance(counts, first) for first in range(1, 6)]
    assert variances == pytest.approx([1.592813, 2.563514, 2.628715, 2.141710, 0.870467], abs=1e-6)
    assert split_levels(counts, 2) == (3,)


@pytest.mark.parametrize("classes", [2, 3, 4])
def test_a_split_is_the_best_of_all(classes: int) -> None:
    """Against every split there is: the least variance within the classes (Otsu 1979, for several)."""
    counts = np.random.default_rng(classes).integers(0, 30, 14)
    levels = np.arange(14)

    def within(splits: tuple[int, ...]) -> float:
        total = 0.0
        for a, b in zip((0, *splits), (*splits, 14), strict=True):
            mean = (counts[a:b] @ levels[a:b]) / max(counts[a:b].sum(), 1)
            total += float(counts[a:b] @ (levels[a:b] - mean) ** 2)
        return total

    places = np.array(np.meshgrid(*[range(1, 14)] * (classes - 1))).reshape(classes - 1, -1).T
    best = min(within(tuple(p)) for p in places if all(np.diff(p) > 0))
    assert within(split_levels(counts, classes)) == pytest.approx(best)


def photo(*areas: tuple[float, float, float, float, float], noise: float = 0.0) -> np.ndarray:
    """Return a photo of an A5 sheet with bars, later ones over earlier ones, aslant on a dark table.

    A bar is left, top, right, bottom in mm, and reflectance. Drawn at 10 px/mm, seen at about 5, in light
    that falls by a third from left to right.
    """
    sheet = np.full((2100, 1480), PAPER, np.float32)
    for left, top, right, bottom, reflectance in areas:
        sheet[round(top * 10) : round(bottom * 10), round(left * 10) : round(right * 10)] = reflectance
    blurred = cv2.GaussianBlur(sheet, (0, 0), 1.5)
    corners = np.array([(140, 90), (890, 130), (960, 1160), (70, 1200)], np.float32)
    drawn = np.array([(0, 0), (1480, 0), (1480, 2100), (0, 2100)], np.float32)
    to_photo = np.array([[1, 0, -0.5], [0, 1, -0.5], [0, 0, 1]]) @ cv2.getPerspectiveTransform(drawn, corners)
    to_photo = to_photo @ np.array([[1, 0, 0.5], [0, 1, 0.5], [0, 0, 1]])
    seen = cv2.warpPerspective(blurred, to_photo, (1040, 1300), borderValue=0.1)
    grain = np.random.default_rng(3).normal(0, 1, seen.shape) * noise
    return as_srgb(seen * np.linspace(1.0, 0.67, seen.shape[1]) + grain)


GREY, DARK, BLACK = 0.45 * PAPER, 0.22 * PAPER, 0.04 * PAPER
AREAS = (
    (20, 20, 120, 80, GREY),
    (60, 50, 130, 110, DARK),
    (30, 100, 90, 160, BLACK),
    (20, 180, 130, 182, BLACK),
)


def read(picture: np.ndarray, tones: int) -> Rectified:
    return rectify([ColourImage(picture)], A5, silent, Wanted(tones_count=tones))


def share_wrong(coverage: InkCoverage, *areas: tuple[float, float, float, float, float]) -> float:
    """Return wrong pixels over those of the areas together."""
    rows, columns = coverage.pixels.shape
    y, x = (np.mgrid[0:rows, 0:columns] + 0.5) * coverage.mm_per_px
    truth = np.logical_or.reduce([(x > a) & (x < c) & (y > b) & (y < d) for a, b, c, d, _ in areas])
    return float(((coverage.pixels < 128) != truth).sum() / truth.sum())


@pytest.mark.parametrize("noise", [0.0, 0.01])
def test_four_tones_give_three_tiers(noise: float) -> None:
    """All ink, the two darker tones, the darkest: each within 1.5 % of what was drawn."""
    result = read(photo(*AREAS, noise=noise), 4)
    assert len(result.tiers) == 2
    all_ink, darker, darkest = (result.coverage, *result.tiers)
    assert share_wrong(all_ink, *AREAS) < 0.015
    assert share_wrong(darker, *AREAS[1:]) < 0.015
    assert share_wrong(darkest, *AREAS[2:]) < 0.015
    tones = result.record["tones"]
    assert isinstance(tones, list)
    assert [tone["output"] for tone in tones] == ["image", "image_2", "image_3"]
    assert [tone["grey_level"] for tone in tones] == pytest.approx([0.45, 0.22, 0.04], abs=0.03)


def test_three_tones_of_a_drawing_with_two_greys_join_what_is_nearest() -> None:
    """Grey and dark grey against black: two tiers, the paler with all, the darker with black."""
    result = read(photo(*AREAS), 3)
    assert len(result.tiers) == 1
    assert share_wrong(result.coverage, *AREAS) < 0.015


def test_black_and_white_alone_are_two_tones_whatever_is_asked() -> None:
    """One image, and a finding that says so."""
    result = read(photo(AREAS[2], AREAS[3]), 4)
    assert result.tiers == ()
    assert "fewer-tones" in {finding.code for finding in result.findings}


def test_two_tones_are_as_they_were() -> None:
    """Nothing of this touches a drawing in two tones."""
    result = read(photo(AREAS[2]), 2)
    assert result.tiers == ()
    assert result.record["tones"] == []
    assert share_wrong(result.coverage, AREAS[2]) < 0.015
