"""Art that stands raised: the ground around it is what is cut."""

from __future__ import annotations

from dataclasses import replace

from workers.errors import ParameterOutOfRangeError
from workers.geometry.polygon_repair import on_grid, region_of
from workers.layout.areas import thinned
from workers.values.design import Design


def raised_to_edge(design: Design, past_edge_mm: float) -> Design:
    """Return the design with its art standing and all the rest of the board as ink, over its edge.

    Args:
        design: Its ink is what shall stand.
        past_edge_mm: How far past the board's edge the ground is cut, so that nothing is left along it.
    """
    ground = thinned(region_of(design.outline.difference(design.ink.polygons)).polygons)
    return replace(design, ink=on_grid(ground), past_edge_mm=past_edge_mm)


def raised(design: Design, margin_mm: float) -> Design:
    """Return the design with its art standing and the ground around it as ink.

    Everything that cuts ink cuts the ground by the same means: floors with end mills, and a V-bit
    along the walls of what stands.

    Args:
        design: Its ink is what shall stand.
        margin_mm: From the board's edge to the ground's: a frame of this width stands as well.

    Raises:
        ParameterOutOfRangeError: The frame leaves no ground, or what stands reaches into it.
    """
    panel = design.outline.buffer(-margin_mm)
    if panel.is_empty:
        raise ParameterOutOfRangeError(
            f"a margin of {margin_mm:g} mm leaves no ground on a board of "
            f"{design.board.width_mm:g} x {design.board.height_mm:g} mm",
            field="/inputs/raised/margin",
            remedy="make the margin narrower",
        )
    ground = thinned(region_of(panel.difference(design.ink.polygons)).polygons)
    if ground.is_empty:
        raise ParameterOutOfRangeError(
            "what stands raised covers all of the ground: nothing is left to cut",
            field="/inputs/raised/margin",
            remedy="make the art smaller, or the margin narrower",
        )
    return replace(design, ink=on_grid(ground))
