"""What a verification hands on."""

from __future__ import annotations

from dataclasses import dataclass

from workers.values.height_field import HeightField
from workers.values.proof import Proof


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Verified:
    """The proof, the carved board, and by which measure it was judged."""

    proof: Proof
    field: HeightField
    tolerance_mm: float | None  # between carved and designed surface; None where no design was known
    compared_cells: int
    bridges_count: int | None  # what holds the board; None where no cutout was ordered
    field_behind: HeightField | None = None  # the back as it lies, back up; None: nothing is cut there
