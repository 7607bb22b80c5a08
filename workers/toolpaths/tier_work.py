"""What is cut of each tone of a design: the darkest first, so that nothing is cut twice.

Where a darker tone is cut, the floor of a paler one around it need not be finished, and a wall that both
share is the darker one's. So the deepest goes first, and every paler tone is left what that did not take.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import MultiPolygon

from workers.geometry.nesting import opened
from workers.geometry.offsets import inset
from workers.geometry.vee import reach_mm
from workers.toolpaths.groove import Groove, groove_of
from workers.toolpaths.strands import Strands, refined, unbroken
from workers.values.finding import Finding
from workers.values.region import Region
from workers.values.tiers import Tier

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

_ROUNDING_MM = 0.02  # outlines of two tones that are one lie no farther apart
_TOUCHING_MM = 0.002  # a cut that only touches an area does not cut into it
_LONGEST_PIECE_MM = 0.5  # of a way, each kept or left as a whole


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class TierWork:
    """One tone's share of the work."""

    ink: Region
    limit_mm: float  # as asked for
    groove: Groove  # as the bit reaches
    name: str = ""  # of one of several tones
    bare: Region | None = None  # what of the ink no darker tone takes; None: all of it
    deeper: Region = field(
        default_factory=lambda: Region(MultiPolygon())
    )  # what darker tones cut at least as deep as this one's limit

    def about(self, finding: Finding) -> Finding:
        """Return a finding that says which tone it is about."""
        return replace(finding, message=f"{self.name}: {finding.message}") if self.name else finding


def tier_works(tiers: Sequence[Tier]) -> list[TierWork]:
    """Return what is left to each tone, the darkest first; a tone that is darker all over has no share.

    Args:
        tiers: The palest first.
    """
    works = []
    for number, tier in reversed(list(enumerate(tiers, 1))):
        cutter, limit_mm = tier.cut.cutter, tier.depth_limit_mm
        work = TierWork(
            ink=tier.ink,
            limit_mm=limit_mm,
            groove=groove_of(cutter, min(limit_mm, reach_mm(cutter))),
            name=f"tone {number} of {len(tiers)}" if len(tiers) > 1 else "",
        )
        works.append(_beside(work, tiers[number].ink) if number < len(tiers) else work)
    return [work for work in works if work.bare is None or not work.bare.polygons.is_empty]


def _beside(work: TierWork, darker: Region) -> TierWork:
    """Return what is left of a tone's work by the next darker one."""
    bare = opened(work.ink.polygons.difference(darker.polygons), _ROUNDING_MM)
    return replace(work, bare=Region(bare), deeper=inset(darker, work.groove.full_radius_mm))


def reaching(strands: Strands, bare: Region, groove: Groove) -> Strands:
    """Return the ways on which a V-bit cuts into an area; on all others it cuts what a deeper cut takes.

    Args:
        strands: Where its tip's middle goes.
        bare: The area.
        groove: The bit.
    """
    if not len(strands):
        return strands
    fine = refined(strands, _LONGEST_PIECE_MM)
    radii_mm = groove.radius_at_mm(fine.points_mm[:, 2])
    pieces_mm = np.stack([fine.points_mm[:-1, :2], fine.points_mm[1:, :2]], axis=1)
    return unbroken(fine, _are_near(bare, pieces_mm, np.maximum(radii_mm[:-1], radii_mm[1:])))


def reaching_dots(dots_mm: Floats, bare: Region, groove: Groove) -> Floats:
    """Return the dots (n, 3) at which a V-bit cuts into an area."""
    places_mm = np.repeat(dots_mm[:, None, :2], 2, axis=1)
    return np.asarray(dots_mm[_are_near(bare, places_mm, groove.radius_at_mm(dots_mm[:, 2]))])


def _are_near(bare: Region, pieces_mm: Floats, radii_mm: Floats) -> Flags:
    """Tell which straight pieces (n, 2, 2) have an area within their radius."""
    shapely.prepare(bare.polygons)
    reach: Any = radii_mm - _TOUCHING_MM  # the library takes an array, its types do not know
    return np.asarray(shapely.dwithin(bare.polygons, np.asarray(shapely.linestrings(pieces_mm)), reach))
