"""The depth that the design asks for, computed apart from any path.

Every cell's distance to the outline of the ink comes from the pieces of the outline
themselves, not from a raster of them: exact at the cell's centre.
"""

from __future__ import annotations

import math

import numpy as np
import shapely
from numpy.typing import NDArray

from workers.simulation.bands import in_bands
from workers.values.cuts import InciseCut
from workers.values.design import Design, Hole, Opening
from workers.values.ground import ground_beyond
from workers.values.opening_outline import opening_outline
from workers.values.region import Region
from workers.values.tiers import tiers_of
from workers.verification.boundary import Boundary, boundary_of, strip_corners
from workers.verification.distance_kernels import NOBODY, mark_crossings, settle_sharp, sweep_strips
from workers.verification.grid import Grid
from workers.verification.tip_flat_kernels import settle_flat
from workers.verification.tolerances import RIM_MM

UNSPECIFIED = np.float32(np.nan)  # the design does not say how deep this cell is


def designed_depth(design: Design, incise: InciseCut | None, grid: Grid) -> NDArray[np.float32]:
    """Return the designed depth at the centres of cells.

    Inside the holes it is the board's thickness (and whatever is cut deeper is no concern
    of the design). Not a number stands beside upright walls and outside the board. Of several tones
    the deepest counts.

    Args:
        design: Ink, outline and holes.
        incise: Bit and depth limits for the ink; None when the ink is not cut.
        grid: Where the cells are.

    Raises:
        ParameterOutOfRangeError: The design has other tones than there are depth limits.
    """
    depth_mm = np.zeros((grid.rows, grid.columns), np.float32)
    if incise:
        palest, *darker = tiers_of(design, incise)
        depth_mm = incised_depth(_ink_beyond(design, palest.cut, grid), palest.cut, grid)
        for tier in darker:
            np.maximum(depth_mm, incised_depth(tier.ink, tier.cut, grid), out=depth_mm)
    board = Region(shapely.MultiPolygon([design.outline.buffer(-RIM_MM)]))
    depth_mm[~inside_of(board, grid)] = UNSPECIFIED
    for opening in design.openings:  # their gate looks at them: a piece may stay inside, held by tabs
        depth_mm[inside_of(_widened(opening), grid)] = UNSPECIFIED
    for hole in design.holes:
        _bore(depth_mm, hole, design.board.thickness_mm, grid)
    return depth_mm


def _ink_beyond(design: Design, incise: InciseCut, grid: Grid) -> Region:
    """Return the ink, beyond the board so far that no edge of it there makes the board's edge shallower."""
    slope = math.tan(math.radians(incise.cutter.included_angle_deg) / 2)
    return ground_beyond(design, slope * incise.depth_limit_mm + 2 * incise.cutter.tip_mm + 2 * grid.cell_mm)


def _widened(opening: Opening) -> Region:
    """Return an opening and the rim of which the design says nothing."""
    return Region(shapely.MultiPolygon([opening_outline(opening).buffer(RIM_MM)]))


def incised_depth(ink: Region, incise: InciseCut, grid: Grid) -> NDArray[np.float32]:
    """Return the surface that the V bit shall leave in the ink.

    Without a flat tip it is ``min(limit, d / k)``. With one of radius q it is the depth of the
    tip's centre, ``min(limit, (d - q) / k)``, spread by the disc of the tip; where that is no
    closed form, near middle lines, it is true to about 0.003 mm sideways.

    Args:
        ink: The area.
        incise: Bit and depth limit.
        grid: Where the cells are.
    """
    slope = math.tan(math.radians(incise.cutter.included_angle_deg) / 2)
    tip_radius_mm = incise.cutter.tip_mm / 2
    boundary = boundary_of(ink)
    reach_mm = slope * incise.depth_limit_mm + 2 * tip_radius_mm + 2 * grid.cell_mm
    if tip_radius_mm:
        return _flat_tip_surface(boundary, grid, slope, tip_radius_mm, incise.depth_limit_mm, reach_mm)
    return _sharp_surface(boundary, grid, slope, incise.depth_limit_mm, reach_mm)


def inside_of(region: Region, grid: Grid) -> NDArray[np.bool_]:
    """Return which cells have their centres inside a region."""
    boundary = boundary_of(region)
    crossings = np.zeros((grid.rows, grid.columns), np.uint8)

    def mark(first: int, last: int) -> None:
        _mark_band(crossings[first:last], boundary, grid, first)
        np.bitwise_xor.accumulate(crossings[first:last], axis=1, out=crossings[first:last])

    in_bands(grid.rows, mark)
    return crossings.view(np.bool_)


