"""From photos to ink coverage at a known scale."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from workers.errors import NoDrawingFoundError, ParameterOutOfRangeError, SheetNotFoundError
from workers.rectification.choosing import Candidate, chosen, unused
from workers.rectification.creases import Crease
from workers.rectification.drawing_box import cut_finding, cut_to, drawing_box
from workers.rectification.filled_frame import filled_scale_mm_per_px, paper_to_the_rim
from workers.rectification.finest_stroke import finest_stroke_mm
from workers.rectification.found_sheet import NO_EDGES, FoundSheet, found_sheet
from workers.rectification.intake_findings import intake_findings
from workers.rectification.intake_record import Choice, intake_record
from workers.rectification.light_faults import LightFaults
from workers.rectification.lone_corner import lone_corner
from workers.rectification.merging import Merged
from workers.rectification.merging_findings import frame_findings, merging_findings
from workers.rectification.pale_lines import PaleLine
from workers.rectification.photo_quality import photo_quality
from workers.rectification.photos_merged import merged_photos, with_light
from workers.rectification.reading import read_square
from workers.rectification.reading_light import ReadingLight, sheet_light
from workers.rectification.reduced import reduced_photo
from workers.rectification.warp import WorkingScale, photo_scale, working_scale
from workers.rectification.whole_picture import is_scan, scan_scale_mm_per_px
from workers.rectification.whole_reading import (
    blank_candidate,
    judged_whole,
    scale_findings,
    whole_candidate,
    whole_light,
    whole_scale_mm_per_px,
)
from workers.values.finding import Finding
from workers.values.image import ColourImage, InkCoverage
from workers.values.progress import Reporter
from workers.values.sheet import KnownLength, SheetHint, SheetSize

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
    creases: tuple[Crease, ...] = ()  # of the sheet, taken out
    pale: tuple[PaleLine, ...] = ()  # thin lines, of pencil or pens
    box_px: tuple[float, ...] | None = None  # left, top, right, bottom of the photo that is kept; None: all


@dataclass(frozen=True, slots=True)
class Wanted:
    """What is asked for beyond the best photo in two tones."""

    merge: bool = False  # several photos made into one without glare and shade
    tones_count: int = 2  # 3 and 4 group greys into tiers, paper being one tone

    @property
    def by_colour(self) -> bool:
        """Whether coloured ink counts by its colour: of several tones each counts as dark as it looks."""
        return self.tones_count == 2


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
    scale: WorkingScale | None = None
    if found is None:
        light, mm_per_px = whole_light(photo, _rim_scale_mm_per_px(photo, size), wanted.by_colour)
    elif wanted.merge and sum(candidate.sheet is not None for candidate in candidates) > 1:
        merging, mm_per_px = merged_photos(photos, candidates, best, wanted.by_colour, report)
        light, best = ReadingLight(merging.light, merging.inks), merging.frame
    else:
        scale = _scale(photo, candidates[best], found)
        small = candidates[best].small or reduced_photo(photo.pixels)
        light = sheet_light(photo.pixels, small, found.surface, scale.px_per_mm, wanted.by_colour)
        mm_per_px = 1.0 / scale.px_per_mm
    if wanted.merge:
        notes += merging_findings(len(photos), merging)
    return _read(light, mm_per_px, Choice(candidates, best, merging, scale), notes, wanted, report)


def _scale(photo: ColourImage, candidate: Candidate, found: FoundSheet) -> WorkingScale:
    """Return how finely the sheet is to be read."""
    edge_px = candidate.quality.edge_width_px if candidate.quality else 0.0
    finest_mm = finest_stroke_mm(photo.pixels, found.surface, photo_scale(found.surface), edge_px)
    return working_scale(found.surface, edge_px, finest_mm)


def _rim_scale_mm_per_px(photo: ColourImage, size: SheetSize) -> float:
    """Return the scale of a picture whose rim is the sheet's, or lies on it."""
    frame_px = (photo.pixels.shape[1], photo.pixels.shape[0])
    return scan_scale_mm_per_px(photo, size) or filled_scale_mm_per_px(frame_px, size)


