"""What lies on what: things whose ink overlaps are carved as one, which an order may not mean."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations

import shapely

from workers.layout.fitting import Placed, largest_inside_border
from workers.values.design import Board
from workers.values.finding import Finding, Severity

_TOUCHING_MM2 = 0.05  # rounding where two outlines only meet


def overlap_findings(board: Board, placed: Sequence[Placed]) -> Iterator[Finding]:
    """Yield a finding for each two things whose ink overlaps: a warning where letters are part of it.

    Args:
        board: The finished board.
        placed: All that stands on it.
    """
    for one, other in combinations(placed, 2):
        shared = one.area.intersection(other.area)
        if shared.area > _TOUCHING_MM2:
            at = max(shapely.get_parts(shared), key=lambda part: part.area).representative_point()
            yield _overlap(board, placed, one, other, (round(at.x, 3), round(at.y, 3)))


def _overlap(
    board: Board, placed: Sequence[Placed], one: Placed, other: Placed, at_mm: tuple[float, float]
) -> Finding:
    remedy = "move one of them or make it smaller; leave it so if they shall be one"
    largest_mm = largest_inside_border(board, one, placed) if other.kind == "border" else None
    if largest_mm:
        remedy = (
            f"at this place the largest {one.size_name} inside the border is {largest_mm:.1f} mm; or move it"
        )
    return Finding(
        code="ink-overlaps",
        severity=Severity.WARNING if "lettering" in (one.kind, other.kind) else Severity.NOTE,
        message=f"{one.title} lies on {other.title} near x {at_mm[0]:.1f}, y {at_mm[1]:.1f} mm: "
        "they are carved as one",
        remedy=remedy,
        at_mm=at_mm,
    )
