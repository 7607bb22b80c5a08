"""All paths over the board as a drawing: what is cut, with which bit, and how the bit gets there."""

from __future__ import annotations

from collections.abc import Iterator
from xml.sax.saxutils import escape

import numpy as np
from numpy.typing import NDArray

from workers.values.cutter import Cutter, VeeCutter
from workers.values.cutting_plan import CutPath, CuttingPlan, Operation, OperationKind

Floats = NDArray[np.float64]

_COLOURS = {
    OperationKind.CLEAR: "#2f6f8f",
    OperationKind.INCISE: "#7a2e1d",
    OperationKind.DRILL: "#3d7a3a",
    OperationKind.OPENING: "#6a4a8a",
    OperationKind.CUTOUT: "#b07a10",
}
_WORDS = {
    OperationKind.CLEAR: "floors",
    OperationKind.INCISE: "grooves",
    OperationKind.DRILL: "holes",
    OperationKind.OPENING: "openings",
    OperationKind.CUTOUT: "cutout",
}
_MARGIN_MM = 12.0
_TAB_MM = 1.6  # width of the line over a tab
_LINE_MM = 5.0  # of the legend
_TEXT = 'font-family="sans-serif" font-size="3.2" fill="#333333"'


def draw_paths(plan: CuttingPlan) -> bytes:
    """Return an SVG in millimetres: cuts solid, traverses thin and dashed, one colour an operation.

    The board's lower left corner is the origin of all coordinates; y is turned down only in
    the drawing's own space.
    """
    low_mm, high_mm = _bounds(plan)
    parts = [
        *_sheet(plan, low_mm, high_mm),
        '<g fill="none" stroke-linecap="round" stroke-linejoin="round">',
        *(line for operation in reversed(plan.operations) for line in _drawn(operation)),
        "</g>",
        *_origin(),
        *_legend(plan, float(low_mm[0]) + 4, -float(low_mm[1]) + 2),
        "</svg>",
    ]
    return ("\n".join(parts) + "\n").encode()


def _sheet(plan: CuttingPlan, low_mm: Floats, high_mm: Floats) -> Iterator[str]:
    """Yield the head, the paper and the board."""
    board = plan.board
    width_mm, height_mm = high_mm - low_mm
    height_mm += _LINE_MM * (len(plan.operations) + 1)
    box = f"{low_mm[0]:.3f} {-high_mm[1]:.3f} {width_mm:.3f} {height_mm:.3f}"
    left, top, width, height = box.split()
    yield '<?xml version="1.0" encoding="UTF-8"?>'
    yield f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm" viewBox="{box}">'
    yield f"<title>Cut paths, {board.width_mm:g} x {board.height_mm:g} x {board.thickness_mm:g} mm</title>"
    yield f'<rect x="{left}" y="{top}" width="{width}" height="{height}" fill="#ffffff"/>'
    yield (
        f'<rect y="{-board.height_mm:.3f}" width="{board.width_mm:.3f}" height="{board.height_mm:.3f}" '
        f'rx="{board.corner_radius_mm:.3f}" fill="#f6efe1" stroke="#c9b78f" stroke-width="0.4"/>'
    )


def _bounds(plan: CuttingPlan) -> tuple[Floats, Floats]:
    """Return the corners of the drawing: the board, all paths and a margin."""
    corners_mm = [np.array([[0.0, 0.0], [plan.board.width_mm, plan.board.height_mm]])]
    corners_mm += [path.points_mm[:, :2] for operation in plan.operations for path in operation.paths]
    points_mm = np.concatenate(corners_mm)
    return points_mm.min(axis=0) - _MARGIN_MM, points_mm.max(axis=0) + _MARGIN_MM


def _drawn(operation: Operation) -> Iterator[str]:
    colour = _COLOURS[operation.kind]
    width_mm = 0.25 if isinstance(operation.cutter, VeeCutter) else 0.35
    cuts = "".join(_path_data(path.points_mm[:, :2]) for path in operation.paths)
    ends_mm = [np.zeros((1, 2))]
    ends_mm += [path.points_mm[[0, -1], :2] for path in operation.paths]
    hops_mm = np.concatenate(ends_mm)
    hops_mm = np.vstack([hops_mm, hops_mm[:1]])
    hops = "".join(_path_data(hops_mm[row : row + 2]) for row in range(0, len(hops_mm), 2))
    yield f'<g id="{operation.kind.value}" stroke="{colour}">'
    yield f'<path d="{hops}" stroke-width="0.12" stroke-dasharray="1.2 0.9" opacity="0.55"/>'
    yield f'<path d="{cuts}" stroke-width="{width_mm}"/>'
    tabs = "".join(_path_data(line) for path in operation.paths for line in _tabs(operation, path))
    if tabs:
        yield f'<path d="{tabs}" stroke-width="{_TAB_MM}" stroke-linecap="butt"/>'
    yield "</g>"