def _judged(photo: ColourImage, size: SheetSize) -> Candidate:
    """Return one photo with the sheet found in it, or with why there is none."""
    small = reduced_photo(photo.pixels)
    blank = blank_candidate(small)
    if blank is not None:
        return blank
    scale = _rim_scale_mm_per_px(photo, size)
    if is_scan(photo, small, size):
        return whole_candidate(photo, small, scale, "the picture's own frame is the sheet")
    found = found_sheet(photo.pixels, small, size)
    if found == NO_EDGES and paper_to_the_rim(small):
        whole = whole_candidate(photo, small, scale, "paper fills the picture to its rim")
        return replace(whole, fills=True)
    if isinstance(found, str):
        corner = lone_corner(small)
        return unused(found) if corner is None else unused(corner.reason, corner.remedy)
    quality = photo_quality(photo.pixels, small, found.surface.corners_px, photo_scale(found.surface))
    return Candidate(quality, found, "the sheet was found by its four sides", small=small)


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
    own_remedy = next((candidate.remedy for candidate in candidates if candidate.remedy), "")
    raise SheetNotFoundError(
        f"no sheet found: {told}",
        field=field,
        remedy=own_remedy
        or "lay the sheet on a plain darker table, all four edges in the picture and none covered; "
        "or give 'sheet': 'none', or a length you know between two points",
    )


def _of_whole_picture(
    photos: Sequence[ColourImage], hint: KnownLength | None, wanted: Wanted, report: Reporter
) -> Rectified:
    """Take the picture's own frame for the drawing."""
    used_count = 1 if isinstance(hint, KnownLength) else len(photos)
    candidates = [judged_whole(photos[number], hint) for number in range(used_count)]
    best = chosen(candidates)
    if candidates[best].quality is None:
        _refuse(candidates)
    photo = photos[best]
    notes = frame_findings(photo, best) + scale_findings(photo, hint, len(photos) - used_count)
    report(0.4, "reading the picture")
    light, mm_per_px = whole_light(photo, whole_scale_mm_per_px(photo, hint)[0], wanted.by_colour)
    if wanted.merge:
        notes += merging_findings(len(photos), None)
    done = _read(light, mm_per_px, Choice(candidates, best, None), notes, wanted, report)
    return done if hint is None and photo.mm_per_px is not None else _cut(done, photo)


def _cut(done: Rectified, photo: ColourImage) -> Rectified:
    """Return what was read of a photo, cut to the drawing's own box: its rim is nobody's choice."""
    whole = done.coverage.pixels.shape
    box = drawing_box(done.coverage)
    if box == (0, 0, whole[1], whole[0]):
        return done
    coverage, *tiers = cut_to(box, (done.coverage, *done.tiers))
    shrink = photo.pixels.shape[1] / whole[1]
    box_px = tuple(round(float(side * shrink), 2) for side in box)
    sides_mm = [round(side * coverage.mm_per_px, 3) for side in coverage.pixels.shape]
    return replace(
        done,
        coverage=coverage,
        tiers=tuple(tiers),
        box_px=box_px,
        record=done.record | {"height_mm": sides_mm[0], "width_mm": sides_mm[1], "box_px": box_px},
        findings=(*done.findings, cut_finding(coverage)),
    )


def _read(
    light: ReadingLight,
    mm_per_px: float,
    choice: Choice,
    notes: Sequence[Finding],
    wanted: Wanted,
    report: Reporter,
) -> Rectified:
    """Read the square picture, and write down how it went."""
    best = choice.candidates[choice.best]
    field = f"{_FIELD}/{choice.best}"
    edge_mm = best.quality.edge_width_mm if best.quality is not None else 0.0
    on_sheet = best.sheet is not None
    reading = read_square(light, mm_per_px, edge_mm, on_sheet, wanted.tones_count, report, field)
    findings = (*notes, *intake_findings(best, reading, choice.merged))
    report(1.0, "the drawing is read")
    tiers = [InkCoverage(pixels=tier.coverage, mm_per_px=mm_per_px) for tier in reading.tiers[1:]]
    return Rectified(
        coverage=InkCoverage(pixels=reading.clean.coverage, mm_per_px=mm_per_px),
        tiers=tuple(tiers),
        chosen=choice.best,
        record=intake_record(choice, reading),
        findings=findings,
        sheet=best.sheet,
        faults=reading.faults if choice.merged is None else choice.merged.frame_faults,
        creases=reading.creases,
        pale=reading.pale,
    )
