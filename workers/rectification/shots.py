"""One photo's sheet on its way to be merged with others."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from workers.rectification.coloured_ink import ColouredInk
from workers.rectification.illumination import PaperLight, paper_light
from workers.rectification.light_faults import LightFaults, light_faults
from workers.rectification.reading_light import ReadingLight

Light = NDArray[np.uint16]


@dataclass(frozen=True, slots=True, eq=False)
class Shot:
    """One photo's sheet, laid square, with the light on it."""

    number: int  # place of the photo in the request
    light: Light
    paper: PaperLight
    faults: LightFaults
    error_mm: float  # what its blur and its sheet may add to a line
    inks: tuple[ColouredInk, ...] = ()


def shot(number: int, read: ReadingLight, px_per_mm: float, error_mm: float) -> Shot:
    """Return a photo's sheet with its light judged.

    Args:
        number: Place of the photo in the request.
        read: The light of the sheet, laid square.
        px_per_mm: Its scale.
        error_mm: What its blur and its sheet may add to a line.
    """
    paper = paper_light(read.light, px_per_mm, read.coloured)
    return Shot(number, read.light, paper, light_faults(paper, read.tinted), error_mm, read.inks)
