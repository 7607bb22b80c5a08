"""What is worth telling about a photo, each with what to do about it."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from workers.rectification.choosing import Candidate
from workers.rectification.found_sheet import FoundSheet
from workers.rectification.illumination import PaperLight
from workers.rectification.ink import Inked
from workers.rectification.photo_quality import PhotoQuality
from workers.rectification.specks import Cleaned
from workers.values.finding import Finding, Severity

_BLURRED_MM = 1.1
_COARSE_PX_PER_MM = 3.5
_SURE_SCORE = 0.62
_CURL_MM = 1.5
_HIDDEN_FRACTION = 0.85
_DRY_LEVEL = 0.35
_DEEP_SHADOW_FRACTION = 0.12


def intake_findings(
    candidate: Candidate, paper: PaperLight, ink: Inked, clean: Cleaned
) -> tuple[Finding, ...]:
    """Return the facts about the photo that was used."""
    found: list[Finding] = []
    if candidate.quality is not None and candidate.sheet is not None:
        found.extend(_of_photo(candidate.quality))
        found.extend(_of_sheet(candidate.sheet))
    found.extend(_of_light(paper, ink))
    found.extend(_of_cleaning(clean))
    return tuple(found)


def _note(code: str, message: str, remedy: str, severity: Severity = Severity.NOTE) -> Finding:
    return Finding(code=code, severity=severity, message=message, remedy=remedy)


def _of_photo(quality: PhotoQuality) -> Iterator[Finding]:
    if quality.edge_width_mm > _BLURRED_MM:
        yield _note(
            "blurred",
            f"the ink's edges are blurred over {quality.edge_width_mm:.1f} mm, so fine lines may be lost",
            "hold the phone still, tap on the drawing to focus, and fill the frame with the sheet",
            Severity.WARNING,
        )
    if quality.px_per_mm < _COARSE_PX_PER_MM:
        yield _note(
            "coarse-photo",
            f"the photo has {quality.px_per_mm:.1f} pixels to the millimetre on the sheet",
            "go nearer, so that the sheet fills the frame",
            Severity.WARNING,
        )
    if quality.blown_fraction > 0.05:
        yield _note(
            "over-exposed",
            f"{100 * quality.blown_fraction:.0f} % of the sheet is brighter than the photo can hold",
            "avoid flash and direct sun; thin lines may have been eaten",
            Severity.WARNING,
        )


def _of_sheet(sheet: FoundSheet) -> Iterator[Finding]:
    if sheet.rough.score < _SURE_SCORE:
        yield _note(
            "sheet-uncertain",
            f"the sheet's sides are not clear (score {sheet.rough.score:.2f} of 1)",
            "compare the picture with your sheet; a plain table darker than the paper helps",
            Severity.WARNING,
        )
    if sheet.surface.lift_mm > _CURL_MM:
        yield _note(
            "sheet-curled",
            f"the sheet stands up to {sheet.surface.lift_mm:.1f} mm off the table; its curl was taken out",
            "press the sheet flat, or weigh down its corners outside of the drawing",
        )
    hidden = [
        name
        for name, side in zip(("top", "right", "bottom", "left"), sheet.sides, strict=True)
        if side.sample_fraction < _HIDDEN_FRACTION
    ]
    if hidden:
        yield _note(
            "side-partly-hidden",
            f"a part of the sheet's {' and '.join(hidden)} side was covered and left out of the measure",
            "keep fingers and weights off the sheet's edges",
        )
    columns, rows = sheet.surface.frame_px
    corners = sheet.surface.corners_px
    outside = ((corners < 0) | (corners > np.array([columns, rows]))).any(axis=1)
    if outside.any():
        yield _note(
            "corner-outside",
            f"{int(outside.sum())} of the sheet's corners lie outside of the picture and were worked out",
            "take the photo again with all four corners in the picture",
            Severity.WARNING,
        )


def _of_light(paper: PaperLight, ink: Inked) -> Iterator[Finding]:
    if paper.hard_shadow_fraction > 0:
        yield _note(
            "hard-shadow",
            f"a shadow with a hard edge covers {100 * paper.hard_shadow_fraction:.0f} % of the sheet",
            "look at the picture where the shadow's edge was, or take the photo without it",
            Severity.WARNING,
        )
    elif paper.shadow_fraction > _DEEP_SHADOW_FRACTION:
        yield _note(
            "shadow",
            f"{100 * paper.shadow_fraction:.0f} % of the paper lies in a shadow, which was taken out",
            "light the sheet from the side, and keep the phone's shadow off it",
        )
    if ink.ink_level_worst > _DRY_LEVEL:
        yield _note(
            "pale-ink",
            f"in places the ink is no darker than {100 * ink.ink_level_worst:.0f} % of the paper",
            "go over pale strokes with a fresh marker",
            Severity.WARNING,
        )


def _of_cleaning(clean: Cleaned) -> Iterator[Finding]:
    if clean.faint_count:
        yield _note(
            "faint-parts-left-out",
            f"{clean.faint_count} grey part(s) were taken for pencil and left out",
            "ink over what is part of the drawing",
        )
    if clean.runs_off:
        yield _note(
            "ink-at-the-rim",
            "ink runs over the rim of the picture, so some of the drawing may be missing",
            "leave a margin of paper all round the drawing",
            Severity.WARNING,
        )
    if clean.rim_count:
        yield _note(
            "rim-parts-left-out",
            f"{clean.rim_count} dark part(s) on the sheet's rim were taken for things and left out",
            "keep the drawing 2 mm off the sheet's edge",
        )
