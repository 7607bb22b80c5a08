"""From photos to ink coverage at a known scale."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from workers.errors import NoDrawingFoundError, ParameterOutOfRangeError, SheetNotFoundError
from workers.rectification.choosing import Candidate, candidate_record, chosen
from workers.rectification.found_sheet import found_sheet
from workers.rectification.illumination import PaperLight, paper_light
from workers.rectification.ink import Inked, inked
from workers.rectification.intake_findings import intake_findings
from workers.rectification.linear_light import grey_light
from workers.rectification.photo_quality import photo_quality
from workers.rectification.reduced import reduced_photo
from workers.rectification.specks import Cleaned, cleaned
from workers.rectification.warp import MOST_PIXELS, MOST_PX_PER_MM, laid_square, working_scale
from workers.rectification.whole_picture import blankness, is_mixed_in_values, is_scan, scan_scale_mm_per_px
from workers.values.finding import Finding, Severity
from workers.values.image import ColourImage, InkCoverage
from workers.values.progress import Reporter
from workers.values.sheet import KnownLength, SheetHint, SheetSize

ASSUMED_MM_PER_PX = 0.1
_FIELD = "/inputs/photos"
_INK_ALL_OVER = 0.92


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Rectified:
    """The drawing as ink coverage, and how it came about."""

    coverage: InkCoverage
    chosen: int  # place of the photo that was used
    record: dict[str, object]  # JSON, for the report
    findings: tuple[Finding, ...]


def rectify(photos: Sequence[ColourImage], sheet: SheetHint, report: Reporter) -> Rectified:
    """Return the ink on the sheet that the photos show, square and at a known scale.

    Args:
        photos: One to eight photos of the same sheet, upright.
        sheet: What is known of its size.
        report: Told how far this is.

    Raises:
        SheetNotFoundError: A sheet was promised, and no photo shows one whose sides can be believed.
        NoDrawingFoundError: Blank, black, or ink all over.
        ParameterOutOfRangeError: No photo, or a known length that cannot be used.
    """
    if not photos:
        raise ParameterOutOfRangeError("no photo was given", field=_FIELD, remedy="give one to eight photos")
    if isinstance(sheet, SheetSize):
        return _of_sheet(photos, sheet, report)
    return _of_whole_picture(photos, sheet, report)


def _of_sheet(photos: Sequence[ColourImage], size: SheetSize, report: Reporter) -> Rectified:
    """Find the sheet in each photo, and read the best."""
    candidates = []
    for number, photo in enumerate(photos):
        report(0.5 * number / len(photos), f"finding the sheet in photo {number + 1} of {len(photos)}")
        candidates.append(_judged(photo, size))
    best = chosen(candidates)
    if candidates[best].quality is None:
        _refuse(candidates)
    photo, found = photos[best], candidates[best].sheet
    report(0.55, "laying the sheet square")
    if found is None:
        light, mm_per_px = _whole(photo, scan_scale_mm_per_px(photo, size) or ASSUMED_MM_PER_PX)
    else:
        px_per_mm = working_scale(found.surface)
        light = laid_square(grey_light(photo.pixels), found.surface, px_per_mm)
        mm_per_px = 1.0 / px_per_mm
    return _read(light, mm_per_px, candidates, best, [], report)


def _judged(photo: ColourImage, size: SheetSize) -> Candidate:
    """Return one photo with the sheet found in it, or with why there is none."""
    small = reduced_photo(photo.pixels)
    blank = blankness(small.pixels)
    if blank:
        return Candidate(None, None, blank, blank=True)
    rows, columns = photo.pixels.shape[:2]
    if is_scan(photo, small, size):
        frame = np.array([(0, 0), (columns, 0), (columns, rows), (0, rows)], np.float64)
        scale = scan_scale_mm_per_px(photo, size) or ASSUMED_MM_PER_PX
        quality = photo_quality(photo.pixels, frame, 1 / scale)
        return Candidate(quality, None, "the picture's own frame is the sheet")
    found = found_sheet(photo.pixels, small, size)
    if isinstance(found, str):
        return Candidate(None, None, found)
    quality = photo_quality(photo.pixels, found.surface.corners_px, working_scale(found.surface))
    return Candidate(quality, found, "the sheet was found by its four sides")


def _refuse(candidates: Sequence[Candidate]) -> None:
    """Raise what fits the reasons that no photo could be used."""
    reasons = [candidate.reason for candidate in candidates]
    field = _FIELD if len(reasons) > 1 else f"{_FIELD}/0"
    if all(candidate.blank for candidate in candidates):
        raise NoDrawingFoundError(
            f"no drawing: {reasons[0]}", field=field, remedy="send the photo that shows the drawing"
        )
    told = (
        reasons[0] if len(reasons) == 1 else "; ".join(f"photo {k + 1}: {r}" for k, r in enumerate(reasons))
    )
    raise SheetNotFoundError(
        f"no sheet found: {told}",
        field=field,
        remedy="lay the sheet on a plain darker table, all four edges in the picture and none covered; "
        "or give 'sheet': 'none', or a length you know between two points",
    )


def _of_whole_picture(photos: Sequence[ColourImage], hint: KnownLength | None, report: Reporter) -> Rectified:
    """Take the picture's own frame for the drawing."""
    notes: list[Finding] = []
    used = list(photos[:1]) if isinstance(hint, KnownLength) else list(photos)
    if len(used) < len(photos):
        notes.append(
            Finding(
                code="one-photo-used",
                severity=Severity.NOTE,
                message="the known length is in the first photo, so the others were not looked at",
                remedy="give the sheet's size instead if the best photo is to be chosen",
            )
        )
    candidates = [_judged_whole(photo, hint) for photo in used]
    best = chosen(candidates)
    if candidates[best].quality is None:
        _refuse(candidates)
    scale, assumed = _scale_of_whole(photos[best], hint)
    if assumed:
        notes.append(
            Finding(
                code="scale-assumed",
                severity=Severity.WARNING,
                message=f"the picture does not say how large it is; {ASSUMED_MM_PER_PX} mm a pixel was taken",
                remedy="give the art a width or height on the board, or photograph a sheet of known size",
            )
        )
    report(0.4, "reading the picture")
    light, mm_per_px = _whole(photos[best], scale)
    return _read(light, mm_per_px, candidates, best, notes, report)


