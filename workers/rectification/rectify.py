"""From photos to ink coverage at a known scale."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from workers.errors import NoDrawingFoundError, ParameterOutOfRangeError, SheetNotFoundError
from workers.rectification.choosing import Candidate, chosen
from workers.rectification.found_sheet import FoundSheet, found_sheet
from workers.rectification.intake_findings import intake_findings
from workers.rectification.intake_record import Choice, intake_record
from workers.rectification.light_faults import LightFaults
from workers.rectification.linear_light import grey_light
from workers.rectification.merging import Merged
from workers.rectification.merging_findings import frame_findings, merging_findings
from workers.rectification.photo_quality import photo_quality
from workers.rectification.photos_merged import merged_photos, with_light
from workers.rectification.reading import read_square
from workers.rectification.reduced import reduced_photo
from workers.rectification.warp import MOST_PIXELS, MOST_PX_PER_MM, laid_square, working_scale
from workers.rectification.whole_picture import blankness, is_mixed_in_values, is_scan, scan_scale_mm_per_px
from workers.values.finding import Finding, Severity
from workers.values.image import ColourImage, InkCoverage
from workers.values.progress import Reporter
from workers.values.sheet import KnownLength, SheetHint, SheetSize

ASSUMED_MM_PER_PX = 0.1
_FIELD = "/inputs/photos"


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Rectified:
    """The drawing as ink coverage, and how it came about."""

    coverage: InkCoverage  # of all ink
    tiers: tuple[InkCoverage, ...]  # of tones asked for beyond two: the next darker ones, darkest last
    chosen: int  # place of the photo that was used
    record: dict[str, object]  # JSON, for the report
    findings: tuple[Finding, ...]
    sheet: FoundSheet | None  # in that photo
    faults: LightFaults  # of its light


@dataclass(frozen=True, slots=True)
class Wanted:
    """What is asked for beyond the best photo in two tones."""

    merge: bool = False  # several photos made into one without glare and shade
    tones_count: int = 2  # 3 and 4 group greys into tiers, paper being one tone


PLAIN = Wanted()


def rectify(
    photos: Sequence[ColourImage], sheet: SheetHint, report: Reporter, wanted: Wanted = PLAIN
) -> Rectified:
    """Return the ink on the sheet that the photos show, square and at a known scale.

    Args:
        photos: One to eight photos of the same sheet, upright. Each is asked for when it is looked at and
            not kept, so they may be decoded only then.
        sheet: What is known of its size.
        report: Told how far this is.
        wanted: Whether to merge the photos, and into how many tones to group.

    Raises:
        SheetNotFoundError: A sheet was promised, and no photo shows one whose sides can be believed.
        NoDrawingFoundError: Blank, black, or ink all over.
        ParameterOutOfRangeError: No photo, or a known length that cannot be used.
    """
    if not photos:
        raise ParameterOutOfRangeError("no photo was given", field=_FIELD, remedy="give one to eight photos")
    if isinstance(sheet, SheetSize):
        return _of_sheet(photos, sheet, wanted, report)
    return _of_whole_picture(photos, sheet, wanted, report)


def _of_sheet(photos: Sequence[ColourImage], size: SheetSize, wanted: Wanted, report: Reporter) -> Rectified:
    """Find the sheet in each photo, and read the best, or all that fit together."""
    candidates = []
    for number, photo in enumerate(photos):
        report(0.4 * number / len(photos), f"finding the sheet in photo {number + 1} of {len(photos)}")
        candidate = _judged(photo, size)
        candidates.append(with_light(candidate, photo) if len(photos) > 1 else candidate)
    best = chosen(candidates)
    if candidates[best].quality is None:
        _refuse(candidates)
    photo, found = photos[best], candidates[best].sheet
    notes = frame_findings(photo, best)
    report(0.4, "laying the sheet square")
    merging: Merged | None = None
    if found is None:
        light, mm_per_px = _whole(photo, scan_scale_mm_per_px(photo, size) or ASSUMED_MM_PER_PX)
    elif wanted.merge and sum(candidate.sheet is not None for candidate in candidates) > 1:
        merging, mm_per_px = merged_photos(photos, candidates, best, report)
        light, best = merging.light, merging.frame
    else:
        px_per_mm = working_scale(found.surface)
        light, mm_per_px = laid_square(grey_light(photo.pixels), found.surface, px_per_mm), 1.0 / px_per_mm
    if wanted.merge:
        notes += merging_findings(len(photos), merging)
    return _read(light, mm_per_px, Choice(candidates, best, merging), notes, wanted, report)


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


def _of_whole_picture(
    photos: Sequence[ColourImage], hint: KnownLength | None, wanted: Wanted, report: Reporter
) -> Rectified:
    """Take the picture's own frame for the drawing."""
    notes: list[Finding] = []
    used_count = 1 if isinstance(hint, KnownLength) else len(photos)
    if used_count < len(photos):
        notes.append(
            Finding(
                code="one-photo-used",
                severity=Severity.NOTE,
                message="the known length is in the first photo, so the others were not looked at",
                remedy="give the sheet's size instead if the best photo is to be chosen",
            )
        )
    candidates = [_judged_whole(photos[number], hint) for number in range(used_count)]
    best = chosen(candidates)
    if candidates[best].quality is None:
        _refuse(candidates)
    photo = photos[best]
    notes += frame_findings(photo, best)
    scale, assumed = _scale_of_whole(photo, hint)
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
    light, mm_per_px = _whole(photo, scale)
    if wanted.merge:
        notes += merging_findings(len(photos), None)
    return _read(light, mm_per_px, Choice(candidates, best, None), notes, wanted, report)


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
    choice: Choice,
    notes: Sequence[Finding],
    wanted: Wanted,
    report: Reporter,
) -> Rectified:
    """Read the square picture, and write down how it went."""
    best = choice.candidates[choice.best]
    field = f"{_FIELD}/{choice.best}"
    reading = read_square(light, mm_per_px, best.sheet is not None, wanted.tones_count, report, field)
    findings = (*notes, *intake_findings(best, reading, choice.merged))
    report(1.0, "the drawing is read")
    tiers = [InkCoverage(pixels=tier.coverage, mm_per_px=mm_per_px) for tier in reading.tiers[1:]]
    return Rectified(
        coverage=InkCoverage(pixels=reading.clean.coverage, mm_per_px=mm_per_px),
        tiers=tuple(tiers),
        chosen=choice.best,
        record=intake_record(choice, reading, findings),
        findings=findings,
        sheet=best.sheet,
        faults=reading.faults if choice.merged is None else choice.merged.frame_faults,
    )
