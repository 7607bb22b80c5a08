"""Several photos whose sheets were found, each judged by its light, and merged."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Sequence

from workers.rectification.choosing import Candidate
from workers.rectification.found_sheet import FoundSheet
from workers.rectification.illumination import paper_light
from workers.rectification.light_faults import light_faults
from workers.rectification.linear_light import grey_light
from workers.rectification.merging import MOST_PIXELS, Merged, merged
from workers.rectification.reading_light import sheet_light
from workers.rectification.reduced import reduced_photo
from workers.rectification.shots import shot
from workers.rectification.warp import laid_square, working_scale
from workers.values.image import ColourImage
from workers.values.progress import Reporter

_JUDGING_PX_PER_MM = 4.0


def with_light(candidate: Candidate, photo: ColourImage) -> Candidate:
    """Return a candidate with its sheet's share in glare and in shade.

    Args:
        candidate: As it was judged so far.
        photo: Its photo.
    """
    if candidate.sheet is None:
        return candidate
    scale = min(_JUDGING_PX_PER_MM, working_scale(candidate.sheet.surface).px_per_mm)
    light = laid_square(grey_light(photo.pixels), candidate.sheet.surface, scale)
    faults = light_faults(paper_light(light, scale))
    return dataclasses.replace(
        candidate, glare_fraction=faults.glare_fraction, shadow_fraction=faults.shadow_fraction
    )


def merged_photos(
    photos: Sequence[ColourImage],
    candidates: Sequence[Candidate],
    best: int,
    by_colour: bool,
    report: Reporter,
) -> tuple[Merged, float]:
    """Return the photos' sheets merged, and the scale in mm per pixel.

    Args:
        photos: All of them; each is asked for once, and only its sheet is kept.
        candidates: As they were judged.
        best: The one that sets the frame, if another fits it.
        by_colour: Whether coloured ink counts as dark as it is in any colour; else as dark as it looks.
        report: Told how far this is.
    """
    sheets = {k: one.sheet for k, one in enumerate(candidates) if one.sheet is not None}
    scale = _scale(sheets[best])
    shots = []
    order = sorted(sheets, key=lambda k: (k != best, candidates[k].expected_error_mm, k))
    for done, number in enumerate(order):
        report(0.4 + 0.2 * done / len(sheets), f"laying photo {number + 1} square")
        pixels = photos[number].pixels
        small = candidates[number].small or reduced_photo(pixels)
        read = sheet_light(pixels, small, sheets[number].surface, scale, by_colour)
        shots.append(shot(number, read, scale, candidates[number].expected_error_mm))
    report(0.6, "merging the photos")
    return merged(shots, scale), 1.0 / scale


def _scale(sheet: FoundSheet) -> float:
    """Return the pixels per mm of the merged raster, a whole number to the metre."""
    surface = sheet.surface
    fitting = math.sqrt(MOST_PIXELS / (surface.width_mm * surface.height_mm))
    return math.floor(1000.0 * min(working_scale(surface).px_per_mm, fitting)) / 1000.0
