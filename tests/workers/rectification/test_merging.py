"""Photos of one made-up sheet, each with glare or shade elsewhere, made into one that has neither."""

from __future__ import annotations

import numpy as np
import pytest

from tests.support.drawn_sheets import DrawnSheet, as_srgb, bar, disc, square_to
from workers.rectification.rectify import Rectified, Wanted, rectify
from workers.values.image import ColourImage
from workers.values.progress import silent
from workers.values.sheet import SheetSize

A5 = SheetSize(width_mm=148.0, height_mm=210.0)
INK = (
    disc(60.0, 80.0, 25.0),
    bar(30.0, 150.0, 120.0, 156.0),
    *(bar(20.0 + 12 * k, 20.0, 23.0 + 12 * k, 50.0) for k in range(9)),
    *(disc(30.0 + 15 * k, 180.0, 4.0) for k in range(7)),
    bar(100.0, 60.0, 104.0, 140.0),
)
SEEN = [
    np.array([(101.3, 60.7), (640.2, 92.4), (690.9, 828.6), (52.8, 860.1)]),
    np.array([(80.0, 90.0), (655.0, 60.0), (640.0, 850.0), (110.0, 870.0)]),
    np.array([(60.0, 70.0), (620.0, 75.0), (700.0, 880.0), (75.0, 830.0)]),
]
UPSIDE_DOWN = np.roll(SEEN[1], 2, axis=0)


def photographed(
    corners: np.ndarray, glare: tuple[float, float] | None, shade_from: float = 2.0
) -> np.ndarray:
    """Return a photo with a lamp mirrored at a place of the sheet (0..1), and shade right of another.

    The lamp adds light, up to four times what the sensor holds; the shade takes away 65 % of it, its
    edge 3 % of the sheet wide.
    """
    sheet = DrawnSheet(148.0, 210.0, corners, 750, 940, INK)
    back = np.linalg.inv(square_to(corners))
    y, x = np.mgrid[0:940, 0:750] + 0.5
    depth = back[2, 0] * x + back[2, 1] * y + back[2, 2]
    u, v = ((back[k, 0] * x + back[k, 1] * y + back[k, 2]) / depth for k in (0, 1))
    light = linear(sheet.photograph()) * (1.0 - 0.65 * np.clip((u - shade_from) / 0.03, 0.0, 1.0))
    if glare is not None:
        light += 4.0 * np.exp(-(((u - glare[0]) * 148) ** 2 + ((v - glare[1]) * 210) ** 2) / (2 * 14.0**2))
    return as_srgb(light)


def linear(photo: np.ndarray) -> np.ndarray:
    """Return the light of sRGB values (IEC 61966-2-1)."""
    value = photo[:, :, 0] / 255.0
    return np.where(value <= 0.04045, value / 12.92, ((value + 0.055) / 1.055) ** 2.4)


def overlap(result: Rectified) -> float:
    """Return area of intersection over union with what was drawn, whichever way up."""
    scale = result.coverage.mm_per_px
    rows, columns = result.coverage.pixels.shape
    y, x = (np.mgrid[0:rows, 0:columns] + 0.5) * scale
    truth = np.logical_or.reduce([shape(x, y) for shape in INK])
    found = result.coverage.pixels < 128
    return max(float((f & truth).sum() / (f | truth).sum()) for f in (found, found[::-1, ::-1]))


def merged(*photos: np.ndarray) -> Rectified:
    return rectify([ColourImage(p) for p in photos], A5, silent, Wanted(merge=True))


def alone(photo: np.ndarray) -> float:
    return overlap(rectify([ColourImage(photo)], A5, silent))


@pytest.fixture(scope="module")
def shots() -> list[np.ndarray]:
    """Glare on the disc, glare on the bars together with shade, glare at the foot."""
    return [
        photographed(SEEN[0], (0.42, 0.48)),
        photographed(SEEN[1], (0.40, 0.10), shade_from=0.55),
        photographed(SEEN[2], (0.55, 0.85)),
    ]


@pytest.mark.parametrize("count", [2, 3])
def test_the_merged_drawing_is_better_than_any_single_one(shots: list[np.ndarray], count: int) -> None:
    """Ink that glare took away in one photo comes from another: overlap above 0.96, each alone far lower."""
    together = overlap(merged(*shots[:count]))
    assert together > 0.96
    assert max(alone(photo) for photo in shots[:count]) < together - 0.02


def test_a_sheet_photographed_upside_down_is_turned_before_it_is_merged(shots: list[np.ndarray]) -> None:
    """The phone was on the other side of the table: the same result."""
    turned = photographed(UPSIDE_DOWN, (0.40, 0.10))
    assert overlap(merged(shots[0], turned)) > 0.96


def test_another_drawing_is_left_out_and_that_is_told(shots: list[np.ndarray]) -> None:
    """A photo of another sheet does not spoil the rest."""
    other = DrawnSheet(
        148.0, 210.0, SEEN[2], 750, 940, (bar(20, 100, 140, 104), disc(30, 30, 12))
    ).photograph()
    result = merged(shots[0], shots[1], other)
    codes = {finding.code: finding.message for finding in result.findings}
    assert "photo 3" in codes["photo-left-out"]
    assert overlap(result) > 0.96


def test_one_photo_alone_is_not_merged_and_that_is_told(shots: list[np.ndarray]) -> None:
    """Merging was asked for and there is nothing to merge."""
    assert "not-merged" in {finding.code for finding in merged(shots[0]).findings}


def test_a_hand_in_one_of_three_photos_is_outvoted() -> None:
    """A disc of skin in the middle of the drawing in one photo only."""
    covered = DrawnSheet(148.0, 210.0, SEEN[0], 750, 940, INK, covers=((75.0, 120.0, 14.0),)).photograph()
    free = [photographed(SEEN[k], (0.1, 0.5)) for k in (1, 2)]
    assert overlap(merged(covered, *free)) > 0.96


def test_the_record_tells_what_each_photo_gave(shots: list[np.ndarray]) -> None:
    """Shares add up to the sheet; the same photos give the same bytes."""
    result = merged(*shots)
    told = result.record["merged"]
    assert isinstance(told, dict)
    assert sum(entry["share"] for entry in told["photos"]) == pytest.approx(1.0, abs=0.002)
    assert np.array_equal(merged(*shots).coverage.pixels, result.coverage.pixels)


def test_glare_is_told_with_its_place(shots: list[np.ndarray]) -> None:
    """Unmerged, the photo with a lamp at 42 % across and 48 % down has glare there, within 8 mm."""
    result = rectify([ColourImage(shots[0])], A5, silent)
    (glare,) = [finding for finding in result.findings if finding.code == "glare"]
    assert glare.at_mm == pytest.approx((0.42 * 148, 0.52 * 210), abs=8.0)
    assert "in the middle" in glare.message
