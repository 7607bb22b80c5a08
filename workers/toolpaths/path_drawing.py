"""All paths over the board as a drawing: what is cut, with which bit, and how the bit gets there."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from workers.toolpaths.hangers import seen_through
from workers.toolpaths.path_key import BADGE_MM, LINE_MM, badge, key_of, scale_bar
from workers.values.cutting_plan import CutPath, CuttingPlan, Operation, OperationKind

Floats = NDArray[np.float64]

_COLOURS = {
    OperationKind.BACK: ("#9c3f70", "#c07fa0"),
    OperationKind.CLEAR: ("#2f6f8f", "#6aa9c6"),
    OperationKind.INCISE: ("#7a2e1d", "#b5654f"),
    OperationKind.DRILL: ("#3d7a3a", "#74ab70"),
    OperationKind.OPENING: ("#6a4a8a", "#9c80b8"),
    OperationKind.CUTOUT: ("#b07a10", "#d0a552"),
}  # of the first operation of a kind, and of further ones
_WIDTHS_MM = {
    OperationKind.BACK: 0.6,
    OperationKind.CLEAR: 0.4,
    OperationKind.INCISE: 0.22,
    OperationKind.DRILL: 0.35,
    OperationKind.OPENING: 0.45,
    OperationKind.CUTOUT: 0.6,
}
_MARGIN_MM = 12.0
_TAB_MM = 1.6  # width of the line over a tab
_START_MM, _START_LINE_MM = 0.5, 0.18
_MOST_STARTS = 400  # of an operation; more would be a carpet
_STILL_MM = 1e-6


@dataclass(frozen=True, slots=True, eq=False)
class Drawn:
    """An operation with what tells it apart in the drawing."""

    number: int
    name: str  # its id
    operation: Operation
    colour: str

    @property
    def width_mm(self) -> float:
        """Of its line."""
        return _WIDTHS_MM[self.operation.kind]


def draw_paths(plan: CuttingPlan) -> bytes:
    """Return an SVG in millimetres: an operation a group, numbered, with a colour and a width of its own.

    Cuts are solid and begin at small rings, traverses are thin and dashed, tabs are thick. The board's
    lower left corner is the origin of all coordinates; y is turned down only in the drawing's own space.
    """
    low_mm, high_mm = _bounds(plan)
    drawn = _told_apart(plan)
    parts = [
        *_sheet(plan, low_mm, high_mm),
        '<g fill="none" stroke-linecap="round" stroke-linejoin="round">',
        *(line for one in reversed(drawn) for line in _group(one)),
        "</g>",
        *_origin(),
        *(line for one in drawn for line in _number(one)),
        *key_of([(one, has_tabs(one.operation)) for one in drawn], float(low_mm[0]) + 4, _key_top_mm(low_mm)),
        *scale_bar(plan.board, float(high_mm[0]) - 4, _key_top_mm(low_mm)),
        "</svg>",
    ]
    return ("\n".join(parts) + "\n").encode()


def _told_apart(plan: CuttingPlan) -> list[Drawn]:
    """Number the operations; a second one of a kind is paler, and says so in its name."""
    seen: dict[OperationKind, int] = {}
    made = []
    for number, operation in enumerate(_in_the_front(plan), 1):
        count = seen[operation.kind] = seen.get(operation.kind, 0) + 1
        name = operation.kind.value if count == 1 else f"{operation.kind.value}-{count}"
        made.append(Drawn(number, name, operation, _COLOURS[operation.kind][min(count, 2) - 1]))
    return made


def _in_the_front(plan: CuttingPlan) -> Iterator[Operation]:
    """Yield the operations as they are seen from the front, those of the back through the board."""
    for operation in plan.operations:
        if operation.kind is OperationKind.BACK:
            points = seen_through(operation.paths, plan.board)
            turned = [
                replace(path, points_mm=points_mm, arc_turns_rad=-path.arc_turns_rad)
                for path, points_mm in zip(operation.paths, points, strict=True)
            ]
            operation = replace(operation, paths=tuple(turned))
        yield operation


def _key_top_mm(low_mm: Floats) -> float:
    return -float(low_mm[1]) + 2


def _sheet(plan: CuttingPlan, low_mm: Floats, high_mm: Floats) -> Iterator[str]:
    """Yield the head, the paper and the board."""
    board = plan.board
    width_mm, height_mm = high_mm - low_mm
    height_mm += LINE_MM * (len(plan.operations) + 2)
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


def _group(drawn: Drawn) -> Iterator[str]:
    """Yield an operation: its traverses, its cuts, its tabs, where its cuts begin."""
    operation = drawn.operation
    cuts = "".join(_path_data(path.points_mm[:, :2]) for path in operation.paths if not _stands(path))
    ends_mm = [np.zeros((1, 2))]
    ends_mm += [path.points_mm[[0, -1], :2] for path in operation.paths]
    hops_mm = np.concatenate(ends_mm)
    hops_mm = np.vstack([hops_mm, hops_mm[:1]])
    hops = "".join(_path_data(hops_mm[row : row + 2]) for row in range(0, len(hops_mm), 2))
    yield f'<g id="{drawn.name}" stroke="{drawn.colour}">'
    yield f'<path d="{hops}" stroke-width="0.14" stroke-dasharray="1.2 0.9" opacity="0.6"/>'
    yield f'<path d="{cuts}" stroke-width="{drawn.width_mm}"/>'
    tabs = "".join(_path_data(line) for path in operation.paths for line in _tabs(operation, path))
    if tabs:
        yield f'<path d="{tabs}" stroke-width="{_TAB_MM}" stroke-linecap="butt"/>'
    radius_mm = operation.cutter.diameter_mm / 2
    for path in operation.paths:
        x, y = _place(path)
        if _stands(path):
            yield f'<circle cx="{x:.3f}" cy="{y:.3f}" r="{radius_mm:.3f}" stroke-width="{drawn.width_mm}"/>'
    for path in operation.paths[:_MOST_STARTS]:
        x, y = _place(path)
        ring = f'cx="{x:.3f}" cy="{y:.3f}" r="{_START_MM}" fill="#ffffff" stroke-width="{_START_LINE_MM}"'
        yield f"<circle {ring}/>"
    yield "</g>"


def _stands(path: CutPath) -> bool:
    """Whether a path only goes down and up, as a drill does."""
    return float(np.ptp(path.points_mm[:, :2], axis=0).max()) < _STILL_MM


def _place(path: CutPath) -> tuple[float, float]:
    """Where a path begins, y down."""
    x_mm, y_mm, _ = path.points_mm[0].tolist()
    return x_mm, 0.0 - y_mm


def _number(drawn: Drawn) -> Iterator[str]:
    """Yield an operation's number, beside the place where its first cut begins."""
    if drawn.operation.paths:
        x, y = _place(drawn.operation.paths[0])
        yield badge(drawn.number, drawn.colour, x + 0.8 * BADGE_MM, y - 0.8 * BADGE_MM)


def has_tabs(operation: Operation) -> bool:
    """Return whether a tab is drawn."""
    return any(True for path in operation.paths for _ in _tabs(operation, path))


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
    text = 'font-family="sans-serif" font-size="3.2" fill="#333333"'
    yield '<g fill="none" stroke="#333333" stroke-width="0.3">'
    yield '<path d="M-3,0 H8 M0,3 V-8 M6.5,-1 L8,0 L6.5,1 M-1,-6.5 L0,-8 L1,-6.5"/></g>'
    yield f'<text x="9" y="1.2" {text}>x</text><text x="-1" y="-9.5" {text}>y</text>'
