"""An area covered by straight lines along the grain, run to and fro."""

from __future__ import annotations

import math

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import affinity

from workers.toolpaths.rings import Room
from workers.values.region import Region

Floats = NDArray[np.float64]

_SHORTEST_MM = 0.01  # lines shorter than this touch a corner only
_LONGEST_LINK_STEPS = 3.0  # from the end of a line to the next one's: beside a slanted wall


def grain_lines(area: Region, step_mm: float, grain_deg: float, room: Room) -> list[Floats]:
    """Return lines through an area, joined to and fro where the way between them is free, (n, 2) each.

    Every point of the area is within half a step, across the grain, of a line or of its edge.

    Args:
        area: What to cover.
        step_mm: From line to line.
        grain_deg: Their direction from the x axis.
        room: Where the bit may go from line to line.
    """
    turned = affinity.rotate(area.polygons, -grain_deg, origin=(0, 0))
    if turned.is_empty:
        return []
    left_mm, bottom_mm, right_mm, top_mm = turned.bounds
    levels_mm = np.arange(bottom_mm + step_mm / 2, top_mm, step_mm)
    rows = np.array([[[left_mm - 1, y_mm], [right_mm + 1, y_mm]] for y_mm in levels_mm]).reshape(-1, 2, 2)
    shapely.prepare(turned)
    runs: list[list[Floats]] = []
    open_runs: list[list[Floats]] = []  # those whose last line is on the level before
    for row_mm in rows:
        crossing = turned.intersection(shapely.LineString(row_mm))
        reached: list[list[Floats]] = []
        for piece in shapely.get_parts(crossing):
            if piece.length < _SHORTEST_MM:
                continue
            line_mm = _turned(shapely.get_coordinates(piece)[[0, -1]], grain_deg)
            run = _joined(open_runs, line_mm, step_mm, room)
            if run is None:
                run = [line_mm]
                runs.append(run)
            reached.append(run)
        open_runs = reached
    return [np.vstack(run) for run in runs]


def _turned(points_mm: Floats, angle_deg: float) -> Floats:
    cosine, sine = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
    return np.asarray(points_mm @ np.array([[cosine, sine], [-sine, cosine]]))


def _joined(
    open_runs: list[list[Floats]], line_mm: Floats, step_mm: float, room: Room
) -> list[Floats] | None:
    """Add a line to the open run whose end is nearest, if the way there is short and free."""
    best: tuple[float, int, Floats] | None = None
    for number, run in enumerate(open_runs):
        for way_mm in (line_mm, line_mm[::-1]):
            link_mm = np.vstack([run[-1][-1], way_mm[0]])
            length_mm = float(np.linalg.norm(link_mm[1] - link_mm[0]))
            if length_mm > _LONGEST_LINK_STEPS * step_mm or (best and length_mm >= best[0]):
                continue
            if room.holds(link_mm[None])[0]:
                best = (length_mm, number, way_mm)
    if best is None:
        return None
    run = open_runs.pop(best[1])
    run.append(best[2])
    return run
