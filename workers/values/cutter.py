"""The bits of a router, by what they leave behind."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class VeeCutter:
    """A cone with a flat tip."""

    name: str
    diameter_mm: float  # where the cone ends
    cutting_length_mm: float
    flutes_count: int
    included_angle_deg: float  # between opposite flanks
    tip_mm: float  # diameter of the flat at the tip, 0 for a sharp one


@dataclass(frozen=True, slots=True, kw_only=True)
class EndMill:
    """A cylinder with a flat end."""

    name: str
    diameter_mm: float
    cutting_length_mm: float
    flutes_count: int


@dataclass(frozen=True, slots=True, kw_only=True)
class BallNose:
    """A cylinder with a hemispherical end."""

    name: str
    diameter_mm: float
    cutting_length_mm: float
    flutes_count: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Drill:
    """A twist or brad-point drill; cuts only downwards. Simulated as a flat-ended cylinder."""

    name: str
    diameter_mm: float
    cutting_length_mm: float
    flutes_count: int


Cutter = VeeCutter | EndMill | BallNose | Drill
