"""What is cut through the board: holes, openings, tabs, loose pieces, and what comes after."""

from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry import LineString, MultiLineString, MultiPolygon, Point, Polygon, box
from shapely.geometry.base import BaseGeometry

from tests.support.second_opinion.carved import carved_mm
from tests.support.second_opinion.moves import Moves, told_of
from tests.support.second_opinion.ordered import ROUNDING_MM, WALL_MM, Ordered
from workers.values.cuts import CutoutSide
from workers.values.cutter import Drill, EndMill
from workers.values.opening_outline import leaves_core, opening_outline

_CRUMB_MM2 = 4.5
_CELL_MM = 0.05  # shorter than this nothing holds
_MOST_STANDING = 0.55  # of an outline
_SPLINTERS_MM2 = 0.2  # along an edge


def _through_area(
    moves: Moves, thickness_mm: float, kinds: type | tuple[type, ...] = (EndMill, Drill)
) -> BaseGeometry:
    """Return all that is cut right through."""
    grown = []
    bottom = -thickness_mm + ROUNDING_MM
    for number, cutter in enumerate(moves.cutters):
        if not isinstance(cutter, kinds):
            continue
        own = (moves.bits == number) & (moves.lowest_mm <= bottom)
        lines = []
        for start, end in zip(moves.starts_mm[own], moves.ends_mm[own], strict=True):
            first, last = 0.0, 1.0
            if start[2] > bottom or end[2] > bottom:
                cross = (bottom - start[2]) / (end[2] - start[2])
                first, last = (cross, 1.0) if start[2] > bottom else (0.0, cross)
            a, b = start + first * (end - start), start + last * (end - start)
            lines.append(Point(a[:2]) if np.linalg.norm(a[:2] - b[:2]) < 1e-9 else LineString([a[:2], b[:2]]))
        grown += [shapely.buffer(line, cutter.diameter_mm / 2, quad_segs=32) for line in lines]
    return shapely.union_all(grown) if grown else MultiPolygon()


def through_objections(moves: Moves, ordered: Ordered) -> list[str]:
    """Return what is wrong with holes, openings, tabs and pieces."""
    through = _through_area(moves, ordered.design.board.thickness_mm)
    cutout, outline = ordered.cutout, ordered.design.outline
    found = [*_opening_objections(through, ordered), *_piece_objections(through, ordered)]
    if cutout:
        found += _tab_objections(moves, ordered, through, _left_of(ordered))
    beside = through.difference(outline.buffer(cutout.reach_mm + 0.1 if cutout else 0.05))
    if beside.area > _SPLINTERS_MM2:
        found.append(f"{beside.area:.2f} mm2 are cut through beside the board")
    return found


def _left_of(ordered: Ordered) -> BaseGeometry:
    """Return the board, or what a cutout on or inside its line leaves of it."""
    eaten_mm = max(ordered.cutout.eaten_mm, 0.0) if ordered.cutout else 0.0
    return ordered.design.outline.buffer(-eaten_mm) if eaten_mm else ordered.design.outline


def _cores(ordered: Ordered) -> list[Polygon]:
    """Return the openings in which a piece stays."""
    bit = ordered.openings_bit
    outlines = [opening_outline(opening) for opening in ordered.design.openings]
    return [outline for outline in outlines if bit and leaves_core(outline, bit.diameter_mm)]


def _opening_objections(through: BaseGeometry, ordered: Ordered) -> list[str]:
    found = []
    for number, hole in enumerate(ordered.design.holes, 1):
        disc = Point(hole.x_mm, hole.y_mm).buffer(hole.diameter_mm / 2 - WALL_MM)
        if not through.covers(disc):
            found.append(f"hole {number} is not through")
    cores = _cores(ordered)
    for number, opening in enumerate(ordered.design.openings, 1):
        shape = opening_outline(opening)
        if shape in cores:
            if through.intersection(shape.buffer(-2 * WALL_MM).exterior).length == 0:
                found.append(f"opening {number} is not cut round")
        elif (left := shape.buffer(-WALL_MM).difference(through)).area > _SPLINTERS_MM2:
            found.append(f"opening {number}: {left.area:.2f} mm2 are not through")
    return found


