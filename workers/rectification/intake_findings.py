"""What is worth telling about a photo, each with what to do about it."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from workers.rectification.choosing import Candidate
from workers.rectification.coloured_ink import COLOUR_WORDS
from workers.rectification.doubtful_sheet import doubts
from workers.rectification.found_sheet import FoundSheet
from workers.rectification.illumination import PaperLight
from workers.rectification.light_faults import largest_area, place_in_words
from workers.rectification.merging import Merged
from workers.rectification.photo_quality import PhotoQuality
from workers.rectification.reading import Reading
from workers.rectification.ruled_lines import Ruling
from workers.rectification.sheet_surface import LENS_BOW
from workers.rectification.specks import Cleaned
from workers.values.finding import Finding, Severity

_BLURRED_MM = 1.1
_SMEARED = 1.35  # times as wide one way as usual: the phone moved
_COARSE_PX_PER_MM = 3.5
_SURE_SCORE = 0.62
_CURL_MM = 1.5
_BOWED = 0.02
_HIDDEN_FRACTION = 0.85
_DRY_LEVEL = 0.35
_DEEP_SHADOW_FRACTION = 0.12
_DARK = 0.45


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
            found.extend(_of_brightness(candidate.quality, reading))
        found.extend(_of_sheet(candidate.sheet) if candidate.sheet is not None else _of_filled_picture())
    if merged is None:
        found.extend(_of_shadow(reading.paper))
    found.extend(_of_ink(reading))
    found.extend(_of_rulings(reading.rulings))
    found.extend(_of_cleaning(reading.clean))
    found.extend(_of_tones(reading))
    return tuple(found)


def note(code: str, message: str, remedy: str, severity: Severity = Severity.NOTE) -> Finding:
    """Return a finding that has no place, a note unless it is weightier."""
    return Finding(code=code, severity=severity, message=message, remedy=remedy)


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
    if quality.exposure < _DARK:
        yield note(
            "too-dark",
            f"the paper itself is only {100 * quality.exposure:.0f} % as bright as the photo can hold",
            "take the photo in more light, or tap on the paper so that the phone brightens the picture",
            Severity.WARNING,
        )


def _of_brightness(quality: PhotoQuality, reading: Reading) -> Iterator[Finding]:
    area = largest_area(reading.faults.glare)
    if area is not None:
        rows, columns = reading.clean.coverage.shape
        _, down, across = area
        yield Finding(
            code="glare",
            severity=Severity.WARNING,
            message=f"glare {place_in_words(down, across)} of the sheet: "
            f"{100 * reading.faults.glare_fraction:.0f} % of it is brighter than the photo can hold, "
            "and lines there may be pale or gone",
            remedy="move the lamp or the phone until nothing shines; or take several photos from different "
            "sides and set 'merge' to true",
            at_mm=(across * columns * reading.mm_per_px, (1.0 - down) * rows * reading.mm_per_px),
        )
    elif quality.blown_fraction > 0.05:
        yield note(
            "over-exposed",
            f"{100 * quality.blown_fraction:.0f} % of the sheet is brighter than the photo can hold",
            "avoid flash and direct sun; thin lines may have been eaten",
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
        )
    bow = float(sheet.surface.parameters[LENS_BOW])
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


def _of_shadow(paper: PaperLight) -> Iterator[Finding]:
    if paper.hard_shadow_fraction > 0:
        yield note(
            "hard-shadow",
            f"a shadow with a hard edge covers {100 * paper.hard_shadow_fraction:.0f} % of the sheet",
            "look at the picture where the shadow's edge was, or take the photo without it",
            Severity.WARNING,
        )
    elif paper.shadow_fraction > _DEEP_SHADOW_FRACTION:
        yield note(
            "shadow",
            f"{100 * paper.shadow_fraction:.0f} % of the paper lies in a shadow, which was taken out",
            "light the sheet from the side, and keep the phone's shadow off it",
        )


def _of_ink(reading: Reading) -> Iterator[Finding]:
    if reading.colours:
        names = "; ".join(COLOUR_WORDS[ink.channel] for ink in reading.colours)
        yield note(
            "coloured-ink",
            f"coloured ink ({names}) was found and counts as ink like black",
            "check pale strokes in the picture; black or dark markers give the cleanest edges",
        )
    if reading.ink.ink_level_worst > _DRY_LEVEL:
        yield note(
            "pale-ink",
            f"in places the paper is only {1 / reading.ink.ink_level_worst:.1f} times as bright as the ink",
            "go over pale strokes with a fresh or darker marker",
            Severity.WARNING,
        )


def _of_rulings(rulings: tuple[Ruling, ...]) -> Iterator[Finding]:
    if rulings:
        spacings = " and ".join(f"{ruling.spacing_mm:.1f} mm" for ruling in rulings)
        yield note(
            "ruled-paper",
            f"the paper's own {'squares' if len(rulings) > 1 else 'lines'}, {spacings} apart, were taken out",
            "look where a thin line of the drawing runs along one of the paper's; plain paper is safest",
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
