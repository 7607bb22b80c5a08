"""What thin pale lines of a sheet are: graphite, or the line of a fine or grey pen."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from workers.rectification.cell_light import PARTS

_GRAINY, _EVEN = 0.08, 0.045  # deviation of a line's light along it: surely graphite, surely a pen's
RATHER_GRAINY, _RATHER_PALE = 0.06, 0.65  # between the two, what speaks for graphite
GREY = 0.8  # of full ink's darkness: a darker line is ink
_TOO_PALE = 0.25  # of it: no pen leaves so little
_TOO_BLURRED_MM = 0.36  # deviation of the blur: it evens out the grain of graphite

Mask = NDArray[np.bool_]


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class PaleLine:
    """One connected thin line that is paler than the rest of the ink."""

    middle_mm: tuple[float, float]  # from the upper left corner, y down
    length_mm: float
    width_mm: float
    darkness: float  # of full ink's, as its blur was taken out
    unevenness: float  # along it, over its mean, the photo's own grain left out
    blur_mm: float  # of the photo
    level: float  # of the paper's light, at which it is to count as full ink

    @property
    def is_pencil(self) -> bool:
        """Whether it is taken for graphite."""
        if self.darkness >= GREY:
            return False
        if self.is_sure:
            return self.unevenness > _GRAINY or self.darkness < _TOO_PALE
        return self.unevenness > RATHER_GRAINY or self.darkness < _RATHER_PALE

    @property
    def is_sure(self) -> bool:
        """Whether what it is can be told."""
        if self.darkness >= GREY or self.darkness < _TOO_PALE or self.unevenness > _GRAINY:
            return True
        return self.unevenness < _EVEN and self.blur_mm < _TOO_BLURRED_MM


@dataclass(frozen=True, slots=True, eq=False)
class PaleLines:
    """The thin pale lines of a sheet, and where they are."""

    lines: tuple[PaleLine, ...]
    labels: NDArray[np.int32]  # (rows, columns) of parts of cells: 0, or the number of a line from 1

    def pencil(self) -> Mask:
        """Return the parts that pencil lines cover."""
        chosen = np.array([False, *(line.is_pencil for line in self.lines)])
        return np.asarray(chosen[self.labels], np.bool_)

    def pencil_cells(self, shape: tuple[int, ...]) -> Mask:
        """Return the cells that pencil lines run through, (rows, columns)."""
        if not self.lines:
            return np.zeros(shape, np.bool_)
        return np.asarray(self.pencil().reshape(shape[0], PARTS, shape[1], PARTS).any(axis=(1, 3)))

    def pen_levels(self, shape: tuple[int, ...]) -> NDArray[np.float32]:
        """Return the light of full ink, over the paper's, in the cells of pale pen lines; elsewhere 0."""
        if not self.lines:
            return np.zeros(shape, np.float32)
        levels = np.array([0.0, *(0.0 if line.is_pencil else line.level for line in self.lines)], np.float32)
        parts = levels[self.labels].reshape(shape[0], PARTS, shape[1], PARTS)
        return np.asarray(parts.max(axis=(1, 3)), np.float32)


NO_LINES = PaleLines((), np.zeros((0, 0), np.int32))


def without_pencil(coverage: NDArray[np.uint8], pale: PaleLines, full_ink: int) -> NDArray[np.uint8]:
    """Return the coverage without pencil lines; full ink that crosses them stays, and its edge with it.

    Args:
        coverage: (rows, columns), 0 ink, 255 paper.
        pale: The thin pale lines.
        full_ink: A coverage as dark as this is ink, whatever lies under it.
    """
    if not any(line.is_pencil for line in pale.lines):
        return coverage
    grown = cv2.dilate(pale.pencil().astype(np.uint8), np.ones((3, 3), np.uint8))
    mask = cv2.resize(grown, coverage.shape[::-1], interpolation=cv2.INTER_NEAREST)
    ink = cv2.threshold(coverage, full_ink, 1, cv2.THRESH_BINARY_INV)[1]
    with_edge = cv2.dilate(ink, np.ones((3, 3), np.uint8))
    return np.where((mask > 0) & (with_edge == 0), np.uint8(255), coverage)