def _strips(
    boundary: Boundary, reach_mm: float, cell_mm: float
) -> tuple[NDArray[np.float64], NDArray[np.int32]]:
    """The strips of all pieces, and squares round corners too sharp for a fan."""
    corners = strip_corners(boundary, reach_mm, cell_mm / 100)
    owners = np.arange(len(corners), dtype=np.int32)
    spikes = np.flatnonzero(boundary.has_spike).astype(np.int32)
    square = reach_mm * np.array([[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]])
    squares = boundary.starts_mm[spikes][:, np.newaxis, :] + square
    return np.concatenate([corners, squares]), np.concatenate([owners, spikes])


def _sweep(
    boundary: Boundary,
    strips: tuple[NDArray[np.float64], NDArray[np.int32]],
    grid: Grid,
    squared: NDArray[np.float32],
    nearest: NDArray[np.int32],
    first: int,
) -> None:
    corners_mm, owners = strips
    sweep_strips(
        squared,
        nearest,
        nearest.size > 1,
        first,
        grid.left_mm,
        grid.bottom_mm,
        grid.cell_mm,
        boundary.starts_mm,
        boundary.directions,
        boundary.lengths_mm,
        corners_mm,
        owners,
    )


def _sharp_surface(
    boundary: Boundary, grid: Grid, slope: float, depth_limit_mm: float, reach_mm: float
) -> NDArray[np.float32]:
    strips = _strips(boundary, reach_mm, grid.cell_mm)
    surface_mm = np.empty((grid.rows, grid.columns), np.float32)
    nobody = np.full((1, 1), NOBODY, np.int32)

    def fill(first: int, last: int) -> None:
        rows = surface_mm[first:last]
        rows.fill(reach_mm**2)
        crossings = np.zeros(rows.shape, np.uint8)
        _mark_band(crossings, boundary, grid, first)
        _sweep(boundary, strips, grid, rows, nobody, first)
        settle_sharp(rows, crossings, slope, depth_limit_mm)

    in_bands(grid.rows, fill)
    return surface_mm


def _flat_tip_surface(
    boundary: Boundary, grid: Grid, slope: float, tip_radius_mm: float, depth_limit_mm: float, reach_mm: float
) -> NDArray[np.float32]:
    strips = _strips(boundary, reach_mm, grid.cell_mm)
    shape = (grid.rows, grid.columns)
    distance_mm, nearest = np.empty(shape, np.float32), np.full(shape, NOBODY, np.int32)
    inside, surface_mm = np.zeros(shape, np.uint8), np.empty(shape, np.float32)
    frame = (grid.left_mm, grid.bottom_mm, grid.cell_mm)
    pieces = np.column_stack([boundary.starts_mm, boundary.directions, boundary.lengths_mm])

    def measure(first: int, last: int) -> None:
        rows = distance_mm[first:last]
        rows.fill(reach_mm**2)
        _mark_band(inside[first:last], boundary, grid, first)
        _sweep(boundary, strips, grid, rows, nearest[first:last], first)
        settle_sharp(rows, inside[first:last], 1.0, reach_mm)

    def fill(first: int, last: int) -> None:
        settle_flat(
            surface_mm, distance_mm, nearest, inside, first, last, frame, pieces, reach_mm,
            slope, tip_radius_mm, depth_limit_mm,
        )  # fmt: skip

    in_bands(grid.rows, measure)
    in_bands(grid.rows, fill)
    return surface_mm


def _mark_band(crossings: NDArray[np.uint8], boundary: Boundary, grid: Grid, first: int) -> None:
    mark_crossings(
        crossings, first, grid.left_mm, grid.bottom_mm, grid.cell_mm, boundary.starts_mm, boundary.ends_mm
    )


def _bore(depth_mm: NDArray[np.float32], hole: Hole, thickness_mm: float, grid: Grid) -> None:
    """Write one hole, with a rim of which the design says nothing."""
    reach_mm = hole.diameter_mm / 2 + RIM_MM
    rows, columns = depth_mm.shape
    first_row = max(math.floor((hole.y_mm - reach_mm - grid.bottom_mm) / grid.cell_mm), 0)
    last_row = min(math.ceil((hole.y_mm + reach_mm - grid.bottom_mm) / grid.cell_mm), rows)
    first = max(math.floor((hole.x_mm - reach_mm - grid.left_mm) / grid.cell_mm), 0)
    last = min(math.ceil((hole.x_mm + reach_mm - grid.left_mm) / grid.cell_mm), columns)
    y = grid.bottom_mm + (np.arange(first_row, last_row) + 0.5) * grid.cell_mm - hole.y_mm
    x = grid.left_mm + (np.arange(first, last) + 0.5) * grid.cell_mm - hole.x_mm
    off_mm = np.hypot(x[np.newaxis, :], y[:, np.newaxis])
    window = depth_mm[first_row:last_row, first:last]
    window[off_mm < reach_mm] = UNSPECIFIED
    window[off_mm < hole.diameter_mm / 2 - RIM_MM] = thickness_mm