def _judged_whole(photo: ColourImage, hint: KnownLength | None) -> Candidate:
    blank = blankness(reduced_photo(photo.pixels).pixels)
    if blank:
        return Candidate(None, None, blank, blank=True)
    rows, columns = photo.pixels.shape[:2]
    frame = np.array([(0, 0), (columns, 0), (columns, rows), (0, rows)], np.float64)
    scale, _ = _scale_of_whole(photo, hint)
    return Candidate(photo_quality(photo.pixels, frame, 1 / scale), None, "the whole picture is the drawing")


def _scale_of_whole(photo: ColourImage, hint: KnownLength | None) -> tuple[float, bool]:
    """Return mm per pixel, and whether it is a guess."""
    if hint is None:
        return photo.mm_per_px or ASSUMED_MM_PER_PX, photo.mm_per_px is None
    rows, columns = photo.pixels.shape[:2]
    start, end = np.array(hint.start_px), np.array(hint.end_px)
    length_px = float(np.linalg.norm(end - start))
    within = all(0 <= x <= columns and 0 <= y <= rows for x, y in (hint.start_px, hint.end_px))
    if not within or length_px < 10 or not hint.length_mm > 0:
        raise ParameterOutOfRangeError(
            f"a known length of {hint.length_mm} mm over {length_px:.1f} pixels of a picture of "
            f"{columns} x {rows} pixels",
            field="/inputs/sheet/between",
            remedy="give two points of the first photo, upright, at least 10 pixels apart",
        )
    return hint.length_mm / length_px, False


