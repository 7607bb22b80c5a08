"""What is worth telling about a photo, each with what to do about it."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from workers.rectification.choosing import Candidate
from workers.rectification.doubtful_sheet import doubts
from workers.rectification.found_sheet import FoundSheet
from workers.rectification.light_findings import (
    of_brightness,
    of_creases,
    of_ink,
    of_pale_lines,
    of_rulings,
    of_shadow,
)
from workers.rectification.merging import Merged
from workers.rectification.notes import note
from workers.rectification.photo_quality import PhotoQuality
from workers.rectification.reading import Reading
from workers.rectification.specks import Cleaned
from workers.values.finding import Finding, Severity

_BLURRED_MM = 1.1
_SMEARED = 1.35  # times as wide one way as usual: the phone moved
_COARSE_PX_PER_MM = 3.5
_SURE_SCORE = 0.75  # of 241 simulated photos that came out right one in nine scores less
_CURL_MM, _MUCH_CURL_MM = 1.5, 8.0  # so much is seldom a curl alone, and is undone to a mm or two
_BOWED = 0.02
_HIDDEN_FRACTION = 0.85


def intake_findings(candidate: Candidate, reading: Reading, merged: Merged | None) -> tuple[Finding, ...]:
    """Return the facts about the photo that was used.

    Args:
        candidate: The photo, judged.
        reading: What was read.
        merged: What several photos became, if they did; ``merging_findings`` tells of their light.
    """
    found: list[Finding] = []
    if candidate.quality is not None and (candidate.sheet is not None or candidate.fills):
        found.extend(_of_photo(candidate.quality))
        if merged is None:
            found.extend(of_brightness(candidate.quality, reading))
        found.extend(_of_sheet(candidate.sheet) if candidate.sheet is not None else _of_filled_picture())
    if merged is None:
        found.extend(of_shadow(reading))
    blurred = candidate.quality is not None and candidate.quality.edge_width_mm > _BLURRED_MM
    found.extend(of_ink(reading, blurred))
    found.extend(of_rulings(reading.rulings))
    height_mm = reading.clean.coverage.shape[0] * reading.mm_per_px
    found.extend(of_creases(reading.creases, height_mm))
    if not reading.faults.is_crumpled:  # there they are the borders of facets
        found.extend(of_pale_lines(reading.pale, height_mm))
    found.extend(_of_cleaning(reading.clean))
    found.extend(_of_tones(reading))
    return tuple(found)


def _of_photo(quality: PhotoQuality) -> Iterator[Finding]:
    if quality.smear_mm > max(_BLURRED_MM, _SMEARED * quality.edge_width_mm):
        yield note(
            "blurred",
            f"the phone moved: edges are smeared over {quality.smear_mm:.1f} mm one way, and over "
            f"{quality.edge_width_mm:.1f} mm the other, so fine lines may be lost or uneven",
            "rest the phone or your elbows on something, or give more light, and take the photo again",
            Severity.WARNING,
        )
    elif quality.edge_width_mm > _BLURRED_MM:
        yield note(
            "blurred",
            f"the ink's edges are blurred over {quality.edge_width_mm:.1f} mm, so fine lines may be lost",
            "hold the phone still, tap on the drawing to focus, and fill the frame with the sheet",
            Severity.WARNING,
        )
    if quality.px_per_mm < _COARSE_PX_PER_MM:
        yield note(
            "coarse-photo",
            f"the photo has {quality.px_per_mm:.1f} pixels to the millimetre on the sheet",
            "go nearer, so that the sheet fills the frame",
            Severity.WARNING,
        )


def _of_sheet(sheet: FoundSheet) -> Iterator[Finding]:
    yield from doubts(sheet)
    if sheet.rough.score < _SURE_SCORE:
        yield note(
            "sheet-uncertain",
            f"the sheet's sides are not clear (score {sheet.rough.score:.2f} of 1)",
            "compare the picture with your sheet; a plain table darker than the paper helps",
            Severity.WARNING,
        )
    if sheet.surface.lift_mm > _CURL_MM:
        yield note(
            "sheet-curled",
            f"the sheet stands up to {sheet.surface.lift_mm:.1f} mm off the table; its curl was taken out",
            "press the sheet flat, or weigh down its corners outside of the drawing",
            Severity.WARNING if sheet.surface.lift_mm > _MUCH_CURL_MM else Severity.NOTE,
        )
    bow = sheet.surface.lens_bow
    if abs(bow) > _BOWED:
        yield note(
            "lens-straightened",
            f"the lens bows straight lines, by {100 * abs(bow):.0f} % at the picture's rim; it was taken out",
            "use the phone's main camera, not its wide one, from a little farther away",
        )
    hidden = [
        name
        for name, side in zip(("top", "right", "bottom", "left"), sheet.sides, strict=True)
        if side.sample_fraction < _HIDDEN_FRACTION
    ]
    if hidden:
        yield note(
            "side-partly-hidden",
            f"a part of the sheet's {' and '.join(hidden)} side was covered and left out of the measure",
            "keep fingers and weights off the sheet's edges",
        )
    columns, rows = sheet.surface.frame_px
    corners = sheet.surface.corners_px
    outside = ((corners < 0) | (corners > np.array([columns, rows]))).any(axis=1)
    if outside.any():
        yield note(
            "corner-outside",
            f"{int(outside.sum())} of the sheet's corners lie outside of the picture and were worked out",
            "take the photo again with all four corners in the picture",
            Severity.WARNING,
        )


def _of_filled_picture() -> Iterator[Finding]:
    yield note(
        "paper-fills-the-picture",
        "no edge of the sheet is in the picture, so its rim was taken for the sheet's: the drawing comes out "
        "too large by as much as the sheet goes on beyond it, and a tilt of the camera was not taken out",
        "go farther away until all four edges of the sheet are in the picture, or give a length you know",
        Severity.WARNING,
    )


def _of_cleaning(clean: Cleaned) -> Iterator[Finding]:
    if clean.faint_count:
        yield note(
            "faint-parts-left-out",
            f"{clean.faint_count} grey part(s) were taken for pencil and left out",
            "ink over what is part of the drawing",
        )
    if clean.runs_off:
        yield note(
            "ink-at-the-rim",
            "ink runs over the rim of the picture, so some of the drawing may be missing",
            "leave a margin of paper all round the drawing",
            Severity.WARNING,
        )
    if clean.touched_count:
        yield note(
            "thing-touches-drawing",
            "something over the sheet's rim touches the drawing; it was cut off where it is wider than a "
            "line, and what it hides is missing",
            "look along the sheet's rim, and take the photo again with nothing over the drawing",
            Severity.WARNING,
        )
    if clean.rim_count:
        yield note(
            "rim-parts-left-out",
            f"{clean.rim_count} dark part(s) on the sheet's rim were taken for things and left out",
            "keep the drawing 2 mm off the sheet's edge",
        )


def _of_tones(reading: Reading) -> Iterator[Finding]:
    seen_count = max(len(reading.tiers), 1) + 1
    if seen_count < reading.tones_count:
        yield note(
            "fewer-tones",
            f"{reading.tones_count} tones were asked for, and only {seen_count} can be told apart, "
            "paper included",
            "fill areas evenly, in greys that differ by a fifth and are well darker than the paper",
            Severity.WARNING,
        )
