"""Ground that runs out over the board's edge: how far past it the bits go."""

from __future__ import annotations

from dataclasses import dataclass

from shapely.geometry import Polygon

from workers.geometry.polygon_repair import region_of
from workers.toolpaths.groove import Groove
from workers.values.design import Design
from workers.values.ground import ground_beyond
from workers.values.region import Region

_BESIDE_MM = 2.0  # of ground beyond all that bits do: so no wall stands where nothing needs one


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class OpenGround:
    """What is cut of a design whose ground has no wall at the board's edge."""

    ink: Region  # it runs on past everything that is cut
    outline: Polygon
    past_edge_mm: float  # how far past the outline floors are cut
    waste: Region  # ink farther out, that may stay as it is

    def centres(self, radius_mm: float) -> Polygon:
        """Return where a mill's middle may be: so that it cuts as far past as asked, or is on the edge."""
        return self.outline.buffer(max(self.past_edge_mm - radius_mm, 0.0))


def open_ground(design: Design, groove: Groove) -> OpenGround | None:
    """Return how far a design's ground is cut; None where it ends on the board, at a wall.

    Args:
        design: The sign.
        groove: The V-bit and how deep it goes: beside what stands near the edge it needs that much room.
    """
    if not design.past_edge_mm:
        return None
    cut_mm = max(design.past_edge_mm, groove.full_radius_mm)
    beyond_mm = cut_mm + groove.full_radius_mm + _BESIDE_MM
    ring = design.outline.buffer(beyond_mm + _BESIDE_MM).difference(design.outline.buffer(cut_mm))
    return OpenGround(
        ink=ground_beyond(design, beyond_mm),
        outline=design.outline,
        past_edge_mm=design.past_edge_mm,
        waste=region_of(ring),
    )
