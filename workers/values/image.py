"""Pictures on their way from a camera to two tones."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from workers.values.arrays import frozen


@dataclass(frozen=True, slots=True, eq=False)
class ColourImage:
    """A decoded photograph, upright by its own orientation mark."""

    pixels: NDArray[np.uint8]  # (rows, columns, 3), sRGB, red first
    mm_per_px: float | None = None  # what the file itself says of its scale, if it says so believably
    is_first_of_several: bool = False  # its file holds more frames or pages, which were left out

    def __post_init__(self) -> None:
        object.__setattr__(self, "pixels", frozen(self.pixels, np.uint8, 3, 3))


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class InkCoverage:
    """How much of each pixel is ink, at a known scale.

    0 is ink all over, 255 is bare paper, and 127.5 lies exactly on the edge of
    the ink (half-way in linear light), so the outline can be found between pixels.
    """

    pixels: NDArray[np.uint8]  # (rows, columns)
    mm_per_px: float

    def __post_init__(self) -> None:
        object.__setattr__(self, "pixels", frozen(self.pixels, np.uint8, 2))
        if not self.mm_per_px > 0:
            raise ValueError(f"a scale of {self.mm_per_px} mm per pixel")
