"""art.svg: a drawing's outlines as an SVG that no reader can get wrong.

Width and height in millimetres and a view box of the same numbers, so one user
unit is 1 mm whatever the resolution; filled paths, even-odd; no transforms, no
style sheets. One path for each inked part with its holes.
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import Polygon

from workers.values.outlines import Outlines
from workers.values.region import Artwork

DECIMALS = 4  # of a millimetre: rounding moves no point by more than 0.07 um


def write_art(outlines: Outlines) -> bytes:
    """Return outlines as an SVG file.

    Args:
        outlines: Closed loops, mm, y up.
    """
    groups = _parts(outlines.loops)
    paths = (
        "".join(_curve_text(outlines.loops[index], outlines.height_mm) for index in group) for group in groups
    )
    return _document(paths, outlines.width_mm, outlines.height_mm)


def write_region_art(artwork: Artwork) -> bytes:
    """Return polygons as an SVG file.

    Args:
        artwork: The inked area, mm, y up.
    """
    paths = (
        "".join(
            _polygon_text(shapely.get_coordinates(ring)[:-1], artwork.height_mm)
            for ring in (polygon.exterior, *polygon.interiors)
        )
        for polygon in artwork.ink.polygons.geoms
    )
    return _document(paths, artwork.width_mm, artwork.height_mm)


def _document(paths: Iterable[str], width_mm: float, height_mm: float) -> bytes:
    """Return the file round the paths."""
    width, height = _number(width_mm), _number(height_mm)
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm" '
        f'viewBox="0 0 {width} {height}">\n'
    )
    body = "".join(f'<path fill-rule="evenodd" d="{path}"/>\n' for path in paths if path)
    return f"{head}{body}</svg>\n".encode("ascii")


def _parts(loops: tuple[NDArray[np.float64], ...]) -> list[list[int]]:
    """Group loops into inked parts: each outer loop with the holes directly in it."""
    if not loops:
        return []
    rings = [Polygon(_flattened(loop)) for loop in loops]
    areas = shapely.area(rings)
    seats = shapely.points([loop[0, 0] for loop in loops])
    inside, around = shapely.STRtree(rings).query(seats, predicate="within")
    is_other = areas[around] > areas[inside]
    inside, around = inside[is_other], around[is_other]
    depth = np.bincount(inside, minlength=len(loops))
    groups: dict[int, list[int]] = {int(index): [int(index)] for index in np.flatnonzero(depth % 2 == 0)}
    for index, outer in zip(inside, around, strict=True):
        if depth[index] % 2 == 1 and depth[outer] == depth[index] - 1:
            groups[int(outer)].append(int(index))
    return list(groups.values())


def _flattened(loop: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return a few points along each piece; enough to tell what lies in what."""
    t = np.array([0.0, 0.25, 0.5, 0.75])[:, None, None]
    s = 1 - t
    points = s**3 * loop[:, 0] + 3 * s * s * t * loop[:, 1] + 3 * s * t * t * loop[:, 2] + t**3 * loop[:, 3]
    ordered: NDArray[np.float64] = points.transpose(1, 0, 2).reshape(-1, 2)
    return ordered


def _curve_text(loop: NDArray[np.float64], height_mm: float) -> str:
    """Return path data of one loop: M, then L for straight pieces and C for the others, then Z."""
    page = _on_page(loop, height_mm)
    thirds = np.stack([(2 * loop[:, 0] + loop[:, 3]) / 3, (loop[:, 0] + 2 * loop[:, 3]) / 3], axis=1)
    is_straight = np.abs(loop[:, 1:3] - thirds).max(axis=(1, 2)) < 0.5 * 10.0**-DECIMALS
    parts = ["M", _pair(page[0, 0])]
    last = len(page) - 1
    for index, piece in enumerate(page):
        if not is_straight[index]:
            parts += ["C", " ".join(_pair(point) for point in piece[1:])]
        elif index < last:  # the last straight piece is what Z draws
            parts += ["L", _pair(piece[3])]
    return "".join([*parts, "Z"])


def _polygon_text(points: NDArray[np.float64], height_mm: float) -> str:
    """Return path data of one ring of straight lines."""
    pairs = [_pair(point) for point in _on_page(points, height_mm)]
    return f"M{'L'.join(pairs)}Z"


def _on_page(points: NDArray[np.float64], height_mm: float) -> NDArray[np.int64]:
    """Return points with y down, in units of the last decimal."""
    page = np.stack([points[..., 0], height_mm - points[..., 1]], axis=-1)
    rounded: NDArray[np.int64] = np.rint(page * 10**DECIMALS).astype(np.int64)
    return rounded


def _pair(point: NDArray[np.int64]) -> str:
    return f"{_shortest(int(point[0]))} {_shortest(int(point[1]))}"


def _number(value_mm: float) -> str:
    return _shortest(round(value_mm * 10**DECIMALS))


def _shortest(ten_thousandths: int) -> str:
    """Return the shortest decimal numeral."""
    whole, rest = divmod(abs(ten_thousandths), 10**DECIMALS)
    sign = "-" if ten_thousandths < 0 else ""
    return f"{sign}{whole}.{rest:0{DECIMALS}d}".rstrip("0").rstrip(".") if rest else f"{sign}{whole}"
