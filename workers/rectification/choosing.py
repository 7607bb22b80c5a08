"""Which of several photos of one sheet to use, and why, in figures."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from workers.rectification.found_sheet import FoundSheet
from workers.rectification.photo_quality import PhotoQuality


@dataclass(frozen=True, slots=True, eq=False)
class Candidate:
    """One photo, judged. ``expected_error_mm`` adds up what would move the carved line."""

    quality: PhotoQuality | None
    sheet: FoundSheet | None
    reason: str
    blank: bool = False  # there is nothing in it, sheet or not

    @property
    def expected_error_mm(self) -> float:
        """How far off a line may come out, roughly; infinite where no sheet was found."""
        return expected_error_mm(self.quality, self.sheet) if self.quality else float("inf")


def expected_error_mm(quality: PhotoQuality, sheet: FoundSheet | None) -> float:
    """Return what blur, light and an uneven sheet may add up to on the sheet, mm.

    The weights are ours: a fifth of the edge's width is what its half-way level may be off
    by, a lifted sheet is undone to about a twentieth of its lift, and of over-exposed paper
    the edge eats into the ink by its own width.
    """
    dark = max(0.0, 0.45 - quality.exposure)
    error = 0.2 * quality.edge_width_mm + quality.blown_fraction * quality.edge_width_mm + 0.5 * dark
    if sheet is not None:
        error += 0.05 * sheet.surface.lift_mm + sheet.worst_side_px / quality.px_per_mm
        error += 0.5 * (1.0 - min(side.sample_fraction for side in sheet.sides))
    return error


def chosen(candidates: Sequence[Candidate]) -> int:
    """Return the place of the photo with the least expected error; the first of equals."""
    return min(range(len(candidates)), key=lambda k: (round(candidates[k].expected_error_mm, 4), k))


def candidate_record(candidate: Candidate) -> dict[str, object]:
    """Return one photo's figures for the report."""
    record: dict[str, object] = {"reason": candidate.reason, "sheet_found": candidate.sheet is not None}
    if candidate.quality is not None:
        quality = candidate.quality
        record |= {
            "expected_error_mm": round(candidate.expected_error_mm, 3),
            "edge_width_mm": round(quality.edge_width_mm, 3),
            "edge_width_px": round(quality.edge_width_px, 2),
            "paper_exposure": round(quality.exposure, 3),
            "blown_fraction": round(quality.blown_fraction, 4),
            "px_per_mm": round(quality.px_per_mm, 3),
        }
    if candidate.sheet is not None:
        sheet = candidate.sheet
        record |= {
            "corners_px": [[round(float(v), 2) for v in corner] for corner in sheet.surface.corners_px],
            "side_residuals_px": [round(side.residual_px, 3) for side in sheet.sides],
            "side_seen_fractions": [round(side.sample_fraction, 3) for side in sheet.sides],
            "side_bows_px": [round(side.bow_px, 2) for side in sheet.sides],
            "surface_residual_px": round(sheet.surface.residual_px, 3),
            "lift_mm": round(sheet.surface.lift_mm, 2),
            "sheet_score": round(sheet.rough.score, 3),
        }
    return record