def _tabs(operation: Operation, path: CutPath) -> Iterator[Floats]:
    """Yield where a cut right through runs level after rising within the wood: over its tabs, seen once.

    Round an opening the bit rises straight up; along the board's outline a slope may lead up to a tab.
    """
    if operation.kind not in (OperationKind.OPENING, OperationKind.CUTOUT):
        return
    points_mm = path.points_mm
    seen: set[tuple[float, ...]] = set()
    rises = (points_mm[1:, 2] > points_mm[:-1, 2]) & (points_mm[1:, 2] < 0)
    if operation.kind is OperationKind.OPENING:
        rises &= (points_mm[1:, :2] == points_mm[:-1, :2]).all(axis=1)
    for row in (np.flatnonzero(rises) + 1).tolist():
        stop = row
        while stop + 1 < len(points_mm) and points_mm[stop + 1, 2] == points_mm[row, 2]:
            stop += 1
        place = tuple(points_mm[row, :2].tolist())
        if stop > row and place not in seen:
            seen.add(place)
            yield points_mm[row : stop + 1, :2]


def _path_data(points_mm: Floats) -> str:
    """Return a line as path data; a mere point becomes a dot by its round caps."""
    if len(points_mm) == 1:
        points_mm = np.repeat(points_mm, 2, axis=0)
    turned_mm = np.round(points_mm * (1.0, -1.0), 3) + 0.0
    return "M" + ("%.6g,%.6g " * len(turned_mm) % tuple(turned_mm.ravel().tolist())).rstrip()


def _origin() -> Iterator[str]:
    yield '<g fill="none" stroke="#333333" stroke-width="0.3">'
    yield '<path d="M-3,0 H8 M0,3 V-8 M6.5,-1 L8,0 L6.5,1 M-1,-6.5 L0,-8 L1,-6.5"/></g>'
    yield f'<text x="9" y="1.2" {_TEXT}>x</text><text x="-1" y="-9.5" {_TEXT}>y</text>'


def _legend(plan: CuttingPlan, left_mm: float, top_mm: float) -> Iterator[str]:
    for row, operation in enumerate(plan.operations):
        y_mm = top_mm + row * _LINE_MM
        colour = _COLOURS[operation.kind]
        has_tabs = any(True for path in operation.paths for _ in _tabs(operation, path))
        deepest_mm = -min(float(path.points_mm[:, 2].min()) for path in operation.paths)
        text = (
            f"{row + 1}  {_WORDS[operation.kind]}: {operation.cutter.name}, {_kind_word(operation.cutter)} "
            f"{operation.cutter.diameter_mm:g} mm, {operation.spindle_rpm:.0f} rpm, "
            f"{len(operation.paths)} path{'s' * (len(operation.paths) > 1)}, {deepest_mm:.2f} mm deep"
            + (", thick where it rises over tabs" if has_tabs else "")
        )
        yield f'<path d="M{left_mm:.3f},{y_mm:.3f} h8" stroke="{colour}" stroke-width="0.9"/>'
        yield f'<text x="{left_mm + 10:.3f}" y="{y_mm + 1.1:.3f}" {_TEXT}>{escape(text)}</text>'
    y_mm = top_mm + len(plan.operations) * _LINE_MM
    dashes = 'stroke="#777777" stroke-width="0.2" stroke-dasharray="1.2 0.9"'
    yield f'<path d="M{left_mm:.3f},{y_mm:.3f} h8" {dashes}/>'
    yield f'<text x="{left_mm + 10:.3f}" y="{y_mm + 1.1:.3f}" {_TEXT}>traverses, above the work</text>'


def _kind_word(cutter: Cutter) -> str:
    return type(cutter).__name__.replace("VeeCutter", "V-bit").replace("EndMill", "end mill").lower()
