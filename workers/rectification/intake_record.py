"""The report of intake: what was found in the photos, in figures."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from workers.rectification.choosing import Candidate, candidate_record, places
from workers.rectification.coloured_ink import COLOUR_WORDS
from workers.rectification.merging import Merged
from workers.rectification.pale_lines import PaleLine
from workers.rectification.reading import Reading
from workers.rectification.warp import WorkingScale


@dataclass(frozen=True, slots=True, eq=False)
class Choice:
    """The photos as they were judged, and what was made of them."""

    candidates: Sequence[Candidate]
    best: int
    merged: Merged | None
    scale: WorkingScale | None = None  # of a sheet read from one photo


def intake_record(choice: Choice, reading: Reading) -> dict[str, object]:
    """Return the report.

    Args:
        choice: Which photo was read.
        reading: What was read from it.
    """
    rows, columns = reading.clean.coverage.shape
    quality = choice.candidates[choice.best].quality
    ranks = places(choice.candidates)
    photos = [
        candidate_record(candidate, rank) for candidate, rank in zip(choice.candidates, ranks, strict=True)
    ]
    return {
        "chosen": choice.best,
        "photos": photos,
        "merged": None if choice.merged is None else _merged_record(choice.merged),
        "millimetres_per_pixel": reading.mm_per_px,
        "working_scale": None if choice.scale is None else _scale_record(choice.scale),
        "width_mm": round(columns * reading.mm_per_px, 3),
        "height_mm": round(rows * reading.mm_per_px, 3),
        "corners_px": photos[choice.best].get("corners_px"),
        "tones": _tones_record(reading),
        "quality": {
            "light_lost_fraction": round(reading.paper.falloff_fraction, 3),
            "shadow_fraction": round(reading.paper.shadow_fraction, 3),
            "glare_fraction": round(reading.faults.glare_fraction, 4),
            "facets_fraction": round(reading.faults.facets_fraction, 3),
            "grain_mm": None if quality is None else round(reading.grain_mm(quality.edge_width_mm), 4),
            "ink_fraction": round(reading.clean.ink_fraction, 5),
            "ink_level": round(reading.ink.ink_level, 3),
            "ink_level_worst": round(reading.ink.ink_level_worst, 3),
            "coloured_ink": [
                {"colour": COLOUR_WORDS[ink.channel], "fraction": round(float(ink.cells.mean()), 5)}
                for ink in reading.colours
            ],
        },
        "ruled_lines": [
            {
                "direction": "across" if ruling.is_across else "down",
                "spacing_mm": round(ruling.spacing_mm, 3),
                "lines_count": ruling.lines_count,
                "darkness": round(ruling.darkness, 3),
            }
            for ruling in reading.rulings
        ],
        "creases": [
            {
                "from_mm": [round(float(v), 2) for v in crease.chord.start_mm],
                "to_mm": [round(float(v), 2) for v in crease.chord.end_mm],
                "darkness": round(crease.darkness, 3),
                "light_step": round(math.expm1(abs(crease.step)), 3),
                "width_mm": round(2 * crease.half_mm, 2),
            }
            for crease in reading.creases
        ],
        "pale_lines": [_pale_record(line) for line in reading.pale],
        "cleaned": {
            "specks_count": reading.clean.specks_count,
            "faint_parts_count": reading.clean.faint_count,
            "pinholes_count": reading.clean.pinholes_count,
            "parts_on_the_rim_count": reading.clean.rim_count,
            "things_cut_off_count": reading.clean.touched_count,
        },
    }


def _pale_record(line: PaleLine) -> dict[str, object]:
    """Return a thin line that is paler than the ink, and what it was taken for."""
    return {
        "taken_for": "pencil" if line.is_pencil else "ink",
        "sure": line.is_sure,
        "middle_mm": [round(v, 1) for v in line.middle_mm],
        "length_mm": round(line.length_mm, 1),
        "width_mm": round(line.width_mm, 2),
        "darkness": round(line.darkness, 3),
        "unevenness": round(line.unevenness, 3),
    }


def _scale_record(scale: WorkingScale) -> dict[str, object]:
    """Return how finely the sheet is read, and why."""
    return {
        "px_per_mm": scale.px_per_mm,
        "photo_px_per_mm": round(scale.photo_px_per_mm, 3),
        "finest_stroke_mm": round(scale.finest_stroke_mm, 3) or None,
        "reason": scale.reason,
    }


def _merged_record(merged: Merged) -> dict[str, object]:
    """Return what each photo gave, by its place in the request."""
    given = [
        {"photo": number, "share": round(share, 3), "moved_mm": round(merged.moved_mm[number], 3)}
        for number, share in sorted(merged.shares.items())
    ]
    left_out = [
        {"photo": number, "likeness": round(likeness, 3)}
        for number, likeness in sorted(merged.left_out.items())
    ]
    return {
        "photos": given,
        "left_out": left_out,
        "faulty_fraction": round(merged.faulty_fraction, 4),
    }


def _tones_record(reading: Reading) -> list[dict[str, object]]:
    """Return which output holds which tones, the palest first: each tone with all that are darker."""
    return [
        {
            "output": "image" if number == 1 else f"image_{number}",
            "grey_level": round(tier.level, 3),
            "ink_fraction": round(float((tier.coverage < 128).mean()), 5),
        }
        for number, tier in enumerate(reading.tiers, 1)
    ]
