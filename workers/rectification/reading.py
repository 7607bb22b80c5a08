"""The drawing read from a square, lit sheet: ink told from paper, cleaned, grouped into tones."""

from __future__ import annotations

from dataclasses import dataclass

from workers.errors import NoDrawingFoundError
from workers.rectification.coloured_ink import ColouredInk
from workers.rectification.creases import Crease, cells_of, creases_seen, without_creases
from workers.rectification.grey_lines import pale_lines
from workers.rectification.illumination import PaperLight, paper_light
from workers.rectification.ink import CellMarks, Inked, inked
from workers.rectification.light_faults import LightFaults, light_faults
from workers.rectification.pale_lines import NO_LINES, PaleLine, without_pencil
from workers.rectification.reading_light import ReadingLight
from workers.rectification.ruled_lines import Ruling, rules_seen, without_rules
from workers.rectification.specks import Cleaned, cleaned
from workers.rectification.tone_groups import Tier, tone_tiers
from workers.rectification.tone_light import light_under_tones
from workers.rectification.unevenness import grain
from workers.values.progress import Reporter

_INK_ALL_OVER = 0.92
_FULL_INK = 60  # coverage of ink, whatever lies under it


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Reading:
    """What was read from one square picture."""

    mm_per_px: float
    paper: PaperLight
    faults: LightFaults
    ink: Inked
    clean: Cleaned  # two-tone, or of all tones together
    tiers: tuple[Tier, ...]  # cleaned; empty when two tones were asked for, or no more are seen
    tones_count: int  # as asked for
    colours: tuple[ColouredInk, ...]
    rulings: tuple[Ruling, ...]  # taken out
    creases: tuple[Crease, ...]  # taken out
    grain: float  # of the photo, a deviation over the paper's light
    pale: tuple[PaleLine, ...]  # thin lines, of pencil left out and of pens kept

    def grain_mm(self, edge_width_mm: float) -> float:
        """Return by how much the photo's grain moves an ink's edge to and fro, a deviation.

        The half-way level moves by the grain over the steepness of the edge: its contrast over its width.

        Args:
            edge_width_mm: Over which an edge goes from paper to ink.
        """
        return edge_width_mm * self.grain / max(1.0 - self.ink.ink_level, 0.1)


def read_square(
    read: ReadingLight,
    mm_per_px: float,
    edge_width_mm: float,
    on_sheet: bool,
    tones_count: int,
    report: Reporter,
    field: str,
) -> Reading:
    """Even the light, tell ink from paper, and take out what is no drawing.

    Args:
        read: The light of the sheet, laid square.
        mm_per_px: Its scale.
        edge_width_mm: Over which the photo's edges go from paper to ink; 0 if that is not known.
        on_sheet: Whether its rim is a sheet's edge, so that things may lie across it.
        tones_count: Two, or into how many tones to group the greys, paper among them.
        report: Told how far this is.
        field: JSON pointer of the photo, for the error.

    Raises:
        NoDrawingFoundError: No ink, or ink all over.
    """
    report(0.65, "evening the light")
    light = read.light
    paper = paper_light(light, 1 / mm_per_px, read.coloured)
    report(0.75, "telling ink from paper")
    ground = light_under_tones(paper) if tones_count > 2 else paper
    rules, faults = rules_seen(paper), light_faults(ground, read.tinted)
    photo_grain = grain(paper)
    creases = creases_seen(paper, photo_grain, tuple(0.0 if seen.is_across else 90.0 for seen in rules))
    folded = cells_of(creases, paper.level.shape)
    pale = NO_LINES
    if tones_count == 2 and not rules:  # greys are meant, or the paper has lines of its own
        pale = pale_lines(paper, edge_width_mm, photo_grain, folded | paper.is_coloured | faults.glare)
    no_ink = folded | pale.pencil_cells(paper.level.shape)
    marks = CellMarks(no_ink, pale.pen_levels(paper.level.shape), faults.glare)
    ink = inked(light, paper, marks)
    tiers = tone_tiers(light, ground, 1 / mm_per_px, tones_count) if tones_count > 2 else ()
    report(0.85, "looking for the paper's own lines")
    coverage = tiers[0].coverage if tiers else ink.coverage
    coverage, rulings = without_rules(coverage, rules, 1 / mm_per_px)
    coverage = without_pencil(without_creases(coverage, creases, 1 / mm_per_px), pale, _FULL_INK)
    report(0.9, "taking out specks")
    clean = cleaned(coverage, 1 / mm_per_px, rim=on_sheet)
    _check_drawing(clean.ink_fraction, field)
    finished = [Tier(tiers[0].level, clean.coverage)] if tiers else []
    finished += [Tier(t.level, cleaned(t.coverage, 1 / mm_per_px, rim=on_sheet).coverage) for t in tiers[1:]]
    return Reading(
        mm_per_px=mm_per_px,
        paper=paper,
        faults=faults,
        ink=ink,
        clean=clean,
        tiers=tuple(finished),
        tones_count=tones_count,
        colours=tuple(ink for ink in read.inks if not ink.in_glare),
        rulings=rulings,
        creases=creases,
        grain=photo_grain,
        pale=pale.lines,
    )


def _check_drawing(ink_fraction: float, field: str) -> None:
    """Refuse a sheet without ink, and one that is ink all over."""
    if ink_fraction == 0.0:
        raise NoDrawingFoundError(
            "no ink was found on the sheet",
            field=field,
            remedy="draw with a dark marker; pencil and very pale lines are left out",
        )
    if ink_fraction > _INK_ALL_OVER:
        raise NoDrawingFoundError(
            f"{100 * ink_fraction:.0f} % of the picture is dark, so no drawing can be told from it",
            field=field,
            remedy="photograph dark ink on light paper, in more light",
        )
