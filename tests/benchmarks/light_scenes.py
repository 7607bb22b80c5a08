"""Bad light, paper and pencil against the truth: ``python -m tests.benchmarks.light_scenes``.

The three test drawings are photographed as ``tests/support/workshop_photos.py`` makes it: folded, crumpled,
in the glare of white and coloured lamps, in shade, in the dark, with pencil and pen lines. For each scene
there is the overlap of ink with what was drawn, median and least, how many parts and areas of paper differ
from the truth over all drawings, and what was told: warnings in bold. Scenes are made from seeds.
"""

from __future__ import annotations

import statistics
from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from tests.support.markdown_tables import command_line, deliver, table, tell
from tests.support.workshop_photos import (
    DRAWINGS,
    Fold,
    Glare,
    Pencil,
    Scene,
    photographed,
    rings_of,
    true_ink,
)
from workers.errors import ConversionError
from workers.rectification.rectify import rectify
from workers.values.finding import Severity
from workers.values.image import ColourImage
from workers.values.progress import silent
from workers.values.sheet import SheetSize

NAMES = ("teacup", "anchor", "rope_locker")
QUARTERED = (Fold(angle_deg=3, slope=0.1), Fold(angle_deg=88, slope=0.1))


def _lines(darkness: Sequence[float], width_mm: float, first_mm: float) -> tuple[Pencil, ...]:
    """Return lines over the sheet, one below another."""
    return tuple(
        Pencil(points=((20, y), (110, y + 12), (190, y + 4)), darkness=own, width_mm=width_mm)
        for own, y in zip(darkness, np.arange(len(darkness)) * 40.0 + first_mm, strict=True)
    )


SCENES = {
    "plain": Scene(),
    "two folds, half of the light lost": Scene(folds=QUARTERED),
    "three wide folds, two thirds lost": Scene(
        folds=tuple(Fold(angle_deg=angle, lost=0.65, width_mm=0.8, slope=0.15) for angle in (3.0, 88.0, 38.0))
    ),
    "crumpled, slightly": Scene(crumple=0.08),
    "crumpled": Scene(crumple=0.2),
    "glare of a white lamp": Scene(glare=(Glare(at=(0.4, 0.5)),)),
    "glare, red and green full": Scene(glare=(Glare(at=(0.4, 0.5), light=(3.0, 1.0, 0.2)),)),
    "glare, blue full": Scene(glare=(Glare(at=(0.4, 0.5), light=(0.3, 0.3, 3.0)),)),
    "half in shade": Scene(shade=0.65),
    "warm lamp": Scene(gains=(1.2, 1.0, 0.55)),
    "dark": Scene(exposure=0.06, noise=0.02),
    "dark and grainy": Scene(exposure=0.2, noise=0.1, blur_px=1.5),
    "pencil, 0.3 to 0.75 of ink": Scene(pencil=_lines((0.3, 0.45, 0.6, 0.75), 0.5, 20.0)),
    "pen lines of 0.3 mm, half as dark": Scene(fine_lines=_lines((0.5, 0.5, 0.5, 0.5), 0.3, 24.0)),
    "pencil and pen, blurred": Scene(
        pencil=_lines((0.45, 0.6), 0.5, 20.0), fine_lines=_lines((0.6, 0.6), 0.5, 120.0), blur_px=2.2
    ),
    "cluttered table": Scene(clutter=14, fill=0.6, seed=5),
}


@dataclass(frozen=True)
class Score:
    """How one photo came out."""

    overlap: float = 0.0
    parts_off: int = 0  # parts and areas of paper, more or fewer than there are
    told: tuple[tuple[str, bool], ...] = ()  # code, and whether it warns


def scored(name: str, scene: Scene) -> Score:
    """Return how a drawing comes out of a scene; a refusal is an overlap of 0."""
    rings, sides_mm = rings_of(DRAWINGS / f"{name}.truth.json")
    photo = ColourImage(photographed(rings, sides_mm, scene))
    size = SheetSize(width_mm=sides_mm[0], height_mm=sides_mm[1])
    try:
        read = rectify([photo], size, silent)
    except ConversionError as error:
        return Score(told=((error.code, True),))
    ink = read.coverage.pixels < 128
    truth = true_ink(rings, scene, ink.shape, read.coverage.mm_per_px)
    off = sum(abs(a - b) for a, b in zip(_counts(ink), _counts(truth), strict=True))
    told = tuple((found.code, found.severity is not Severity.NOTE) for found in read.findings)
    return Score(float((ink & truth).sum() / (ink | truth).sum()), off, told)


def _counts(ink: NDArray[np.bool_]) -> tuple[int, int]:
    """Return the parts of ink, joined at corners too, and the areas of paper."""
    parts = cv2.connectedComponents(ink.astype(np.uint8), connectivity=8)[0] - 1
    return parts, cv2.connectedComponents((~ink).astype(np.uint8), connectivity=4)[0] - 1


def row(title: str, scores: Sequence[Score]) -> list[object]:
    """Return one scene's row."""
    overlaps = [score.overlap for score in scores]
    counts: dict[tuple[str, bool], int] = {}
    for score in scores:
        for told in dict.fromkeys(score.told):
            counts[told] = counts.get(told, 0) + 1
    words = ", ".join(f"{'**' * warns}{code}{'**' * warns} ({n})" for (code, warns), n in counts.items())
    off = sum(score.parts_off for score in scores)
    return [title, f"{statistics.median(overlaps):.4f}", f"{min(overlaps):.4f}", off, words or None]


HEADINGS = ("scene", "IoU, median", "IoU, least", "parts and holes off, sum", "told (in how many photos)")


def main(arguments: Sequence[str] | None = None) -> None:
    """Measure and print."""
    parser = command_line(str(__doc__).splitlines()[0])
    parser.add_argument("--only", nargs="+", metavar="WORD", help="scenes whose title holds one of these")
    asked = parser.parse_args(arguments)
    rows = []
    for title, scene in SCENES.items():
        if not asked.only or any(word in title for word in asked.only):
            rows.append(row(title, [scored(name, scene) for name in NAMES]))
            tell(f"{title}: {rows[-1]}")
    deliver("Bad light, paper and pencil", table(HEADINGS, rows), asked.out)


if __name__ == "__main__":
    main()