def _piece_objections(through: BaseGeometry, ordered: Ordered) -> list[str]:
    """Tell what nothing holds: pieces that hang together neither with the blank's rim nor with the board."""
    cutout, outline = ordered.cutout, ordered.design.outline
    frame = box(*outline.buffer((cutout.reach_mm if cutout else 0.0) + 4).bounds)
    blank = frame if cutout else outline
    inner = _left_of(ordered).buffer(-2 * WALL_MM)
    own = inner.difference(shapely.union_all(_cores(ordered)))
    parts = [part for part in shapely.get_parts(blank.difference(through)) if part.area > _CRUMB_MM2]
    boards = [part for part in parts if part.intersection(inner).area > 0.1 * inner.area]
    found = [f"the board falls into {len(boards)} pieces"] if len(boards) > 1 else []
    for part in parts:
        if part.intersects(frame.exterior) or part.intersection(own).area > 0.5 * part.area:
            continue
        found.append(f"a loose piece of {part.area:.1f} mm2 at {part.representative_point().coords[0]}")
    return found


def _tab_objections(moves: Moves, ordered: Ordered, through: BaseGeometry, board: BaseGeometry) -> list[str]:
    """Is the board held by what was ordered, and free between?"""
    cutout, thickness_mm = ordered.cutout, ordered.design.board.thickness_mm
    if cutout is None:
        return []
    wanted = cutout.tabs_on(ordered.design.outline.exterior.length)
    way = ordered.design.outline.buffer(cutout.wall_offset_mm, quad_segs=64).exterior
    standing = way.difference(through)
    merged = shapely.line_merge(standing) if isinstance(standing, MultiLineString) else standing
    bridges = [part for part in shapely.get_parts(merged).tolist() if part.length > _CELL_MM]
    strong = 0
    for bridge in bridges:
        middle = bridge.interpolate(0.5, normalized=True)
        height_mm = thickness_mm - float(carved_mm(moves, np.array(middle.coords))[0])
        strong += bridge.length >= cutout.tab_width_mm - 0.3 and height_mm >= cutout.tab_height_mm - 0.06
    found = []
    if strong < wanted:
        shown = [round(bridge.length, 2) for bridge in bridges]
        found.append(f"{strong} tabs of {wanted} hold: {shown}")
    if standing.length > _MOST_STANDING * way.length:
        found.append(f"only {1 - standing.length / way.length:.0%} of the outline is through")
    if cutout.side is not CutoutSide.INSIDE:
        reach_mm = cutout.cutter.diameter_mm + cutout.tab_width_mm / 2 + 0.5
        near = shapely.union_all([bridge.buffer(reach_mm) for bridge in bridges])
        edge = board.boundary.buffer(0.3).difference(board.buffer(0.1)).difference(through)
        proud = edge.difference(near)
        if proud.area > _SPLINTERS_MM2:
            place = proud.representative_point().coords[0]
            found.append(f"{proud.area:.2f} mm2 stand along the edge at {place}")
    return found


def order_objections(moves: Moves, ordered: Ordered) -> list[str]:
    cutout = ordered.cutout
    if cutout is None:
        return []
    deep = moves.ends_mm[:, 2] <= -ordered.design.board.thickness_mm + ROUNDING_MM
    eaten = max(cutout.eaten_mm, 0.0)
    inner = ordered.design.outline.buffer(-eaten - 0.1)
    if inner.is_empty:
        return []
    within = shapely.covers(inner, shapely.points(moves.ends_mm[:, :2]))
    freeing = np.flatnonzero(deep & ~within)
    if not len(freeing):
        return ["the outline is never cut through"]
    later = np.flatnonzero(within & (moves.ends_mm[:, 2] < -ROUNDING_MM))
    later = later[later > freeing[0]]
    return [f"carves after the board is freed: {told_of(moves, int(later[0]))}"] if len(later) else []
