"""The bits of a router, by what they leave behind."""

from __future__ import annotations

import math
from dataclasses import dataclass

_COLLETS_MM = (3.175, 6.0, 6.35, 8.0)  # small routers' (trade.md E-05, memory)
_ABOVE_EDGES_MM = 6.0  # of a bit stay out of the collet above its edges (common practice)
_LEAST_STICK_OUT_MM = 20.0  # common practice


def usual_shank_mm(diameter_mm: float) -> float:
    """Return the diameter by which a bit is usually held: the next collet that is no thinner than it.

    Source: collets of 1/8 and 1/4 in, 6 and 8 mm (memory).

    >>> usual_shank_mm(2), usual_shank_mm(6.35), usual_shank_mm(25.4)
    (3.175, 6.35, 8.0)
    """
    return next((collet for collet in _COLLETS_MM if collet >= diameter_mm), _COLLETS_MM[-1])


def usual_stick_out_mm(cutting_length_mm: float) -> float:
    """Return how far a bit usually stands out of its collet: as little as leaves all its edges free.

    Source: common practice; no published figure.

    >>> usual_stick_out_mm(25), usual_stick_out_mm(5)
    (31.0, 20.0)
    """
    return max(cutting_length_mm + _ABOVE_EDGES_MM, _LEAST_STICK_OUT_MM)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Bit:
    """What all bits have; a shank or a stick-out that is not given is the usual one."""

    name: str
    diameter_mm: float  # where it is widest
    cutting_length_mm: float  # from the tip to the end of its edges
    flutes_count: int
    shank_mm: float = math.nan  # diameter above the edges, where the collet holds it
    stick_out_mm: float = math.nan  # from the tip to the collet's nut

    def __post_init__(self) -> None:
        if math.isnan(self.shank_mm):
            object.__setattr__(self, "shank_mm", usual_shank_mm(self.diameter_mm))
        if math.isnan(self.stick_out_mm):
            object.__setattr__(self, "stick_out_mm", usual_stick_out_mm(self.cutting_length_mm))


@dataclass(frozen=True, slots=True, kw_only=True)
class VeeCutter(_Bit):
    """A cone with a flat tip; its diameter is where the cone ends."""

    included_angle_deg: float  # between opposite flanks
    tip_mm: float  # diameter of the flat at the tip, 0 for a sharp one


@dataclass(frozen=True, slots=True, kw_only=True)
class EndMill(_Bit):
    """A cylinder with a flat end."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BallNose(_Bit):
    """A cylinder with a hemispherical end."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Drill(_Bit):
    """A twist or brad-point drill; cuts only downwards. Simulated as a flat-ended cylinder."""


@dataclass(frozen=True, slots=True, kw_only=True)
class KeyholeCutter(_Bit):
    """A T-shaped bit: a flat head on a thinner neck that cuts as well; its edges end where the neck does."""

    head_mm: float  # height of the head, over the tip
    neck_mm: float  # diameter over the head


Cutter = VeeCutter | EndMill | BallNose | Drill | KeyholeCutter
