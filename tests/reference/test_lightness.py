"""Light, blur and ink levels against closed forms."""

from __future__ import annotations

import math

import cv2
import numpy as np
import pytest

from workers.rectification.illumination import paper_light
from workers.rectification.ink import inked
from workers.rectification.linear_light import grey_light, light_of_value
from workers.rectification.photo_quality import photo_quality
from workers.rectification.reduced import reduced_photo

FRAME = np.array([(0, 0), (960, 0), (960, 960), (0, 960)], float)


@pytest.mark.parametrize(
    ("value", "light"), [(0, 0.0), (10, 0.003035), (99, 0.124772), (188, 0.502886), (255, 1.0)]
)
def test_the_light_of_a_value_is_the_standards(value: int, light: float) -> None:
    """IEC 61966-2-1: below 0.04045 value / 12.92, above it ((value + 0.055) / 1.055) ^ 2.4."""
    assert light_of_value()[value] == pytest.approx(light, abs=5e-7)


def test_the_channels_weigh_as_the_standard_says() -> None:
    """Luminance of pure red, green and blue: 0.2126, 0.7152, 0.0722 (IEC 61966-2-1)."""
    pixels = np.array([[[255, 0, 0], [0, 255, 0], [0, 0, 255], [255, 255, 255]]], np.uint8)
    assert grey_light(pixels)[0] / 65535 == pytest.approx([0.2126, 0.7152, 0.0722, 1.0], abs=2e-5)


@pytest.mark.parametrize("sigma_px", [2.0, 3.0, 4.0])
def test_the_width_of_a_blurred_edge_is_that_of_its_gaussian(sigma_px: float) -> None:
    """Contrast over steepest slope of an edge under a Gaussian of deviation s is s root(2 pi).

    Closed form; the slope is measured over three pixels, so sharp edges come out a little wide.
    """
    light = np.full((960, 960), 0.7, np.float32)
    light[:, 100:148] = light[:, 460:520] = light[:, 700:790] = 0.05
    light = cv2.GaussianBlur(light, (0, 0), sigma_px)
    value = np.round(255 * (1.055 * light ** (1 / 2.4) - 0.055)).astype(np.uint8)
    pixels = np.repeat(value[:, :, None], 3, axis=2)
    found = photo_quality(pixels, reduced_photo(pixels), FRAME, 4.0)
    expected = sigma_px * math.sqrt(2 * math.pi)
    assert found.edge_width_px == pytest.approx(expected, rel=0.12)
    assert found.edge_width_mm == pytest.approx(found.edge_width_px / 4.0)


def straight_edge(sigma_px: float, ink: float, light: np.ndarray) -> np.ndarray:
    """Return a bar from column 200.0 to 400.0 exactly, blurred, under some light."""
    reflectance = np.full((600, 600), 0.8)
    reflectance[:, 200:400] = ink
    return (cv2.GaussianBlur(reflectance, (0, 0), sigma_px) * light * 65535).astype(np.uint16)


@pytest.mark.parametrize("ink", [0.03, 0.2])
@pytest.mark.parametrize("shade", ["even", "slope", "shadow"])
def test_half_way_lies_on_the_edge_in_any_light(ink: float, shade: str) -> None:
    """A symmetric blur leaves the half-way level on the edge; neither slope nor shadow moves it 0.1 px.

    The shadow takes 55 % of the light away over 6 mm (a penumbra of 3 mm deviation), across the bar.
    """
    y, x = np.mgrid[0:600, 0:600] / 600.0
    depth = 0.5 * (1 + np.vectorize(math.erf)((y - 0.5) * 60 / 3 / math.sqrt(2)))
    light = {"even": np.ones_like(x), "slope": 1.0 - 0.4 * x, "shadow": 1.0 - 0.55 * depth}[shade]
    scene = straight_edge(2.0, ink, light)
    coverage = inked(scene, paper_light(scene, 10.0)).coverage.astype(float)
    for row in (60, 300, 540):
        line = coverage[row]
        for edge, columns in ((200.0, range(190, 210)), (400.0, range(390, 410))):
            found = [
                c + 0.5 + (127.5 - line[c]) / (line[c + 1] - line[c])
                for c in columns
                if (line[c] < 127.5) != (line[c + 1] < 127.5)
            ]
            assert len(found) == 1
            assert found[0] == pytest.approx(edge, abs=0.1)


