"""Folds are taken out and told with their places; lines that are drawn are kept."""

from __future__ import annotations

import math

import cv2
import numpy as np
import pytest

from tests.support.exact_coverage import box, circle
from tests.support.workshop_photos import Fold, Pencil, Scene, photographed, true_ink
from workers.rectification.rectify import Rectified, rectify
from workers.values.finding import Severity
from workers.values.image import ColourImage
from workers.values.progress import silent
from workers.values.sheet import SheetSize

A5 = (148.0, 210.0)
RINGS = [
    circle(74, 70, 30, 400),
    circle(74, 70, 27, 400),
    box(74, 150, 60, 1.0, math.radians(35)),
    box(40, 105, 1.0, 30),
    box(110, 105, 22, 16),
]
ACROSS = Fold(angle_deg=2, lost=0.5, through=(0.5, 0.5), slope=0.06)
DOWN = Fold(angle_deg=88, lost=0.5, through=(0.5, 0.5), slope=0.06)
SLANTED = Fold(angle_deg=40, lost=0.6, width_mm=0.7, through=(0.5, 0.4), slope=0.1)


def read(scene: Scene) -> Rectified:
    photo = photographed(RINGS, A5, scene)
    return rectify([ColourImage(photo)], SheetSize(width_mm=A5[0], height_mm=A5[1]), silent)


def counts(ink: np.ndarray) -> tuple[int, int]:
    """Return the parts of ink and the areas of paper."""
    parts, areas = (
        cv2.connectedComponents(mask.astype(np.uint8), connectivity=joined)[0] - 1
        for mask, joined in ((ink, 8), (~ink, 4))
    )
    return parts, areas


def compared(result: Rectified, scene: Scene) -> tuple[float, bool]:
    """Return the overlap with what is drawn, and whether parts and holes are as many."""
    ink = result.coverage.pixels < 128
    truth = true_ink(RINGS, scene, ink.shape, result.coverage.mm_per_px)
    return float((ink & truth).sum() / (ink | truth).sum()), counts(ink) == counts(truth)


@pytest.mark.parametrize("folds", [(ACROSS, DOWN), (SLANTED,)], ids=["quartered", "aslant"])
def test_folds_are_taken_out_and_ink_across_them_stays(folds: tuple[Fold, ...]) -> None:
    """Half to two thirds of the light lost along them: no part or hole too many, overlap above 0.98."""
    scene = Scene(folds=folds, long_side_px=1100)
    result = read(scene)
    overlap, same = compared(result, scene)
    assert same
    assert overlap > 0.98
    assert sum(finding.code == "crease" for finding in result.findings) == len(folds)


def test_a_fold_is_told_where_it_is() -> None:
    """Ends within 1 mm of where it was made, its middle as the finding's place, y up."""
    result = read(Scene(folds=(ACROSS,), long_side_px=1100))
    (crease,) = result.record["creases"]  # type: ignore[misc]
    ends = sorted((tuple(crease["from_mm"]), tuple(crease["to_mm"])))
    rise = 74 * math.tan(math.radians(2))
    assert np.allclose(ends, [(0, 105 - rise), (148, 105 + rise)], atol=1.0)
    (finding,) = [finding for finding in result.findings if finding.code == "crease"]
    assert finding.at_mm == pytest.approx((74.0, 105.0), abs=1.0)


def test_a_deep_fold_warns_and_a_slight_one_is_noted() -> None:
    """By the darkness of its line, a third of the ink's."""
    deep = read(Scene(folds=(Fold(angle_deg=2, lost=0.75, width_mm=0.8),), long_side_px=1100)).findings
    slight = read(Scene(folds=(Fold(angle_deg=2, lost=0.2),), long_side_px=1100)).findings
    assert [f.severity for f in deep if f.code == "crease"] == [Severity.WARNING]
    assert [f.severity for f in slight if f.code == "crease"] == [Severity.NOTE]


@pytest.mark.parametrize(
    "ends", [((0, 178), (148, 178)), ((12, 178), (136, 178))], ids=["to the rims", "short"]
)
def test_a_ruled_pen_line_is_kept(ends: tuple[tuple[float, float], ...]) -> None:
    """As dark as the ink and on flat paper: a horizon of the drawing, even where it runs off the sheet."""
    scene = Scene(fine_lines=(Pencil(points=ends, darkness=1.0, width_mm=0.8),), long_side_px=1100)
    result = read(scene)
    assert result.record["creases"] == []
    scale = result.coverage.mm_per_px
    middle = result.coverage.pixels[
        round(176 / scale) : round(180 / scale), round(30 / scale) : round(120 / scale)
    ]
    assert (middle.min(axis=0) < 128).all()


def test_crumpled_paper_warns_and_a_folded_sheet_is_not_called_so() -> None:
    """Facets that lean by 11 degrees warn with how much of the sheet; four folds do not."""
    crumpled = read(Scene(crumple=0.2, long_side_px=1100))
    folds = tuple(
        Fold(angle_deg=a, through=t) for a, t in ((0, (0.5, 0.3)), (0, (0.5, 0.7)), (90, (0.5, 0.5)))
    )
    folded = read(Scene(folds=folds, long_side_px=1100))
    assert "crumpled" in {finding.code for finding in crumpled.findings}
    assert "crumpled" not in {finding.code for finding in folded.findings}
    assert crumpled.record["quality"]["facets_fraction"] > 0.45  # type: ignore[index]
