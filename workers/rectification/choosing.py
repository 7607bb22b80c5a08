"""Which of several photos of one sheet to use, and why, in figures."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from workers.rectification.found_sheet import FoundSheet
from workers.rectification.photo_quality import PhotoQuality
from workers.rectification.reduced import ReducedPhoto

_GLARE_MM, _SHADOW_MM = (
    1.0,
    0.1,
)  # if all of the sheet lay in it: glare takes lines away, shade seldom moves them

_OUTSIDE_MM = 5.0  # if all of the sheet were: what is drawn there is not there at all


@dataclass(frozen=True, slots=True, eq=False)
class Candidate:
    """One photo, judged. ``expected_error_mm`` adds up what would move the carved line."""

    quality: PhotoQuality | None
    sheet: FoundSheet | None
    reason: str
    blank: bool = False  # there is nothing in it, sheet or not
    glare_fraction: float = 0.0  # of the sheet; asked only where there are several photos
    shadow_fraction: float = 0.0
    fills: bool = False  # the picture: no edge of the sheet is in it
    small: ReducedPhoto | None = None  # the photo made small, where it shows a sheet
    remedy: str = ""  # where no sheet was found and there is more to advise than usual

    @property
    def expected_error_mm(self) -> float:
        """How far off a line may come out, roughly; infinite where no sheet was found."""
        return sum(self.expected_errors_mm.values()) if self.quality else float("inf")

    @property
    def expected_errors_mm(self) -> dict[str, float]:
        """The same by its causes: blur, light, and how well the sheet is seen; empty if there is no sheet."""
        return {} if self.quality is None else _errors_mm(self, self.quality)


def unused(reason: str, remedy: str = "") -> Candidate:
    """Return a photo of which nothing can be used.

    Args:
        reason: Why.
        remedy: What helps, if there is more to say than usual.
    """
    return Candidate(None, None, reason, remedy=remedy)


def _errors_mm(candidate: Candidate, quality: PhotoQuality) -> dict[str, float]:
    """Return what blur, light and an uneven sheet may add up to on the sheet, mm.

    The weights are ours: a fifth of the edge's width is what its half-way level may be off
    by, a lifted sheet is undone to about a twentieth of its lift, and of over-exposed paper
    the edge eats into the ink by its own width.
    """
    dark = max(0.0, 0.45 - quality.exposure)
    light = quality.blown_fraction * quality.edge_width_mm + 0.5 * dark
    light += _GLARE_MM * candidate.glare_fraction + _SHADOW_MM * candidate.shadow_fraction
    errors = {"blur": 0.2 * quality.edge_width_mm, "light": light}
    if candidate.sheet is not None:
        sheet = candidate.sheet
        errors["sheet"] = 0.05 * sheet.surface.lift_mm + sheet.worst_side_px / quality.px_per_mm
        errors["hidden"] = 0.5 * (1.0 - min(side.sample_fraction for side in sheet.sides))
        errors["outside"] = sheet.doubt_mm + _OUTSIDE_MM * _outside_fraction(sheet)
    return errors


def _outside_fraction(sheet: FoundSheet) -> float:
    """Return how much of a sheet the picture does not show."""
    surface = sheet.surface
    share = np.linspace(0.0, 1.0, 12)
    across, down = np.meshgrid(share * surface.width_mm, share * surface.height_mm)
    seen = surface.seen_px(np.column_stack([across.ravel(), down.ravel()]))
    return float(1.0 - ((seen >= 0) & (seen <= surface.frame_px)).all(axis=1).mean())


def chosen(candidates: Sequence[Candidate]) -> int:
    """Return the place of the photo with the least expected error; the first of equals."""
    return min(range(len(candidates)), key=lambda k: (round(candidates[k].expected_error_mm, 4), k))


def places(candidates: Sequence[Candidate]) -> list[int]:
    """Return each photo's rank, 1 for the best."""
    order = sorted(range(len(candidates)), key=lambda k: (round(candidates[k].expected_error_mm, 4), k))
    return [order.index(k) + 1 for k in range(len(candidates))]


def candidate_record(candidate: Candidate, rank: int = 1) -> dict[str, object]:
    """Return one photo's figures for the report.

    Args:
        candidate: The photo, judged.
        rank: 1 for the best.
    """
    record: dict[str, object] = {
        "rank": rank,
        "reason": _reason(candidate),
        "sheet_found": candidate.sheet is not None,
    }
    if candidate.quality is not None:
        quality = candidate.quality
        record |= {
            "expected_error_mm": round(candidate.expected_error_mm, 3),
            "expected_errors_mm": {
                cause: round(error, 3) for cause, error in candidate.expected_errors_mm.items()
            },
            "edge_width_mm": round(quality.edge_width_mm, 3),
            "edge_width_px": round(quality.edge_width_px, 2),
            "smear_mm": round(quality.smear_mm, 3),
            "paper_exposure": round(quality.exposure, 3),
            "blown_fraction": round(quality.blown_fraction, 4),
            "glare_fraction": round(candidate.glare_fraction, 4),
            "shadow_fraction": round(candidate.shadow_fraction, 4),
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


_CAUSES = {
    "blur": "its blur",
    "light": "its light",
    "sheet": "a sheet that is not flat",
    "hidden": "hidden edges of the sheet",
    "outside": "what of the sheet lies outside of the picture",
}


def _reason(candidate: Candidate) -> str:
    """Return in a sentence how the photo was judged."""
    errors = candidate.expected_errors_mm
    if not errors:
        return candidate.reason
    worst = max(errors, key=lambda cause: errors[cause])
    return (
        f"{candidate.reason}; lines may come out {candidate.expected_error_mm:.2f} mm off, "
        f"most of it by {_CAUSES[worst]} ({errors[worst]:.2f} mm)"
    )
