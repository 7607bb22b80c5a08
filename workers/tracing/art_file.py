"""art.svg: a drawing's outlines as an SVG that no reader can get wrong.

Width and height in millimetres and a view box of the same numbers, so one user
unit is 1 mm whatever the resolution; filled paths, even-odd; no transforms, no
style sheets. One path for each inked part with its holes; seen with y up, outlines round ink
run anticlockwise, those round holes clockwise.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np
import shapely
from numba import njit
from numpy.typing import NDArray
from shapely.geometry.polygon import orient

from workers.tracing.nesting import nested_loops
from workers.tracing.path_text import UNITS_PER_MM, loop_texts, numeral
from workers.values.outlines import Outlines
from workers.values.region import Artwork

_NEAR_MM = (
    0.01  # no line is thinner, so a point of one loop lies on the same side of another and of its polygon
)


def write_art(outlines: Outlines) -> bytes:
    """Return outlines as an SVG file.

    Args:
        outlines: Closed loops, mm, y up.
    """
    texts = _curve_texts(outlines.loops, outlines.height_mm)
    paths = (b"".join(texts[index] for index in group) for group in _parts(outlines.loops))
    return _document(paths, outlines.width_mm, outlines.height_mm)


def write_region_art(artwork: Artwork) -> bytes:
    """Return polygons as an SVG file.

    Args:
        artwork: The inked area, mm, y up.
    """
    parts = [orient(part) for part in artwork.ink.polygons.geoms]
    groups = [(part.exterior, *part.interiors) for part in parts]
    rings = [shapely.get_coordinates(ring) for group in groups for ring in group]
    texts = iter(_polygon_texts(rings, artwork.height_mm))
    paths = (b"".join(next(texts) for _ in group) for group in groups)
    return _document(paths, artwork.width_mm, artwork.height_mm)


def _document(paths: Iterable[bytes], width_mm: float, height_mm: float) -> bytes:
    """Return the file round the paths."""
    width, height = _number(width_mm), _number(height_mm)
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm" '
        f'viewBox="0 0 {width} {height}">\n'
    )
    body = b"".join(b'<path fill-rule="evenodd" d="%b"/>\n' % path for path in paths if path)
    return b"%b%b</svg>\n" % (head.encode("ascii"), body)


def _parts(loops: tuple[NDArray[np.float64], ...]) -> list[list[int]]:
    """Group loops into inked parts: each outer loop with the holes directly in it."""
    if not loops:
        return []
    inside, around = nested_loops(np.concatenate(loops), _starts(loops))
    depth = np.bincount(inside, minlength=len(loops))
    groups: dict[int, list[int]] = {int(index): [int(index)] for index in np.flatnonzero(depth % 2 == 0)}
    for index, outer in zip(inside, around, strict=True):
        if depth[index] % 2 == 1 and depth[outer] == depth[index] - 1:
            groups[int(outer)].append(int(index))
    return list(groups.values())


def _curve_texts(loops: Sequence[NDArray[np.float64]], height_mm: float) -> list[bytes]:
    """Return path data of each loop of pieces."""
    if not loops:
        return []
    return loop_texts(*_on_page(np.concatenate(loops), height_mm), _starts(loops))


def _polygon_texts(rings: Sequence[NDArray[np.float64]], height_mm: float) -> list[bytes]:
    """Return path data of each ring of straight lines; its last point is its first."""
    if not rings:
        return []
    pieces = np.concatenate([np.stack([ring[:-1]] * 3 + [ring[1:]], axis=1) for ring in rings])
    on_page, _ = _on_page(pieces, height_mm)
    return loop_texts(on_page, np.ones(len(pieces), np.bool_), _starts([ring[1:] for ring in rings]))


def _starts(parts: Sequence[NDArray[np.float64]]) -> NDArray[np.int64]:
    """Return where each part starts in all of them joined, and the end of the last."""
    return np.cumsum([0, *(len(part) for part in parts)])


@njit(cache=True)
def _on_page(pieces: NDArray[np.float64], height_mm: float) -> tuple[NDArray[np.int64], NDArray[np.bool_]]:
    """Return pieces with y down, in 0.0001 mm, and which are straight: inner control points at the thirds."""
    page, is_straight = np.empty(pieces.shape, np.int64), np.empty(len(pieces), np.bool_)
    for k in range(len(pieces)):
        off_mm = 0.0
        for axis in range(2):
            first, last = pieces[k, 0, axis], pieces[k, 3, axis]
            off_mm = max(off_mm, abs(pieces[k, 1, axis] - (2 * first + last) / 3))
            off_mm = max(off_mm, abs(pieces[k, 2, axis] - (first + 2 * last) / 3))
        is_straight[k] = off_mm < 0.5 / UNITS_PER_MM
        for end in range(4):
            page[k, end, 0] = int(np.rint(pieces[k, end, 0] * UNITS_PER_MM))
            page[k, end, 1] = int(np.rint((height_mm - pieces[k, end, 1]) * UNITS_PER_MM))
    return page, is_straight


def _number(value_mm: float) -> str:
    return numeral(round(value_mm * UNITS_PER_MM))
