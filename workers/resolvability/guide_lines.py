"""Where the middle of a thickened stroke shall run: along the thin stroke, away from gaps that are tight.

A stroke with room on both sides grows round its own centre line. Beside a gap that may not
become narrower it grows on the other side only; so its new middle is shifted by what the
gap does not allow. Between two such gaps it takes what there is.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from shapely.geometry import LineString, Point
from shapely.geometry.base import BaseGeometry

from workers.geometry.chains import chains
from workers.resolvability.gap_guard import GapGuard
from workers.resolvability.room import Room
from workers.values.medial_axis import MedialAxis

Floats = NDArray[np.float64]

_STEPS_PER_WIDTH = 3  # how closely room is looked for along a stroke
_SMOOTHINGS = 4  # of the shift: a bend of the new middle takes about its own width
_LOOKS = 6  # towards a gap, each as far as is surely free


def guide_lines(thin: MedialAxis, gaps: MedialAxis, room: Room) -> list[BaseGeometry]:
    """Return the middle lines, and for dots the middle points, of strokes to be made wide enough.

    Where that would move an outline farther than allowed there is no line: the stroke stays as it is.

    Args:
        thin: The axis of ink where it is too thin.
        gaps: The axis of the paper between strokes.
        room: How wide the strokes shall become, and what they may take for it.
    """
    half_mm = room.width_mm / 2
    guard = GapGuard.along(gaps, room.gap_mm / 2)
    degree = np.bincount(thin.edges.ravel(), minlength=len(thin.nodes_mm))
    dots_mm = thin.nodes_mm[thin.lone_nodes]
    guides: list[BaseGeometry] = [Point(dot[:2]) for dot in dots_mm if half_mm - dot[2] <= room.at_most_mm]
    for run in chains(thin):
        is_free = (degree[run[0]] == 1, degree[run[-1]] == 1)
        line_mm = _trimmed(_dense(thin.nodes_mm[run], room.width_mm / _STEPS_PER_WIDTH), is_free, half_mm)
        shift_mm = np.zeros((len(line_mm), 2))
        if len(line_mm) > 1 and len(gaps.edges) + len(gaps.lone_nodes):
            shift_mm = _shifts(line_mm, guard, half_mm)
        moves_mm = half_mm - line_mm[:, 2] + np.hypot(shift_mm[:, 0], shift_mm[:, 1])
        for piece in _allowed(moves_mm <= room.at_most_mm):
            middle_mm = line_mm[piece, :2] + shift_mm[piece]
            whole = len(middle_mm) == len(line_mm)
            if not whole and np.hypot(*np.diff(middle_mm, axis=0).T).sum() < room.width_mm:
                continue  # a step beside what is left as it is, not a stroke
            guides.append(LineString(middle_mm) if len(middle_mm) > 1 else Point(middle_mm[0]))
    return guides


def _allowed(allowed: NDArray[np.bool_]) -> list[slice]:
    """Return the stretches in which all is allowed."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], allowed, [False]]).astype(np.int8)))
    return [slice(start, end) for start, end in edges.reshape(-1, 2).tolist()]


def _dense(line_mm: Floats, step_mm: float) -> Floats:
    """Return the line with points at most a step apart."""
    lengths_mm = np.hypot(*np.diff(line_mm[:, :2], axis=0).T)
    pieces = np.maximum(1, np.ceil(lengths_mm / step_mm)).astype(np.int64)
    within = np.repeat(np.arange(len(pieces)), pieces)
    share = (np.arange(len(within)) - np.repeat(np.cumsum(pieces) - pieces, pieces)) / pieces[within]
    between_mm = line_mm[within] + share[:, None] * (line_mm[within + 1] - line_mm[within])
    return np.vstack([between_mm, line_mm[-1:]])


def _trimmed(line_mm: Floats, is_free: tuple[bool, bool], half_mm: float) -> Floats:
    """Return the line cut back at its free ends, so that the thick stroke ends where the thin one did.

    A line too short for that becomes its middle point.
    """
    along_mm = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line_mm[:, :2], axis=0).T))])
    start_mm = max(0.0, half_mm - line_mm[0, 2]) if is_free[0] else 0.0
    end_mm = along_mm[-1] - (max(0.0, half_mm - line_mm[-1, 2]) if is_free[1] else 0.0)
    if start_mm >= end_mm:
        start_mm = end_mm = min(max((start_mm + end_mm) / 2, 0.0), along_mm[-1])
    ends_mm = np.unique([start_mm, end_mm])
    inner = line_mm[(along_mm > start_mm) & (along_mm < end_mm)]
    ends = np.column_stack([np.interp(ends_mm, along_mm, line_mm[:, axis]) for axis in range(3)])
    return np.vstack([ends[:1], inner, ends[1:]])


def _shifts(line_mm: Floats, guard: GapGuard, half_mm: float) -> Floats:
    """Return how far to move the line sideways where one side has less room than half the new width."""
    left = _normals(line_mm)
    room_left_mm, room_right_mm = (_room(line_mm, side * left, guard, half_mm) for side in (1, -1))
    highest_mm, lowest_mm = room_left_mm - half_mm, half_mm - room_right_mm
    shift_mm = np.where(
        lowest_mm <= highest_mm, np.clip(0.0, lowest_mm, highest_mm), (lowest_mm + highest_mm) / 2
    )
    for _ in range(_SMOOTHINGS):
        shift_mm = np.convolve(np.pad(shift_mm, 1, mode="edge"), (0.25, 0.5, 0.25), mode="valid")
    return np.asarray(shift_mm[:, None] * left)


def _normals(line_mm: Floats) -> Floats:
    """Return the unit vector to the left of the line at each of its points."""
    along = np.gradient(line_mm[:, :2], axis=0)
    length = np.maximum(np.hypot(along[:, 0], along[:, 1]), 1e-12)
    return np.column_stack([-along[:, 1], along[:, 0]]) / length[:, None]


def _room(line_mm: Floats, towards: Floats, guard: GapGuard, half_mm: float) -> Floats:
    """Return how far a stroke may reach to one side of its centre line; at least as far as it does.

    Looks ahead only as far as can matter: twice half the new width.
    """
    room_mm = line_mm[:, 2].copy()
    looking = np.arange(len(room_mm))
    for _ in range(_LOOKS):
        places_mm = line_mm[looking, :2] + room_mm[looking, None] * towards[looking]
        free_mm = np.maximum(guard.distances_mm(places_mm), 0.0)
        room_mm[looking] = np.minimum(room_mm[looking] + free_mm, 2 * half_mm)
        looking = looking[(free_mm > 0) & (room_mm[looking] < 2 * half_mm)]
        if not len(looking):
            break
    return room_mm
