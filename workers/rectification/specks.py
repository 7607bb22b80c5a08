"""What is no drawing: specks, pencil that stood out, and things over the sheet's rim."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from workers.rectification.rim_things import RIM_MM, cut_off, rim_parts
from workers.rectification.runs import painted, parts_of

SPECK_MM2 = 0.25  # smaller than the dot of the finest marker
PINHOLE_MM2 = 0.12  # smaller than any hole somebody draws; grain of the paper through dry ink
_SURE_INK = 96  # coverage that at least the middle of an inked part reaches (62 % ink)


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Cleaned:
    """The coverage without what is no drawing, and what was taken out."""

    coverage: NDArray[np.uint8]
    ink_fraction: float  # of the sheet
    specks_count: int
    faint_count: int
    pinholes_count: int
    rim_count: int
    touched_count: int  # parts that things on the rim touched, and were cut off from
    runs_off: bool  # ink that is no thing on the sheet's edge runs over its rim


def cleaned(coverage: NDArray[np.uint8], px_per_mm: float, rim: bool) -> Cleaned:
    """Return the coverage with specks, faint parts and pinholes gone.

    Args:
        coverage: 0 ink, 255 paper.
        px_per_mm: Its scale.
        rim: Whether the raster's rim is a sheet's edge, on which things may lie.
    """
    result = coverage.copy()
    ink = parts_of(coverage, ink=True)
    speck = ink.area_px < SPECK_MM2 * px_per_mm**2
    faint = ~speck & (ink.darkest > _SURE_INK)
    on_rim = ~speck & ~faint & (ink.rim_gap_px < RIM_MM * px_per_mm)
    thing = touched = np.zeros_like(on_rim)
    if rim:
        thing, touched = rim_parts(ink, on_rim, coverage.shape, px_per_mm)
    painted(result, ink, speck | faint | thing, 255)
    cut_off(result, ink, touched, px_per_mm)
    paper = parts_of(result, ink=False)
    pinhole = paper.area_px < PINHOLE_MM2 * px_per_mm**2
    painted(result, paper, pinhole, 0)
    bare_px = int(paper.area_px[~pinhole].sum())
    return Cleaned(
        coverage=result,
        ink_fraction=1.0 - bare_px / coverage.size,
        specks_count=int(speck.sum()),
        faint_count=int(faint.sum()),
        pinholes_count=int(pinhole.sum()),
        rim_count=int(thing.sum()),
        touched_count=int(touched.sum()),
        runs_off=bool((on_rim & ~thing & ~touched).any()),
    )
