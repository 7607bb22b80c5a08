"""How a board looks, its shape apart."""

from __future__ import annotations

from dataclasses import dataclass

from workers.values.material import Material


@dataclass(frozen=True, slots=True, kw_only=True)
class Appearance:
    """What a board is made of, what covers its carving, and how its grain runs."""

    material: Material
    paint: tuple[int, int, int] | None = None  # sRGB colour of all that is carved; None leaves it bare
    grain_deg: float = 0.0  # anticlockwise from x