def _whole(photo: ColourImage, mm_per_px: float) -> tuple[NDArray[np.uint16], float]:
    """Return the light of the whole picture, made smaller only where it is finer than of use."""
    light = grey_light(photo.pixels, is_mixed_in_values(photo.pixels))
    finest = max(1.0 / MOST_PX_PER_MM / 1.25, 0.0)
    shrink = max(finest / mm_per_px, (light.size / MOST_PIXELS) ** 0.5, 1.0)
    if shrink > 1.0:
        light = np.asarray(
            cv2.resize(light, None, fx=1 / shrink, fy=1 / shrink, interpolation=cv2.INTER_AREA), np.uint16
        )
    return light, mm_per_px * photo.pixels.shape[1] / light.shape[1]


def _read(
    light: NDArray[np.uint16],
    mm_per_px: float,
    candidates: Sequence[Candidate],
    best: int,
    notes: Sequence[Finding],
    report: Reporter,
) -> Rectified:
    """Even the light, tell ink from paper, and write down how it went."""
    report(0.65, "evening the light")
    paper = paper_light(light, 1 / mm_per_px)
    report(0.75, "telling ink from paper")
    ink = inked(light, paper)
    report(0.9, "taking out specks")
    clean = cleaned(ink.coverage, 1 / mm_per_px, rim=candidates[best].sheet is not None)
    _check_drawing(clean.ink_fraction, best)
    findings = (*notes, *intake_findings(candidates[best], paper, ink, clean))
    record = _record(candidates, best, paper, ink, clean, mm_per_px, findings)
    coverage = InkCoverage(pixels=clean.coverage, mm_per_px=mm_per_px)
    report(1.0, "the drawing is read")
    return Rectified(coverage=coverage, chosen=best, record=record, findings=findings)


def _check_drawing(ink_fraction: float, best: int) -> None:
    """Refuse a sheet without ink, and one that is ink all over."""
    if ink_fraction == 0.0:
        raise NoDrawingFoundError(
            "no ink was found on the sheet",
            field=f"{_FIELD}/{best}",
            remedy="draw with a black marker; pencil is taken for construction lines and left out",
        )
    if ink_fraction > _INK_ALL_OVER:
        raise NoDrawingFoundError(
            f"{100 * ink_fraction:.0f} % of the picture is dark, so no drawing can be told from it",
            field=f"{_FIELD}/{best}",
            remedy="photograph dark ink on light paper, in more light",
        )


def _record(
    candidates: Sequence[Candidate],
    best: int,
    paper: PaperLight,
    ink: Inked,
    clean: Cleaned,
    mm_per_px: float,
    findings: Sequence[Finding],
) -> dict[str, object]:
    """Return the report of this step."""
    rows, columns = clean.coverage.shape
    return {
        "chosen": best,
        "photos": [candidate_record(candidate) for candidate in candidates],
        "millimetres_per_pixel": mm_per_px,
        "width_mm": round(columns * mm_per_px, 3),
        "height_mm": round(rows * mm_per_px, 3),
        "corners_px": candidate_record(candidates[best]).get("corners_px"),
        "quality": {
            "light_lost_fraction": round(paper.falloff_fraction, 3),
            "shadow_fraction": round(paper.shadow_fraction, 3),
            "ink_fraction": round(clean.ink_fraction, 5),
            "ink_level": round(ink.ink_level, 3),
            "ink_level_worst": round(ink.ink_level_worst, 3),
        },
        "cleaned": {
            "specks_count": clean.specks_count,
            "faint_parts_count": clean.faint_count,
            "pinholes_count": clean.pinholes_count,
            "parts_on_the_rim_count": clean.rim_count,
        },
        "findings": [
            {"code": f.code, "severity": f.severity.value, "message": f.message, "remedy": f.remedy}
            for f in findings
        ],
    }