def test_a_large_inked_area_is_not_hollowed() -> None:
    """A black square of 60 mm stays ink to its middle, also with a shadow across it."""
    y, x = np.mgrid[0:1000, 0:1000] / 10.0
    scene = np.where((abs(x - 50) < 30) & (abs(y - 50) < 30), 0.04, 0.8)
    scene = cv2.GaussianBlur(scene, (0, 0), 2.0) * (1 - 0.5 / (1 + np.exp(-(x + y - 90) / 2.0)))
    light = (scene * 65535).astype(np.uint16)
    coverage = inked(light, paper_light(light, 10.0)).coverage
    assert (coverage[210:790, 210:790] < 40).all()
    outside = np.ones_like(coverage, bool)
    outside[190:810, 190:810] = False
    assert (coverage[outside] > 200).all()


def test_pencil_stays_paper() -> None:
    """Lines 0.5 mm wide that take 40 % of the light away cross no half-way level beside real ink."""
    scene = np.full((600, 600), 0.8)
    scene[100:140, 50:550] = 0.04
    scene[300:305, 50:550] = 0.8 * 0.6
    scene[50:550, 300:305] = np.minimum(scene[50:550, 300:305], 0.8 * 0.6)
    light = (cv2.GaussianBlur(scene, (0, 0), 1.0) * 65535).astype(np.uint16)
    coverage = inked(light, paper_light(light, 10.0)).coverage
    assert (coverage[160:] > 127).all()
    assert (coverage[105:135, 60:540] < 30).all()


def test_a_shadow_with_a_hard_edge_is_light_and_not_ink() -> None:
    """A shadow that takes 60 % away within half a millimetre, in over the rim and across strokes, goes.

    The strokes keep their 60 px within 0.2 mm under the shadow and beside it, but for 4 mm next to its edge,
    where nothing tells how the light falls.
    """
    y, x = np.mgrid[0:900, 0:900] / 10.0
    scene = np.where((abs(y - 30) < 1.5) | (abs(y - 60) < 1.5), 0.04, 0.8)
    scene[:, :100] = scene[:, 800:] = 0.8
    scene = cv2.GaussianBlur(scene, (0, 0), 1.5)
    shadow = cv2.GaussianBlur((abs(x - 45) < 14).astype(float), (0, 0), 2.0)
    light = (scene * (1 - 0.6 * shadow) * 65535).astype(np.uint16)
    paper = paper_light(light, 10.0)
    coverage = inked(light, paper).coverage
    assert paper.hard_shadow_fraction > 0.15
    widths = (coverage < 128).sum(axis=0)
    clear = np.concatenate([widths[150:270], widths[350:550], widths[630:750]])
    assert (abs(clear - 60) <= 2).all()
    assert (coverage[700:] > 128).all()
    assert (coverage[:250] > 128).all()


def test_a_shadow_inside_the_sheet_is_told_from_a_dry_marker_by_how_even_it_is() -> None:
    """Two areas of about half the paper's light: the even one goes as a shadow, the streaky one stays ink."""
    y, x = np.mgrid[0:900, 0:900] / 10.0
    scene = np.full((900, 900), 0.8)
    scene[abs(y - 80) < 2] = 0.04
    shadow = (abs(x - 25) < 12) & (abs(y - 35) < 12)
    dry = (abs(x - 65) < 12) & (abs(y - 35) < 12)
    streaks = 1 + 0.25 * np.sin(x * 2 * np.pi / 2.7) * np.cos(y * 2 * np.pi / 3.1)
    scene = np.where(shadow, scene * 0.5, np.where(dry, 0.8 * 0.4 * streaks, scene))
    light = (cv2.GaussianBlur(scene, (0, 0), 2.0) * 65535).astype(np.uint16)
    paper = paper_light(light, 10.0)
    coverage = inked(light, paper).coverage
    assert (coverage[270:430, 170:330] > 200).all()
    assert 0.04 < paper.hard_shadow_fraction < 0.1
    assert (coverage[270:430, 570:730] < 128).mean() > 0.95
