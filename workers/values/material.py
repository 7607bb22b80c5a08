"""What boards are made of, and how a bit may cut them."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Material:
    """A board material; every figure's source stands beside it in materials.toml."""

    name: str
    title: str  # for people: "Basswood"
    family: str  # "softwood", "hardwood", "plywood", "fibreboard", "plastic", "foam"
    shows_depth_mm: float  # the shallowest groove that shows after finishing
    thinnest_wall_mm: float  # the thinnest wall between grooves that stands
    colour: tuple[int, int, int]  # sRGB of the planed face, for pictures
    has_grain: bool
    cautions: tuple[str, ...]  # sentences for the set-up sheet


@dataclass(frozen=True, slots=True, kw_only=True)
class CuttingData:
    """How one bit is run in one material on one machine: a starting point, not a law."""

    spindle_rpm: float
    feed_mm_per_min: float
    plunge_mm_per_min: float
    pass_depth_mm: float  # deepest single pass
    stepover_fraction: float  # of the bit's diameter, between neighbouring passes
